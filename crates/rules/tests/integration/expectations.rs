//! What is expected of other states: what is said of it, and what is said where it cannot be known.

use drysheath_rules::Settings;
use drysheath_rules::example::check;

/// The messages on the statements of `when`.
fn said(example: &str) -> Vec<String> {
    let outcome = check(example, &Settings::default());
    let messages = outcome.findings.into_iter().map(|finding| finding.message);
    messages
        .filter(|message| message.starts_with("when ") || message.contains("is not checked"))
        .collect()
}

fn dryer(capacity: &str) -> String {
    format!(
        "dryer d1 {{ compressor piston, delivers 30 psi, capacity {capacity}, dew-point -40 degC, \
         contact humidity {{ healthy closed }} }}\n"
    )
}

#[test]
fn an_inrush_is_no_overload() {
    // Settled it loses 8.84 scfh; while the cable fills, more would flow than the dryer can give.
    let expected = "when r1 has set 12 psi expect c101 above 2 psi for 1 h, c101 above 8.9 psi within 1000 h\n";
    assert_eq!(said(&(dryer("9 scfh") + expected)), [""; 0]);
    // But it fills no faster than the dryer can make it.
    let expected = "when r1 has set 12 psi expect c101 above 8.9 psi within 1 h\n";
    let found = said(&(dryer("9 scfh") + expected));
    assert!(found.len() == 1 && found[0].contains("below the 8.9 psi"), "{found:?}");
}

#[test]
fn an_overload_names_what_is_asked_and_what_can_be_given() {
    let found = said(&(dryer("8 scfh") + "when r1 has set 12 psi expect c101 above 2 psi\n"));
    assert_eq!(
        found,
        [
            "when r1 has set 12 psi, `d1` is asked for 8.838 scfh, more than the 7.71 scfh that it can give here, so that no pressure is \
             certain to be kept"
        ]
    );
}
