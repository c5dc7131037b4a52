//! Offices that a route joins: one slip gives one result, in one of them, and what another office has is no slip here.

use drysheath_office::{PartsInMemory, lower};
use drysheath_rules::example::TODAY;
use drysheath_rules::{Settings, lint};
use drysheath_syntax::parse;
use drysheath_text::FileId;

const CABLE: &str = "route one { from offices/oak, to offices/forkwater }
cable c7 {
    pairs 25, gauge 24 awg, rating 20 psi
    section s1 { buried 1 km, depth 1 m, resistance 0.1 psi/scfh/kft, usage 1 scfh, volume 7 ft3 }
}
";
const LEAD: &str = "route two { from offices/forkwater, to offices/gorse }
lead lp { pairs 2, loop 900 ohm }
";
const OAK: &str = "use routes/one
office oak { title \"Oak\", elevation 90 m, stage planned, coldest -20 degC }
ground-bar ogb { principal yes }
dryer d1 { compressor piston, delivers 30 psi, capacity 100 scfh, dew-point -40 degC, contact humidity { healthy closed } }
ground d1 frame -> ogb with 6 awg, 3 m
regulator r1 { set 10 psi, differential 5 psi, droop 0.02 psi/scfh, relief 12 psi, inlet-max 60 psi, flow-max 80 scfh }
air d1 -> r1 -> c7 with 3/8 in tube, 1/4 in bore, 4 m
spare d1 contact humidity
pressure-sensor ps1 { at c7 1 km, span 0 .. 15 psi, step 0.1 psi, error 0.2 psi, proof 30 psi, loop-max 2000 ohm, limit low 6 psi minor deadband 0.3 psi }
wire ps1 -> c7 pair 1
contact door { healthy closed, reports \"door open\" }
block tb { pairs 4 }
wire door -> tb pair 1 -> c7 pair 2
spare tb pair rest
spare c7 pair rest
";
const FORKWATER: &str = "use routes/one
use routes/two
office forkwater { title \"Forkwater\", elevation 90 m, stage planned, coldest -20 degC }
ground-bar ogb { principal yes }
block tb { pairs 4 }
monitor m1 { sensors 4, contacts 2, loop-max 4000 ohm, supply mains, link lan \"192.0.2.7\" }
ground m1 frame -> ogb with 6 awg, 3 m
wire c7 pair 1 -> tb pair 1 -> m1 sensor 1
wire c7 pair 2 -> tb pair 2 -> lp pair 1
spare tb pair rest
spare c7 pair rest
spare lp pair rest
spare m1 sensor rest
spare m1 contact rest
";
const GORSE: &str = "use routes/two
office gorse { title \"Gorse\", elevation 90 m, stage planned, coldest -20 degC }
ground-bar ogb { principal yes }
block tb { pairs 4 }
monitor m1 { sensors 4, contacts 2, loop-max 4000 ohm, supply mains, link lan \"192.0.2.8\" }
ground m1 frame -> ogb with 6 awg, 3 m
wire lp pair 1 -> tb pair 1 -> m1 contact 1
spare tb pair rest
spare lp pair rest
spare m1 sensor rest
spare m1 contact rest
";

/// The files, of which some are changed: the path, what is replaced, and by what.
fn results(changes: &[(&str, &str, &str)]) -> Vec<String> {
    let files = [
        ("routes/one", CABLE),
        ("routes/two", LEAD),
        ("offices/oak", OAK),
        ("offices/forkwater", FORKWATER),
        ("offices/gorse", GORSE),
    ];
    let mut files: Vec<(&str, String)> = files.map(|(path, text)| (path, text.to_owned())).into();
    for (path, old, new) in changes {
        let (_, text) = files.iter_mut().find(|(own, _)| own == path).unwrap();
        assert!(text.contains(old), "{old}");
        *text = text.replace(old, new);
    }
    let numbered = || {
        (0..)
            .map(FileId)
            .zip(&files)
            .map(|(file, (path, text))| (file, *path, text.as_str()))
    };
    let library = PartsInMemory::new(numbered());
    let mut found = Vec::new();
    for (file, path, text) in numbered() {
        let office = lower(file, path, text.into(), &parse(text), &library);
        let findings = lint(&office, &Settings::default(), TODAY).into_iter();
        // The cable is too short for a leak to move anything.
        for finding in findings.filter(|finding| finding.rule.name() != "leak-trips-no-limit") {
            assert_eq!(finding.place.file, file);
            let at = finding.place.range.of(text);
            found.push(format!(
                "{path}: {} at `{at}`: {}",
                finding.rule.name(),
                finding.message
            ));
        }
    }
    found
}

#[track_caller]
fn gives(changes: &[(&str, &str, &str)], wanted: &[&str]) {
    assert_eq!(results(changes), wanted, "{changes:?}");
}

#[test]
fn nothing_is_wrong_with_wires_that_go_on_through_two_offices() {
    gives(&[], &[]);
}

#[test]
fn a_loop_that_is_too_long_is_reported_where_its_monitor_is() {
    gives(
        &[("offices/gorse", "loop-max 4000 ohm", "loop-max 1000 ohm")],
        &[
            "offices/gorse: loop-over-limit at `m1 contact 1`: the loop of `oak/door` has 1236 ohm there and back at 60 degC, and `m1` works over at most 1000 ohm",
        ],
    );
    gives(
        &[
            ("offices/oak", "loop-max 2000 ohm", "loop-max 10 ohm"),
            ("offices/oak", "at c7 1 km", "at c7 900 m"),
        ],
        &[
            "offices/forkwater: loop-over-limit at `m1 sensor 1`: the loop of `oak/ps1` has 19.5 ohm there and back at 60 degC, and it works over at most 10 ohm",
        ],
    );
}

#[test]
fn a_planned_device_of_another_office_leaves_no_input_without_a_signal() {
    let installed = |path| (path, "stage planned", "stage in-service");
    let all = [
        installed("offices/oak"),
        installed("offices/forkwater"),
        installed("offices/gorse"),
        ("offices/oak", "contact door { ", "contact door { stage planned, "),
    ];
    let found = results(&all);
    let about_wires =
        |result: &&String| result.contains("without") || result.contains("stranded") || result.contains("dead-end");
    assert_eq!(found.iter().filter(about_wires).count(), 0, "{found:?}");
}

#[test]
fn an_office_that_is_only_planned_leaves_no_wire_without_an_end() {
    let found = results(&[
        ("offices/oak", "stage planned", "stage in-service"),
        ("offices/gorse", "stage planned", "stage in-service"),
    ]);
    let about_wires =
        |result: &&String| result.contains("without") || result.contains("stranded") || result.contains("dead-end");
    assert_eq!(found.iter().filter(about_wires).count(), 0, "{found:?}");
}

#[test]
fn a_wire_that_ends_nowhere_is_reported_once() {
    gives(
        &[("offices/gorse", "wire lp pair 1 -> tb pair 1 -> m1 contact 1\n", "")],
        &[
            "offices/oak: dead-end at `c7 pair 2`: `door` gets as far as pair 2 of `c7` and reaches no input of a monitor",
        ],
    );
}

#[test]
fn what_two_offices_bring_to_one_pair_is_reported_in_one() {
    gives(
        &[(
            "offices/gorse",
            "wire lp pair 1 -> tb pair 1 -> m1 contact 1",
            "contact mains { healthy closed }\nwire mains -> lp pair 1",
        )],
        &[
            "offices/gorse: pair-taken-elsewhere at `lp pair 1`: pair 1 of `lp` is also wired in `oak`, and each office brings a device of its own",
        ],
    );
}

#[test]
fn what_is_wrong_with_a_routes_own_cable_is_reported_where_it_begins() {
    gives(
        &[("routes/one", "rating 20 psi", "rating 8 psi")],
        &[
            "offices/oak: regulator-set-above-rating at `set 10 psi`: `r1` is set to 10 psi, and `c7` downstream is rated for 8 psi",
        ],
    );
    let low = results(&[("routes/one", "section s1 {", "section s1 { minimum 9.99 psi,")]);
    assert_eq!(low.len(), 1, "{low:?}");
    assert!(
        low[0].starts_with("offices/oak: pressure-below-minimum at `routes/one`"),
        "{low:?}"
    );
}

#[test]
fn pairs_given_to_others_are_reported_where_they_are_wired() {
    gives(
        &[
            (
                "offices/oak",
                "spare c7 pair rest",
                "spare c7 pair 1 .. 2\nspare c7 pair rest",
            ),
            (
                "offices/oak",
                "spare c7 pair 1 .. 2",
                "assigned c7 pair 5 to \"subscribers\"",
            ),
            (
                "offices/forkwater",
                "wire c7 pair 2 -> tb pair 2",
                "contact mains { healthy closed }\nwire mains -> c7 pair 5 -> m1 contact 1\nwire c7 pair 2 -> tb pair 2",
            ),
            ("offices/forkwater", "spare m1 contact rest", "spare m1 contact 2"),
        ],
        &[
            "offices/forkwater: pair-taken-elsewhere at `c7 pair 5`: pair 5 of `c7` is assigned to \"subscribers\" in `oak`",
        ],
    );
}

#[test]
fn air_from_another_office_at_rest_is_held_against_ratings() {
    let onward = [
        (
            "routes/two",
            "lead lp",
            "cable c8 { pairs 25, gauge 24 awg, rating 20 psi, section s1 { buried 1 km, depth 1 m, resistance 0.1 psi/scfh/kft, usage 1 scfh, volume 7 ft3 } }\nlead lp",
        ),
        (
            "offices/forkwater",
            "wire c7 pair 1",
            "air c7 -> c8 with 3/8 in tube, 1/4 in bore, 4 m\nspare c8 pair rest\nwire c7 pair 1",
        ),
        (
            "offices/gorse",
            "wire lp",
            "cable c9 { pairs 25, gauge 24 awg, rating 9.9 psi, section s1 { buried 1 km, depth 1 m, resistance 0.1 psi/scfh/kft, usage 1 scfh, volume 7 ft3 } }\nair c8 -> c9 with 3/8 in tube, 1/4 in bore, 4 m\nspare c8 pair rest\nspare c9 pair rest\nwire lp",
        ),
    ];
    let found = results(&onward);
    let told: Vec<&String> = found.iter().filter(|result| result.contains("rated for")).collect();
    assert_eq!(
        told,
        [
            "offices/gorse: pressure-above-rating at `rating 9.9 psi`: while no air flows, `oak/r1` keeps 10 psi on `c9`, which is rated for 9.9 psi"
        ]
    );
}

#[test]
fn another_offices_dryer_is_held_against_the_coldest_cable_here() {
    let found = results(&[("offices/forkwater", "coldest -20 degC", "coldest -60 degC")]);
    let told: Vec<&String> = found
        .iter()
        .filter(|result| result.contains("dew-point-above-coldest"))
        .collect();
    assert_eq!(told.len(), 1, "{found:?}");
    assert!(
        told[0].starts_with("offices/forkwater: dew-point-above-coldest at `coldest -60 degC`: the air of `oak/d1` has a dew point of -40 degC"),
        "{told:?}"
    );
    // Too wet for its own office as well, that reports it, and only that.
    let both = results(&[
        ("offices/oak", "coldest -20 degC", "coldest -60 degC"),
        ("offices/forkwater", "coldest -20 degC", "coldest -60 degC"),
    ]);
    let told = both.iter().filter(|result| result.contains("dew-point-above-coldest"));
    let told: Vec<&String> = told.collect();
    assert_eq!(told.len(), 1, "{both:?}");
    assert!(
        told[0].starts_with("offices/oak: dew-point-above-coldest at `dew-point -40 degC`"),
        "{told:?}"
    );
}

#[test]
fn a_slip_that_hides_a_route_gives_one_result() {
    gives(
        &[("routes/two", "to offices/gorse", "to offices/gorse.office")],
        &["routes/two: route-end at `offices/gorse.office`: the path `offices/gorse.office` has an extension"],
    );
    gives(
        &[
            (
                "routes/two",
                "route two { from offices/forkwater, to offices/gorse }\n",
                "",
            ),
            (
                "routes/two",
                "loop 900 ohm }\n",
                "loop 900 ohm }\nroute two { from offices/forkwater, to offices/gorse }\n",
            ),
        ],
        &["routes/two: statement-misplaced at `two`: the route `two` is not named first in its file"],
    );
    gives(
        &[(
            "routes/two",
            "loop 900 ohm }\n",
            "loop 900 ohm }\noffice x { title \"X\" }\n",
        )],
        &[
            "routes/two: statement-misplaced at `office x { title \"X\" }`: this file describes a route, which cannot hold an office",
        ],
    );
    gives(
        &[("routes/two", "{ from offices/forkwater, to offices/gorse }", "")],
        &["routes/two: field-missing at `two`: route `two` has neither `from` nor `to`"],
    );
    gives(
        &[("routes/two", ", to offices/gorse", "")],
        &["routes/two: field-missing at `two`: route `two` has no `to`"],
    );
    gives(
        &[("offices/gorse", "use routes/two", "use routes/two.office")],
        &["offices/gorse: use-not-found at `routes/two.office`: the path `routes/two.office` has an extension"],
    );
}

#[test]
fn sensors_of_two_offices_on_one_pair_have_addresses_of_their_own() {
    let addressed = |address: &str| {
        [
            ("offices/oak", "ps1 { at", "ps1 { address 3, at".to_owned()),
            (
                "offices/forkwater",
                "sensors 4, ",
                "sensors 4, addresses 8, ".to_owned(),
            ),
            (
                "offices/forkwater",
                "wire c7 pair 1 -> tb pair 1",
                format!(
                    "pressure-sensor ps2 {{ at c7 800 m, address {address}, span 0 .. 15 psi, step 0.1 psi, error 0.2 psi, proof 30 psi, limit low 6 psi minor deadband 0.3 psi }}\nwire ps2 -> c7 pair 1\nwire c7 pair 1 -> tb pair 1"
                ),
            ),
        ]
    };
    let found = |address: &str| {
        let changes = addressed(address);
        let changes: Vec<(&str, &str, &str)> = changes
            .iter()
            .map(|(path, old, new)| (*path, *old, new.as_str()))
            .collect();
        results(&changes)
    };
    let wires = |results: Vec<String>| -> Vec<String> {
        results
            .into_iter()
            .filter(|result| result.contains("address") || result.contains("pair-"))
            .collect()
    };
    assert_eq!(wires(found("4")), Vec::<String>::new());
    assert_eq!(
        wires(found("3")),
        ["offices/forkwater: address-twice at `address 3`: `ps2` has address 3, and so has `oak/ps1` on the same pair"]
    );
}

#[test]
fn a_route_that_says_nothing_takes_nothing_down() {
    for head in ["route two { }", "route two", "route", ""] {
        let found = results(&[(
            "routes/two",
            "route two { from offices/forkwater, to offices/gorse }",
            head,
        )]);
        assert!(!found.is_empty(), "{head}");
        let found = results(&[("routes/two", LEAD, head)]);
        assert!(!found.is_empty(), "{head}");
    }
}
