//! How a figure is computed.

use drysheath_fixture::{example_and, example_with};
use drysheath_office::UnitPreferences;
use drysheath_report::{Explanation, how, tables};
use drysheath_rules::example::OFFICE;

use super::view::Computed;

fn told(text: &str, name: &str) -> String {
    let computed = Computed::new(text);
    match how(&computed.view(), &UnitPreferences::of(&computed.analysis.office), name) {
        Explanation::Told(told) => told,
        other => panic!("{other:?}"),
    }
}

#[track_caller]
fn has_line(told: &str, line: &str) {
    assert!(told.lines().any(|other| other == line), "{told}");
}

#[test]
fn a_conductor_says_how_many_loads_it_carries_where_there_are_several() {
    let alone = told(OFFICE, "m1");
    has_line(
        &alone,
        "  main -> pdf: 6 awg, 5 m (/repository/elm.office:25), 0.01398 ohm there and back",
    );
    let second = example_with(
        "spare pdf fuse 2 .. 10",
        "spare pdf fuse 3 .. 10\nmonitor n1 { sensors 1, draws 5 W, window -40 V .. -57 V }\npower pdf fuse 2 -> n1 with 1 A, 14 awg, 6 m",
    );
    let both = told(&second, "m1");
    has_line(
        &both,
        "  main -> pdf: 6 awg, 5 m (/repository/elm.office:25), 0.01398 ohm there and back, shared by 2 loads",
    );
    has_line(
        &both,
        "  pdf -> m1: 14 awg, 6 m (/repository/elm.office:26), 0.1072 ohm there and back",
    );
}

#[test]
fn a_loop_says_which_runs_count_as_nothing() {
    has_line(
        &told(OFFICE, "ps1"),
        "  1 of its runs states neither size nor length and counts as zero",
    );
    assert!(!told(OFFICE, "p1").contains("count as zero"));
}

#[test]
fn what_nothing_is_computed_of_says_why() {
    let computed = Computed::new(&example_and("block spare-block { pairs 25 }\n"));
    let asked = |name| how(&computed.view(), &UnitPreferences::of(&computed.analysis.office), name);
    assert!(matches!(asked("spare-block"), Explanation::Nothing(_)));
    assert_eq!(asked("nobody"), Explanation::Unknown);
}

#[test]
fn the_smallest_leak_that_a_limit_reports_is_told_with_that_limit_and_where() {
    let tell = |text: &str| {
        let computed = Computed::new(text);
        tables(
            &computed.view().record(),
            &UnitPreferences::of(&computed.analysis.office),
        )
    };
    let row = |told: &str| -> Vec<String> {
        let (_, table) = told.split_once("Leaks that limits report\n").unwrap();
        let row = table.lines().nth(1).unwrap();
        row.split_whitespace().map(str::to_owned).collect()
    };
    let watched = row(&tell(OFFICE));
    // Between the start, where the flow tells most, and the sensor at the end.
    assert_eq!(watched[..3], ["c101", "1.539", "km"]);
    assert_eq!(watched[4..], ["scfh", "f1", "high"]);
    // Without the limit of the flow only pressures watch the cable, and nearer to its start they report less.
    let limit = "    limit           high 10 scfh major deadband 0.6 scfh\n";
    let blind = row(&tell(&example_with(limit, "")));
    assert!(!blind.contains(&"f1".to_owned()), "{blind:?}");
    let size = |row: &[String]| row[3].parse::<f64>().unwrap();
    assert!(size(&blind) > 2.0 * size(&watched), "{watched:?}, {blind:?}");
}

#[test]
fn a_step_to_a_place_inside_a_section_is_as_long_as_it_is() {
    let computed = Computed::new(OFFICE);
    let told = how(
        &computed.view(),
        &UnitPreferences::of(&computed.analysis.office),
        "c101 2.2 km",
    );
    let Explanation::Told(told) = told else {
        panic!("{told:?}");
    };
    // By hand: 4 scfh enter the section at 1.2 km, of whose 2 km it is half: 3 scfh half way to the place.
    assert!(
        told.contains("section s2, 1.2 km to 2.2 km on c101") && told.contains(", flow 3 scfh"),
        "{told}"
    );
    assert!(told.contains("L 1 km, mean pressure "), "{told}");
}
