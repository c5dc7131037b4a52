//! One mistake gives one result: its consequences are not reported as well.

use std::fmt::Write;

use drysheath_rules::Settings;
use drysheath_rules::example::check;

/// A second sensor on a pair, with an address, where the first has none.
const ADDRESSED: &str = r#"
monitor m1 {
    sensors 8, contacts 4, draws 40 W, window -40.5 V .. -57 V, wants-filtered yes, ground-size 6 awg
    loop-max 4000 ohm, addresses 16, link lan "192.0.2.11"
}
pressure-sensor ps2 {
    at c101 1.2 km, span 0 .. 15 psi, step 0.1 psi, error 0.2 psi, proof 30 psi, address 2
    limit low 6 psi minor deadband 0.3 psi
}
wire ps2 -> c101 pair 37
"#;

/// A change to the example office as somebody may make it by mistake, and the one rule that says so.
const SLIPS: &[(&str, &str)] = &[
    // A number typed wrong.
    (
        "pair-assigned-twice",
        "wire p1 -> tb pair 1 -> m1 sensor 2 with 22 awg, 8 m",
    ),
    (
        "pair-assigned-twice",
        "wire ps1 -> c101 pair 37 -> tb pair 2 -> m1 sensor 3",
    ),
    (
        "input-assigned-twice",
        "wire p1 -> tb pair 2 -> m1 sensor 1 with 22 awg, 8 m",
    ),
    ("spare-in-use", "wire p1 -> tb pair 12 -> m1 sensor 2 with 22 awg, 8 m"),
    ("spare-in-use", "wire ps1 -> c101 pair 36 -> tb pair 3 -> m1 sensor 3"),
    ("spare-in-use", "spare pdf fuse 1"),
    ("spare-in-use", "spare mf port 2"),
    (
        "pair-out-of-range",
        "wire p1 -> tb pair 52 -> m1 sensor 2 with 22 awg, 8 m",
    ),
    (
        "cable-pair-out-of-range",
        "wire ps1 -> c101 pair 137 -> tb pair 3 -> m1 sensor 3",
    ),
    (
        "cable-pair-out-of-range",
        "wire ps1 -> c101 pair 100000 -> tb pair 3 -> m1 sensor 3",
    ),
    (
        "input-out-of-range",
        "wire p1 -> tb pair 2 -> m1 sensor 22 with 22 awg, 8 m",
    ),
    ("spare-out-of-range", "# without spare tb\nspare tb pair 5 .. 26"),
    ("spare-out-of-range", "# without spare tb\nspare tb pair 5 .. 100000"),
    ("spare-out-of-range", "# without spare pdf\nspare pdf fuse 2 .. 11"),
    ("spare-out-of-range", "# without spare mf\nspare mf port 3 .. 5"),
    ("pair-not-said-spare", "# without spare tb\nspare tb pair 6 .. 25"),
    (
        "rest-twice",
        "# without spare tb\nspare tb pair rest\nspare tb pair rest",
    ),
    ("pair-not-free", "assigned tb pair 3 to \"subscribers\""),
    ("pair-not-free", "defective m1 sensor 2 because \"burnt\""),
    (
        "pair-not-free",
        "# without spare c101 pair 1\nassigned c101 pair 1 .. 37 to \"subscribers\"",
    ),
    ("pair-state-twice", "assigned c101 pair 30 to \"subscribers\""),
    (
        "pair-state-twice",
        "# without spare tb\nassigned tb pair 5 .. 25 to \"subscribers\"\ndefective tb pair 9 because \"bent\"",
    ),
    (
        "pair-out-of-range",
        "# without spare tb\nassigned tb pair 5 .. 26 to \"subscribers\"",
    ),
    ("cable-pair-out-of-range", "defective c101 pair 51 because \"open\""),
    (
        "pair-not-said-spare",
        "# without spare c101 pair 1\nassigned c101 pair 1 .. 30 to \"subscribers\"",
    ),
    (
        "contacts-share-input",
        "contact door { healthy closed, reports \"door\" }\nwire door -> tb pair 4",
    ),
    (
        "pair-assigned-twice",
        "contact door { healthy open, reports \"door\" }\nwire door -> tb pair 4\naccept contact-cannot-report-cut-pair on door because \"has a lock\" until 2027-04-30",
    ),
    ("pair-assigned-twice", ADDRESSED),
    ("spare-in-use", "spare d1 contact humidity"),
    (
        "dryer-without-contact",
        "# without wire d1\nspare d1 contact humidity\n# without spare tb\nspare tb pair 4 .. 25\n# without spare m1 contact\nspare m1 contact 1 .. 4",
    ),
    ("rest-empty", "spare m1 sensor rest"),
    ("rest-empty", "spare pdf fuse rest"),
    ("pair-not-said-spare", "# without spare c101 pair 1"),
    ("pair-not-said-spare", "block tb { pairs 5000 }"),
    // A word typed wrong.
    (
        "signal-on-wrong-input",
        "wire d1 contact humidity -> tb pair 4 -> m1 sensor 4",
    ),
    (
        "signal-on-wrong-input",
        "wire p1 -> tb pair 2 -> m1 contact 2 with 22 awg, 8 m",
    ),
    ("name-unknown", "wire p1 -> tc pair 2 -> m1 sensor 2 with 22 awg, 8 m"),
    (
        "name-unknown",
        "wire d1 contact humid -> tb pair 4 -> m1 contact 1\n# without wire d1",
    ),
    ("port-unknown", "wire p1 -> tb par 2 -> m1 sensor 2 with 22 awg, 8 m"),
    // A line copied, and one thing in it not changed, or more than was meant.
    (
        "signal-wired-twice",
        "# without wire p1\nwire f1 flow -> tb pair 1 -> m1 sensor 1\nwire f1 flow -> tb pair 2 -> m1 sensor 2",
    ),
    (
        "signal-wired-twice",
        "wire f1 flow -> tb pair 1 -> m1 sensor 1\nwire f1 flow -> tb pair 1 -> m1 sensor 1",
    ),
    (
        "pair-assigned-twice",
        "wire p1 -> tb pair 1 -> m1 sensor 1\nspare tb pair 2\nspare m1 sensor 2",
    ),
    (
        "signal-wired-twice",
        "wire f1 flow -> tb pair 1 -> m1 sensor 1\nwire f1 flow -> tb pair 5 -> m1 sensor 1\n# without spare tb\nspare tb pair 6 .. 25",
    ),
    (
        "signal-wired-twice",
        "wire f1 flow -> tb pair 1 -> m1 sensor 1\nwire f1 flow -> tb pair 1 -> m1 sensor 4\n# without spare m1 sensor\nspare m1 sensor 5 .. 8",
    ),
    (
        "name-twice",
        "pressure-sensor ps1 { at c101 1.2 km, span 0 .. 15 psi, step 0.1 psi, proof 30 psi, limit low 8 psi minor deadband 0.3 psi }\npressure-sensor ps1 { at c101 3.2 km, span 0 .. 15 psi, step 0.1 psi, error 0.2 psi, proof 30 psi, limit low 6.7 psi minor deadband 0.3 psi }\nwire ps2 -> c101 pair 38 -> tb pair 5 -> m1 sensor 4",
    ),
    ("pair-assigned-twice", "wire c101 pair 38 .. 50 -> tb pair 1 .. 13"),
    (
        "signal-wired-twice",
        "wire p1 -> tb pair 2 -> m1 sensor 2\nwire p1 -> tb pair 5 -> m1 sensor 4",
    ),
    // Something left out.
    ("dead-end", "wire p1 -> tb pair 2 with 22 awg, 8 m"),
    ("cable-pair-stranded", "wire ps1 -> c101 pair 37\nspare tb pair 3"),
    (
        "device-without-pair",
        "# without wire p1\nwire tb pair 2 -> m1 sensor 2 with 22 awg, 8 m",
    ),
    (
        "device-without-pair",
        "# without wire ps1\nwire c101 pair 37 -> tb pair 3 -> m1 sensor 3",
    ),
    ("device-without-pair", "# without wire p1\nspare tb pair 2"),
    (
        "dead-end",
        "wire ps1 -> c101 pair 37 -> tb pair 3\nwire tb pair 5 -> m1 sensor 3\n# without spare tb\nspare tb pair 6 .. 25",
    ),
    (
        "input-without-signal",
        "wire tb pair 5 -> m1 contact 2\n# without spare m1 contact\nspare m1 contact 3 .. 4\n# without spare tb\nspare tb pair 6 .. 25",
    ),
    // Shapes that no office has.
    (
        "signal-wired-twice",
        "# without wire p1\nwire f1 flow -> p1 -> tb pair 1 -> m1 sensor 1\nspare tb pair 2",
    ),
    (
        "input-assigned-twice",
        "wire p1 -> tb pair 2 -> m1 sensor 2 -> m1 sensor 4\n# without spare m1 sensor\nspare m1 sensor 5 .. 8",
    ),
    (
        "dead-end",
        "# without wire p1\n# without wire f1\nwire f1 flow -> p1\nspare tb pair 1 .. 2",
    ),
    (
        "pair-assigned-twice",
        "# without wire p1\n# without wire f1\nwire f1 flow -> tb pair 1\nwire p1 -> tb pair 1\nspare tb pair 2",
    ),
    (
        "pair-assigned-twice",
        "wire tb pair 5 -> m1 sensor 4\nwire tb pair 5 -> m1 sensor 5\n# without spare tb\n# without spare m1 sensor\nspare tb pair 6 .. 25\nspare m1 sensor 6 .. 8",
    ),
    (
        "pair-assigned-twice",
        "wire f1 flow -> tb pair 1 -> tb pair 1 -> tb pair 5 -> tb pair 1 -> m1 sensor 1\n# without spare tb\nspare tb pair 6 .. 25",
    ),
    ("range-lengths-differ", "wire c101 pair 38 .. 50 -> tb pair 5 .. 16"),
    // What is typed by habit or pasted, and what a merge leaves.
    (
        "statement-unreadable",
        "<<<<<<< HEAD\nblock tb { pairs 25 }\n=======\nblock tb { pairs 30, pins yes }\n>>>>>>> more-pairs",
    ),
    (
        "statement-unreadable",
        "regulator r1 {\n    set 10 psi\n    inlet-max 60 psi\n    flow-max 80 scfh\n    relief 15 psi\n<<<<<<< HEAD\n    differential 5 psi\n=======\n    differential 4 psi\n>>>>>>> other\n}",
    ),
    (
        "statement-unreadable",
        "cable c101 { pairs 1,200, gauge 24 awg, rating 20 psi, section s1 { buried 3.2 km, resistance 0.14 psi/scfh/kft, usage 7 scfh, volume 19 ft3 } }",
    ),
    (
        "character-pasted",
        "battery main { nominal \u{2212}48 V, working \u{2212}43 V .. \u{2212}54 V, filtered yes }",
    ),
    (
        "character-pasted",
        "regulator r1 {\n    set\u{a0}10\u{a0}psi\n    differential 5 psi\n    inlet-max 60 psi\n    flow-max 80 scfh\n    relief 15 psi\n    note \u{201c}new\u{201d}\n}",
    ),
    // A dash in a name, a date or a range is no sign.
    (
        "statement-unreadable",
        "pressure-sensor p1 { span 0\u{2212}15 psi, step 0.1 psi, error 0.2 psi, normal 10 psi, proof 30 psi, limit low 8 psi major deadband 0.3 psi }",
    ),
    ("statement-unreadable", "power pdf fuse 1 -> m1 with 3 A, #14, 6 m"),
    (
        "statement-unreadable",
        "wire f1 flow -> tb pair 1 -> m1 sensor 1 with #22, 26'",
    ),
    ("statement-unreadable", "power main -> pdf with 6 awg, 16'"),
    (
        "statement-unreadable",
        "air mf port 1 -> c101 with 3/8\" tube, 1/4\" bore, 10'",
    ),
    ("value-unreadable", "power pdf fuse 1 -> m1 with 3A fuse, 14 awg, 6 m"),
    ("value-unreadable", "manifold mf { ports 4, rating 3O psi }"),
    ("name-unknown", "wire p1 -> TB pair 2 -> m1 sensor 2 with 22 awg, 8 m"),
    (
        "value-unreadable",
        "pressure-sensor p1 { span 0 to 15 psi, step 0.1 psi, error 0.2 psi, normal 10 psi, proof 30 psi, limit low 8 psi major deadband 0.3 psi }",
    ),
    (
        "value-unreadable",
        "pressure-sensor p1 { span 0 .. 15 psi, step 0.1 psi, error 0.2 psi, normal 10 psi, proof 30 psi, limit low 8 psi urgent deadband 0.3 psi }",
    ),
    (
        "part-unknown",
        "regulator r1 : line-two\n# file parts/regulators\npart regulator line-two { set 10 psi, differential 5 psi, inlet-max 60 psi, flow-max 80 scfh, relief 15 psi }",
    ),
    (
        "run-backwards",
        "# without air d1\nair mf -> f1 -> r1 -> d1 with 3/8 in tube, 1/4 in bore, 4 m",
    ),
    (
        "office-missing",
        "# file offices/stray\nblock tc { pairs 1 }\nspare tc pair 1",
    ),
];

#[test]
fn one_slip_gives_one_result() {
    let mut wrong = String::new();
    for (rule, slip) in SLIPS {
        let outcome = check(slip, &Settings::default());
        let found: Vec<_> = outcome.findings.iter().map(|finding| finding.rule.name()).collect();
        if found != [*rule] {
            writeln!(wrong, "{slip}\n  wants {rule}").unwrap();
            for finding in &outcome.findings {
                writeln!(wrong, "  {}: {}", finding.rule.name(), finding.message).unwrap();
            }
        }
    }
    assert_eq!(wrong, "");
}
