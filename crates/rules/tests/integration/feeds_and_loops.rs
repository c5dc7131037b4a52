//! Rules about voltages and loops: each message, and one result for one mistake.

use drysheath_rules::Settings;
use drysheath_rules::example::{Outcome, check};

fn outcome(example: &str) -> Outcome {
    check(example, &Settings::default())
}

/// The results as `rule | marked text | message`.
fn results(example: &str) -> Vec<String> {
    let outcome = outcome(example);
    let shown = outcome.findings.iter().map(|finding| {
        let text = &outcome.texts[finding.place.file.0 as usize];
        format!(
            "{} | {} | {}",
            finding.rule.name(),
            finding.place.range.of(text),
            finding.message
        )
    });
    shown.collect()
}

const SECOND: &str = r#"
monitor m2 { sensors 1, contacts 1, draws 40 W, window -40.5 V .. -57 V, link lan "192.0.2.12" }
ground m2 frame -> ogb with 6 awg, 3 m
spare m2 sensor 1
spare m2 contact 1
spare pdf fuse 3 .. 10
# without spare pdf
power pdf fuse 2 -> m2 with 3 A, 14 awg, 6 m
"#;

#[test]
fn loads_that_one_wire_starves_are_one_result() {
    assert_eq!(results(SECOND), [""; 0]);
    let found = results(&format!("{SECOND}power main -> pdf with 10 A, 14 awg, 80 m\n"));
    assert_eq!(
        found,
        [
            "voltage-below-window | 14 awg, 80 m | `m1` works down to -40.5 V, but gets -40.04 V at the end of discharge (-43 V at the \
             battery), with wires at 40 degC; the same wire also starves `m2`"
        ]
    );
}

#[test]
fn a_feed_may_collapse() {
    let found = outcome("power pdf fuse 1 -> m1 with 3 A, 24 awg, 90 m\n").findings;
    let of_feed = found
        .iter()
        .find(|finding| finding.rule.name() == "voltage-below-window")
        .unwrap();
    assert_eq!(
        of_feed.message,
        "`m1` cannot run at the end of discharge (-43 V at the battery): 40.0 W cannot arrive: from 43.00 V through 16.364 ohm at most 28.2 W can, \
         and the voltage collapses; take thicker wire, a shorter run or a smaller load"
    );
}

#[test]
fn a_battery_that_ends_below_the_window_needs_no_thicker_wire() {
    let found = outcome("battery main { nominal -48 V, working -40 V .. -54 V, filtered yes }\n").findings;
    assert_eq!(found.len(), 1, "{found:#?}");
    assert_eq!(
        found[0].help.as_deref(),
        Some("the battery itself ends below the window of the load: no wire is thick enough")
    );
}

#[test]
fn what_is_of_another_voltage_or_polarity_is_not_starved_as_well() {
    for (window, rule) in [
        ("-50 V .. -57 V", "nominal-wrong"),
        ("40.5 V .. 57 V", "polarity-wrong"),
    ] {
        let found = outcome(&format!(
            "monitor m1 {{ sensors 8, contacts 4, draws 40 W, window {window}, ground-size 6 awg, link lan \"192.0.2.11\" }}\n"
        ));
        let rules: Vec<_> = found.findings.iter().map(|finding| finding.rule.name()).collect();
        assert_eq!(rules, [rule]);
    }
}

fn monitor(more: &str) -> String {
    format!(
        "monitor m1 {{ sensors 8, contacts 4, draws 40 W, window -40.5 V .. -57 V, ground-size 6 awg, link lan \"192.0.2.11\", {more} }}\n"
    )
}

fn sensor(more: &str) -> String {
    format!(
        "pressure-sensor ps1 {{ at c101 3.2 km, span 0 .. 15 psi, step 0.1 psi, error 0.2 psi, proof 30 psi, \
         limit low 6.7 psi minor deadband 0.3 psi, {more} }}\n"
    )
}

#[test]
fn who_sets_the_limit_of_a_loop_is_said() {
    let cases = [
        (
            monitor("loop-max 600 ohm"),
            "loop-over-limit | ps1 | the loop of `ps1` has 624 ohm there and back at 60 degC, and `m1` works over at most 600 ohm",
        ),
        (
            monitor("loop-voltage 24 V") + &sensor("needs 12 V, current-max 20 mA"),
            "loop-over-limit | ps1 | the loop of `ps1` has 624 ohm there and back at 60 degC, and the 24 V of `m1` less the 12 V that \
             it needs leave 600 ohm for 20 mA",
        ),
        (
            monitor("loop-voltage 10 V") + &sensor("needs 12 V, current-max 20 mA"),
            "loop-over-limit | ps1 | `ps1` cannot work on `m1`, however short its loop: the 10 V of `m1` less the 12 V that it needs \
             leave nothing for 20 mA",
        ),
    ];
    for (example, expected) in cases {
        assert_eq!(results(&example), [expected]);
    }
    // At the limit, and a little beyond.
    assert_eq!(results(&monitor("loop-max 624 ohm")), [""; 0]);
    assert_eq!(
        results(&(monitor("loop-voltage 24.5 V") + &sensor("needs 12 V, current-max 20 mA"))),
        [""; 0]
    );
}

#[test]
fn a_monitor_that_suits_none_of_its_loops_is_one_result() {
    let far = monitor("loop-max 10 ohm")
        + "wire f1 flow -> tb pair 1 -> m1 sensor 1 with 22 awg, 300 m\n\
           wire p1 -> tb pair 2 -> m1 sensor 2 with 22 awg, 300 m\n";
    let found = results(&far);
    // A contact whose runs state nothing has no loop to speak of, and so one loop fits.
    assert_eq!(found.len(), 3, "{found:#?}");
    let stated = "wire d1 contact humidity -> tb pair 4 -> m1 contact 1 with 22 awg, 300 m\n";
    assert_eq!(
        results(&(far + stated)),
        [
            "loop-over-limit | loop-max 10 ohm | `m1` works over at most 10 ohm, and every loop that it has is longer: `ps1`, \
             `f1`, `p1` and `d1`"
        ]
    );
}

#[test]
fn loops_and_supplies_are_held_against_the_meter() {
    let reading = |read: &str| results(&format!("reading 2026-05-12 {read}\n"));
    // 443.7 to 623.7 ohm, 5 % on either side.
    for within in [
        "ps1 loop 654 ohm",
        "ps1 loop 0.422 kohm",
        "f1 loop 4 ohm",
        "m1 supply -41 V",
        "m1 supply -56.7 V",
    ] {
        assert_eq!(reading(within), [""; 0], "{within}");
    }
    let cases = [
        (
            "ps1 loop 656 ohm",
            "the loop of `ps1` measured 656 ohm on 2026-05-12, and 443.7 ohm to 623.7 ohm follow from the record between its coldest \
             and its hottest: `meter-leeway` allows 5 % on either side",
        ),
        (
            "ps1 loop 421 ohm",
            "the loop of `ps1` measured 421 ohm on 2026-05-12, and 443.7 ohm to 623.7 ohm follow from the record between its coldest \
             and its hottest: `meter-leeway` allows 5 % on either side",
        ),
        (
            "m1 supply -40 V",
            "`m1` had -40 V on 2026-05-12, and from -42.89 V at the end of discharge to -54 V follow from the record: `meter-leeway` \
             allows 5 % on either side",
        ),
        (
            "m1 supply 48 V",
            "`m1` had 48 V on 2026-05-12, and from -42.89 V at the end of discharge to -54 V follow from the record: `meter-leeway` \
             allows 5 % on either side",
        ),
        (
            "m1 supply -57 V",
            "`m1` had -57 V on 2026-05-12, and from -42.89 V at the end of discharge to -54 V follow from the record: `meter-leeway` \
             allows 5 % on either side",
        ),
    ];
    for (read, message) in cases {
        let found = reading(read);
        assert_eq!(found, [format!("reading-off-prediction | {read} | {message}")]);
    }
    // The newest counts.
    let old = "reading 2026-05-12 ps1 loop 800 ohm\nreading 2026-05-13 ps1 loop 600 ohm\n";
    assert_eq!(results(old), [""; 0]);
}

#[test]
fn sensors_with_addresses_share_a_pair() {
    let second = |more: &str| {
        format!(
            "pressure-sensor ps2 {{ at c101 1.2 km, span 0 .. 15 psi, step 0.1 psi, error 0.2 psi, proof 30 psi, \
             limit low 6 psi minor deadband 0.3 psi, {more} }}\nwire ps2 -> c101 pair 37\n"
        )
    };
    let both = |supply: &str, first: &str, more: &str| {
        results(&(monitor(supply) + &sensor(&format!("needs 12 V, current-max 4 mA{first}")) + &second(more)))
    };
    let addressed = "address 2, needs 12 V, current-max 4 mA";
    assert_eq!(
        both("loop-voltage 24 V, addresses 16", ", address 1", addressed),
        [""; 0]
    );
    // 4 mA over 624 ohm and over the 234 ohm that both have in common take 3.43 V.
    assert_eq!(
        both("loop-voltage 15.5 V, addresses 16", ", address 1", addressed),
        [""; 0]
    );
    assert_eq!(
        both("loop-voltage 15.4 V, addresses 16", ", address 1", addressed),
        [
            "loop-over-limit | ps1 | the loop of `ps1` has 624 ohm there and back at 60 degC, and the 15.4 V of `m1` less the 12 V that \
             it needs, less 0.94 V that the currents of `ps2` drop, leave 616 ohm for 4 mA"
        ]
    );
    assert_eq!(
        both("loop-voltage 24 V", ", address 1", addressed),
        ["address-not-read | m1 | `m1` does not say that it reads addresses, and `ps1` and `ps2` on it have one"]
    );
    assert_eq!(
        both(
            "loop-voltage 24 V, addresses 16",
            ", address 1",
            "needs 12 V, current-max 4 mA"
        ),
        ["pair-assigned-twice | c101 pair 37 | pair 37 of `c101` already carries another signal"]
    );
    assert_eq!(
        both("loop-voltage 24 V, addresses 16", ", address 2", addressed),
        ["address-twice | address 2 | `ps2` has address 2, and so has `ps1` on the same pair"]
    );
}
