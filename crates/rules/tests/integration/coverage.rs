//! What is counted as checked, and what the note of an office names.

use drysheath_office::{PartsInMemory, lower};
use drysheath_rules::example::{OFFICE, TODAY, compose};
use drysheath_rules::{Comparison, Coverage, Finding, Settings, judge};
use drysheath_syntax::parse;
use drysheath_text::FileId;

fn judged(example: &str) -> (Vec<Finding>, Coverage) {
    let text = compose(OFFICE, example);
    let none = PartsInMemory::new(std::iter::empty());
    let office = lower(FileId(0), "example", text.as_str().into(), &parse(&text), &none);
    judge(&office, &Settings::default(), TODAY)
}

/// The message of the note, and what it says would be checked.
fn note(example: &str) -> Option<(String, String)> {
    let (findings, _) = judged(example);
    let mut notes = findings.into_iter().filter(|it| it.rule.name() == "checks-left-out");
    let note = notes.next()?;
    assert!(notes.next().is_none(), "more than one note");
    Some((note.message, note.help.unwrap_or_default()))
}

/// "10 of 11 without a rating".
fn of(coverage: &Coverage, comparison: Comparison) -> String {
    let Some((_, tally)) = coverage.tallies().find(|(other, _)| *other == comparison) else {
        return "none".to_owned();
    };
    let left_out = tally
        .left_out()
        .map(|(lack, subjects)| format!(", {subjects} without {}", lack.phrase()));
    format!(
        "{} of {}{}",
        tally.compared,
        tally.subjects(),
        left_out.collect::<String>()
    )
}

const BARE: &str = r#"
office elm-hollow { title "Elm Hollow", site "ELMH01", elevation 310 m, stage installed, coldest -25 degC }
"#;

fn cable(s1: &str, s2: &str) -> String {
    format!(
        "{BARE}cable c101 {{
    pairs 50, gauge 24 awg, rating 20 psi
    section s1 {{ underground 1.2 km, resistance 0.09 psi/scfh/kft, usage 3 scfh, {s1} }}
    section s2 {{ {s2}, resistance 0.14 psi/scfh/kft, usage 4 scfh }}
}}
"
    )
}

#[test]
fn the_example_office_is_checked_but_for_a_depth_and_two_grounds() {
    let (_, coverage) = judged("");
    let told: Vec<_> = coverage
        .tallies()
        .map(|(comparison, _)| format!("{}: {}", comparison.word(), of(&coverage, comparison)))
        .collect();
    let expected = [
        "minimum-pressure: 2 of 2",
        "water-head: 1 of 2, 1 without a depth",
        "pressure-rating: 6 of 6",
        "regulator-flow: 1 of 1",
        "dryer-capacity: 1 of 1",
        "dew-point: 1 of 1",
        "supply-voltage: 1 of 1",
        "wire-protection: 2 of 2",
        "fuse-load: 2 of 2",
        "panel-load: 1 of 1",
        "ground-size: 2 of 4, 1 without a known fuse, 1 without a recorded conductor",
        "sensor-span: 3 of 3",
        "alarm-limits: 3 of 3",
        "leak-alarm: 1 of 1",
        "loop-resistance: 4 of 4",
    ];
    assert_eq!(told, expected);
    let total = coverage.total();
    assert_eq!((total.compared, total.subjects()), (31, 34));
    assert_eq!(note(""), None);
}

#[test]
fn expectations_count() {
    let expected =
        "when c101 breaks at 2.1 km expect ps1 low, f1 high\nwhen d1 stops expect c101 above minimum for 900 h\n";
    let counted = |example: &str| of(&judged(&format!("{example}{expected}")).1, Comparison::Expectations);
    assert_eq!(counted(""), "3 of 3");
    let unread = "air d1 -> r1 -> f1 -> mf with 3/8 3/8 in tube, 1/4 in bore, 4 m\n";
    assert_eq!(counted(unread), "0 of 3, 3 without a computed figure");
    // Statements that cannot be read themselves.
    for unread in ["when d7 stops expect no alarm\n", "when d1 halts expect no alarm\n"] {
        assert_eq!(counted(unread), "3 of 4, 1 without a computed figure", "{unread}");
    }
}

#[test]
fn one_section_of_which_a_figure_is_missing_leaves_out_the_leaks_of_all_and_is_named() {
    let second = |tube: &str, s2: &str| {
        format!(
            "# without spare mf port 3\nair mf port 3 -> c102 with 3/8 in tube, {tube}\nspare mf port 4\n\
             cable c102 {{ pairs 10, gauge 24 awg, rating 20 psi\n\
             section s1 {{ buried 1 km, resistance 0.09 psi/scfh/kft, usage 1 scfh, volume 4 ft3 }}\n\
             section s2 {{ buried 1 km, {s2} }}\n}}\nspare c102 pair 1 .. 10\n"
        )
    };
    let leaks = |example: &str| of(&judged(example).1, Comparison::LeakAlarm);
    let whole = second(
        "1/4 in bore, 3 m",
        "resistance 0.09 psi/scfh/kft, usage 1 scfh, volume 4 ft3",
    );
    assert_eq!((leaks(&whole).as_str(), note(&whole)), ("2 of 2", None));
    let why = "whether leaks and cuts anywhere in that air system trip a limit";
    // An installed office has to state it, and that is reported where it is. What hangs on it is said here.
    let section = second("1/4 in bore, 3 m", "usage 1 scfh, volume 4 ft3");
    assert_eq!(
        leaks(&section),
        "0 of 2, 2 without a known leakage of all that is joined with it"
    );
    let (message, help) = note(&section).unwrap();
    assert_eq!(
        message,
        "some checks are left out: the file states nowhere the resistance of section `s2` of `c102`"
    );
    assert_eq!(help, format!("needed to check {why}"));
    // Else it is said where all that is missing for the figures is.
    let tube = second("3 m", "resistance 0.09 psi/scfh/kft, usage 1 scfh, volume 4 ft3");
    let (findings, _) = judged(&tube);
    let incomplete: Vec<_> = findings
        .iter()
        .filter(|it| it.rule.name() == "prediction-incomplete")
        .map(|it| (it.message.as_str(), it.help.clone().unwrap_or_default()))
        .collect();
    assert_eq!(
        incomplete,
        [(
            "the file does not say the bore of the tube from `mf` to `c102`",
            format!("needed to compute the pressures and flows, and to check {why}")
        )]
    );
    assert_eq!(note(&tube), None);
}

#[test]
fn a_section_is_held_against_a_minimum_or_a_depth() {
    let either = cable("depth 2 m", "buried 2.0 km, minimum 3 psi");
    assert_eq!(note(&either), None);
    let (_, coverage) = judged(&either);
    assert_eq!(
        of(&coverage, Comparison::MinimumPressure),
        "1 of 2, 1 without a minimum pressure"
    );
    assert_eq!(of(&coverage, Comparison::WaterHead), "1 of 2, 1 without a depth");

    let (message, help) = note(&cable("depth 2 m", "buried 2.0 km")).unwrap();
    assert!(
        message.ends_with("neither a minimum pressure nor a depth for section `s2` of `c101`"),
        "{message}"
    );
    assert_eq!(help, "needed to check whether the air keeps water out");
    // No water stands above a cable on poles.
    let (message, _) = note(&cable("depth 2 m", "aerial 2.0 km")).unwrap();
    assert!(
        message.ends_with("states no minimum pressure for section `s2` of `c101`"),
        "{message}"
    );
    let (_, coverage) = judged(&cable("depth 2 m", "aerial 2.0 km"));
    assert_eq!(of(&coverage, Comparison::WaterHead), "1 of 1");
}

#[test]
fn one_note_names_all_that_is_missing() {
    let lacking = "manifold mf { ports 4 }
regulator r1 { set 10 psi, differential 5 psi, flow-max 80 scfh, relief 15 psi }
cable c101 {
    pairs 50, gauge 24 awg
    section s1 { underground 1.2 km, depth 2 m, resistance 0.09 psi/scfh/kft, usage 3 scfh }
    section s2 { buried 2.0 km, resistance 0.14 psi/scfh/kft, usage 4 scfh }
}
";
    let (message, help) = note(lacking).unwrap();
    assert_eq!(
        message,
        "some checks are left out: the file states no rating for `mf` and `c101` and no maximum inlet pressure for `r1`"
    );
    assert_eq!(
        help,
        "needed to check whether parts are rated for the pressure that they see and whether regulators are rated for \
         their supply"
    );
    let (message, help) = note("fuse-panel pdf { positions 1 .. 10 }").unwrap();
    assert!(
        message.ends_with("the file states no panel limit for `pdf`"),
        "{message}"
    );
    assert_eq!(help, "needed to check whether fuse panels carry their load");
    // Nobody knows all that while the office is on paper; it is counted all the same.
    let planned = format!("{}{lacking}", BARE.replace("stage installed", "stage planned"));
    assert_eq!(note(&planned), None);
    let (_, coverage) = judged(&planned);
    assert!(
        of(&coverage, Comparison::PressureRating).contains("2 without a rating, 1 without a maximum inlet pressure")
    );
}

#[test]
fn what_another_rule_reports_is_counted_and_named_once() {
    let (findings, coverage) = judged(
        r#"office elm-hollow {
    title "Elm Hollow", site "ELMH01", stage installed, coldest -25 degC
    air-minimum { underground 5 psi, buried 3 psi, aerial 1 psi }
}
"#,
    );
    let names: Vec<_> = findings.iter().map(|finding| finding.rule.name()).collect();
    assert_eq!(names, ["elevation-missing"]);
    assert_eq!(of(&coverage, Comparison::SensorSpan), "0 of 3, 3 without an elevation");
}

#[test]
fn a_fuse_is_held_against_its_wire_and_its_load() {
    let wires = |feed: &str| of(&judged(feed).1, Comparison::WireProtection);
    let loads = |feed: &str| of(&judged(feed).1, Comparison::FuseLoad);
    let thin = "power pdf fuse 1 -> m1 with 3 A, 22 awg, 6 m";
    assert_eq!(wires(thin), "1 of 2, 1 without a limit of the wire");
    assert_eq!(wires(&format!("{thin}, limit 5 A")), "2 of 2");
    // Too large for the thinnest wire in the table, it is too large for a thinner one.
    assert_eq!(wires("power pdf fuse 1 -> m1 with 15 A, 22 awg, 6 m"), "2 of 2");
    assert_eq!(
        wires("power pdf fuse 1 -> m1 with 3 A, 6 m"),
        "1 of 2, 1 without a wire size"
    );
    let unfused = "power pdf fuse 1 -> m1 with 14 awg, 6 m";
    assert_eq!(wires(unfused), "1 of 2, 1 without a known fuse");
    assert_eq!(loads(unfused), "1 of 2, 1 without a known fuse");
    // The load is unknown to its own fuse and to the one before the panel; its fuse is known to the wire.
    let silent =
        r#"monitor m1 { sensors 8, contacts 4, window -40.5 V .. -57 V, ground-size 6 awg, link lan "192.0.2.11" }"#;
    assert_eq!(loads(silent), "0 of 2, 2 without a power");
    assert_eq!(wires(silent), "2 of 2");
    assert_eq!(
        of(&judged(silent).1, Comparison::PanelLoad),
        "0 of 1, 1 without a power"
    );
}

#[test]
fn a_ground_is_held_against_what_its_fuse_or_its_maker_asks() {
    let grounds = |example: &str| of(&judged(example).1, Comparison::GroundSize);
    assert_eq!(
        grounds("ground main return -> ogb with 6 awg, 3 m"),
        "3 of 4, 1 without a known fuse"
    );
    assert_eq!(
        grounds("ground m1 frame -> ogb with 3 m"),
        "1 of 4, 1 without a known fuse, 1 without a wire size, 1 without a recorded conductor"
    );
    assert_eq!(
        grounds("# without ground m1 frame"),
        "1 of 4, 1 without a known fuse, 2 without a recorded conductor"
    );
    // Cylinders have no frame that could become live.
    let cylinders = "dryer d1 { compressor none, delivers 30 psi, capacity 100 scfh, dew-point -40 degC }
# without wire d1
# without ground d1
";
    assert_eq!(grounds(cylinders), "2 of 3, 1 without a recorded conductor");
}

#[test]
fn counts_add_up_in_any_order() {
    let (_, one) = judged("");
    let (_, two) = judged(BARE);
    let sum = |first: &Coverage, second: &Coverage| {
        let mut sum = Coverage::default();
        sum.add(first);
        sum.add(second);
        sum
    };
    assert_eq!(sum(&one, &two), sum(&two, &one));
    assert_eq!(
        sum(&one, &two).total().subjects(),
        one.total().subjects() + two.total().subjects()
    );
}
