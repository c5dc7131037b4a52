//! Things that are planned or disused in an office that is further on, rooms, and what no kind fits.

use drysheath_office::{NoParts, lower};
use drysheath_rules::example::{OFFICE, TODAY, check, compose};
use drysheath_rules::{Settings, judge};
use drysheath_syntax::parse;
use drysheath_text::FileId;

fn found(example: &str) -> Vec<(&'static str, String)> {
    let findings = check(example, &Settings::default()).findings;
    findings
        .into_iter()
        .map(|finding| (finding.rule.name(), finding.message))
        .collect()
}

/// How many things are left out: planned ones and disused ones.
fn left_out(example: &str) -> (u32, u32) {
    let text = compose(OFFICE, example);
    let office = lower(FileId(0), "elm", text.as_str().into(), &parse(&text), &NoParts);
    let (_, coverage) = judge(&office, &Settings::default(), TODAY);
    (coverage.planned, coverage.disused)
}

const PLANNED: &str = "pressure-sensor p9 { stage planned }
air mf port 4 -> p9
wire p9 -> tb pair 24 -> m1 sensor 8
spare mf port 3
spare tb pair 5 .. 23
spare tb pair 25
spare m1 sensor 4 .. 7
# without spare mf
# without spare tb
# without spare m1 sensor
";

#[test]
fn nothing_is_asked_of_what_is_planned_or_disused() {
    assert_eq!(found(PLANNED), []);
    assert_eq!(left_out(PLANNED), (1, 0));
    let disused = PLANNED.replace("planned", "disused");
    assert_eq!(found(&disused), []);
    assert_eq!(left_out(&disused), (0, 1));
    // What is there is asked for as ever.
    let installed = PLANNED.replace("planned", "installed");
    assert!(found(&installed).iter().any(|(rule, _)| *rule == "field-missing"));
    assert_eq!(left_out(""), (0, 0));
}

#[test]
fn a_planned_signal_takes_its_wires_along() {
    let in_two = PLANNED.replace(
        "wire p9 -> tb pair 24 -> m1 sensor 8",
        "wire p9 -> tb pair 24\nwire tb pair 24 -> m1 sensor 8",
    );
    assert_eq!(found(&in_two), []);
}

#[test]
fn what_a_disused_thing_held_may_be_taken_again() {
    let replaced = "pressure-sensor p0 { stage disused, span 0 .. 15 psi }
wire p0 -> tb pair 2 -> m1 sensor 2
";
    assert_eq!(found(replaced), []);
}

#[test]
fn what_is_spoken_for_is_not_called_open_and_the_rest_is_without_it() {
    let rest = "pressure-sensor p9 { stage planned }
air mf port 4 -> p9
wire p9 -> tb pair 24 -> m1 sensor 8
spare mf port rest
spare tb pair rest
spare m1 sensor rest
# without spare mf
# without spare tb
# without spare m1 sensor
";
    assert_eq!(found(rest), []);
}

#[test]
fn nothing_is_further_on_than_its_office_or_its_cable() {
    let on_cable = "cable c7 { pairs 10, stage planned }
pressure-sensor ps7 { at c7 1 km, span 0 .. 15 psi, step 0.1 psi, error 0.2 psi, proof 30 psi, limit low 6.7 psi minor deadband 0.3 psi }
wire ps7 -> c101 pair 40 -> tb pair 9 -> m1 sensor 7
spare tb pair 5 .. 8
spare tb pair 10 .. 25
spare c101 pair 38 .. 39
spare c101 pair 41 .. 50
spare m1 sensor 4 .. 6
spare m1 sensor 8
# without spare tb
# without spare c101 pair 38
# without spare m1 sensor
";
    let told = found(on_cable);
    assert_eq!(told.len(), 1, "{told:?}");
    assert_eq!(
        told[0],
        ("stage-ahead", "`ps7` is located at `c7`, which is planned".to_owned())
    );
    let planned_office =
        "office elm-hollow { title \"Elm Hollow\", site \"ELMH01\", elevation 310 m, stage planned, coldest -25 degC
    air-minimum { underground 5 psi, buried 3 psi, aerial 1 psi } }
block tb { pairs 25, stage installed }
";
    assert_eq!(
        found(planned_office),
        [(
            "stage-ahead",
            "`tb` is installed, and its office only planned".to_owned()
        )]
    );
}

#[test]
fn a_thing_that_is_planned_has_no_readings() {
    let read = format!("{PLANNED}reading 2026-10-01 p9 9.8 psi\n");
    assert_eq!(
        found(&read),
        [(
            "readings-while-planned",
            "`p9` is planned, but has a reading of 2026-10-01".to_owned()
        )]
    );
}

#[test]
fn names_of_what_is_left_out_are_names() {
    let alike = PLANNED.replace("p9", "P1");
    let told = found(&alike);
    assert_eq!(told.iter().map(|(rule, _)| *rule).collect::<Vec<_>>(), ["names-alike"]);
}

#[test]
fn a_room_is_declared() {
    let block = |room: &str| format!("room annex {{ title \"Annex\" }}\nblock tb {{ pairs 25, room {room} }}\n");
    assert_eq!(found(&block("annex")), []);
    assert_eq!(
        found(&block("anex")),
        [("name-unknown", "no room in this office is named `anex`".to_owned())]
    );
    assert_eq!(
        found(&block("mf")),
        [("value-unreadable", "`mf` is a manifold, and no room".to_owned())]
    );
}

#[test]
fn of_what_no_kind_fits_only_its_draw_is_computed() {
    let heater = |draws: u32, fuse: u32| {
        format!(
            "other h1 {{ is \"heater\", draws {draws} W }}\npower pdf fuse 2 -> h1 with {fuse} A, 14 awg, 6 m\nspare pdf fuse 3 .. 10\n\
             ground h1 frame -> ogb with 6 awg, 3 m\n# without spare pdf\n"
        )
    };
    assert_eq!(found(&heater(60, 3)), []);
    let told = found(&heater(600, 3));
    assert!(told.iter().any(|(rule, _)| *rule == "fuse-below-load"), "{told:?}");
    let nameless = found("other h1 { draws 60 W }\n");
    assert_eq!(nameless, [("field-missing", "other `h1` has no `is`".to_owned())]);
}
