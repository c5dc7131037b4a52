//! Assemblies: drawn in a file, placed in offices.
#![allow(missing_docs, clippy::indexing_slicing, clippy::unwrap_used, clippy::panic)]

use drysheath_office::kinds::{Key, KindId};
use drysheath_office::{Fields, Office, PartsInMemory, lower};
use drysheath_syntax::parse;
use drysheath_text::{FileId, Place};

const DRAWING: &str = r#"use parts/small
assembly bracket-2 { model "Quern B2" }
regulator r : small { set 8 psi }
flow-sensor f { span 0 .. 20 scfh, normal 4 scfh }
# What the sensor sits on.
air-pipe ap { rating 60 psi, length 2 m, place left { at 1 m } }
pressure-sensor p { at ap place left, span 0 .. 15 psi }
block plug { pairs 4 }
air r -> f -> ap with 3/8 in tube, 1/4 in bore, 0.6 m
wire f flow -> plug pair 1
wire p -> plug pair 2
spare plug pair rest
"#;

const SMALL: &str = "part regulator small { inlet-max 100 psi, droop 0.02 psi/scfh, outlets 1 }\n";

fn office(statements: &str) -> Office {
    let text = format!("use parts/bracket-2\noffice elm-hollow {{ stage planned }}\n{statements}");
    let shelf = PartsInMemory::new([
        (FileId(1), "parts/bracket-2", DRAWING),
        (FileId(2), "parts/small", SMALL),
    ]);
    lower(
        FileId(0),
        "offices/elm-hollow",
        text.as_str().into(),
        &parse(&text),
        &shelf,
    )
}

fn said(office: &Office) -> Vec<String> {
    let shown = office.problems.iter();
    let shown = shown.map(|problem| {
        format!(
            "{:?} | {} | {}",
            problem.id,
            problem.range.of(&office.text),
            problem.message
        )
    });
    shown.collect()
}

#[test]
fn the_drawing_itself_is_sound() {
    let shelf = PartsInMemory::new([(FileId(2), "parts/small", SMALL)]);
    let drawn = lower(FileId(1), "parts/bracket-2", DRAWING.into(), &parse(DRAWING), &shelf);
    assert_eq!(said(&drawn), Vec::<String>::new());
    assert_eq!(drawn.drawn_as().map(|part| &*part.name), Some("bracket-2"));
}

#[test]
fn its_things_and_runs_are_the_offices() {
    let office =
        office("assembly b3 : bracket-2\nblock tb { pairs 10 }\nwire b3/plug pair 1 -> tb pair 1\nspare tb pair rest");
    assert_eq!(said(&office), Vec::<String>::new());
    let names: Vec<&str> = office.things().map(|(id, _)| office.name(id)).collect();
    assert_eq!(
        names,
        ["elm-hollow", "b3", "tb", "b3/r", "b3/f", "b3/ap", "b3/p", "b3/plug"]
    );
    let regulator = office.thing(office.named("b3/r").unwrap());
    assert_eq!(regulator.quantity(Key::Set).unwrap().0.to_string(), "8 psi");
    assert_eq!(regulator.quantity(Key::InletMax).unwrap().0.to_string(), "100 psi");
    let runs: Vec<&str> = office.runs.iter().map(|run| run.range.of(&office.text)).collect();
    assert_eq!(
        runs,
        [
            "wire b3/plug pair 1 -> tb pair 1",
            "air b3/r -> b3/f -> b3/ap with 3/8 in tube, 1/4 in bore, 0.6 m",
            "wire b3/f flow -> b3/plug pair 1",
            "wire b3/p -> b3/plug pair 2",
        ]
    );
    let run = &office.runs.as_slice()[1];
    let ends: Vec<&str> = run.ends.iter().map(|end| office.name(end.thing.unwrap())).collect();
    assert_eq!(ends, ["b3/r", "b3/f", "b3/ap"]);
    assert_eq!(office.end_name(&office.spares[1].end), "b3/plug pair rest");
    let sensor = office.named("b3/p").unwrap();
    let host = office.host(sensor).unwrap();
    assert_eq!(host.thing, office.named("b3/ap"));
    assert_eq!(host.name.of(&office.text), "b3/ap");
}

#[test]
fn what_the_office_says_of_a_thing_in_it_takes_the_place_of_what_is_drawn() {
    let office = office(
        "assembly b3 : bracket-2 {\n    title \"Left\"\n    r { set 9 psi }\n    f { limit high 6 scfh minor deadband 0.4 scfh }\n}\n\
         assembly b4 : bracket-2 { location \"east wall\" }",
    );
    assert_eq!(said(&office), Vec::<String>::new());
    let thing = |name| office.thing(office.named(name).unwrap());
    let set = |name| thing(name).quantity(Key::Set).unwrap();
    let (own, place) = set("b3/r");
    assert_eq!(
        (own.to_string(), place.range.of(&office.text)),
        ("9 psi".to_owned(), "set 9 psi")
    );
    assert!(office.is_own(place.range));
    assert_eq!(set("b4/r").0.to_string(), "8 psi");
    assert_eq!(thing("b3/f").limits().count(), 1);
    assert_eq!(thing("b3/f").quantity(Key::Normal).unwrap().0.to_string(), "4 scfh");
    assert_eq!(thing("b4/f").limits().count(), 0);
    assert_eq!(thing("b3").text(Key::Model), Some("Quern B2"));
    assert_eq!(thing("b3").text(Key::Title), Some("Left"));
    assert_eq!(thing("b4/f").text(Key::Location), Some("east wall"));
}

#[test]
fn what_is_drawn_has_its_place_in_the_drawing() {
    let office = office("assembly b3 : bracket-2\nassembly b4 : bracket-2");
    for name in ["b3", "b4"] {
        let id = office.named(&format!("{name}/f")).unwrap();
        let thing = office.thing(id);
        let placed = office.placed_with(id).unwrap();
        assert_eq!(placed.name.of(office.own_text()), name);
        for (range, written) in [
            (thing.name, "f"),
            (thing.range, "flow-sensor f { span 0 .. 20 scfh, normal 4 scfh }"),
            (thing.quantity(Key::Normal).unwrap().1.range, "normal 4 scfh"),
        ] {
            let place = office.written(Place {
                file: office.file,
                range,
            });
            assert_eq!((place.file, place.range.of(DRAWING)), (FileId(1), written));
        }
    }
}

#[test]
fn slips_around_an_assembly() {
    let says = |statements: &str, expected: &[&str]| assert_eq!(said(&office(statements)), expected, "{statements}");
    says(
        "assembly b3 : bracket-2 { rr { set 9 psi } }",
        &["FieldUnknown | rr | there is no thing `rr` in the assembly `b3`"],
    );
    says(
        "assembly b3 : bracket-2 { r { sett 9 psi } }",
        &["FieldUnknown | sett | regulator `r` has no field `sett`"],
    );
    says(
        "assembly b3 : bracket-3\nair b3/r -> b3/f",
        &["PartUnknown | bracket-3 | unknown part `bracket-3`"],
    );
    says(
        "assembly b3 : bracket-2\nair b3/q -> b3/f",
        &["NameUnknown | b3/q | nothing in this office is named `b3/q`"],
    );
    says(
        "assembly b3 : bracket-2 { r { set 9 psi }, r { set 10 psi } }",
        &["FieldTwice | r | `r` has a second block in this assembly"],
    );
}

#[test]
fn a_file_that_draws_an_assembly_holds_neither_another_nor_what_only_an_office_has() {
    let text = "assembly one { }\nassembly two : one\naccept dead-end on one because \"so\" until 2027-01-01\n";
    let office = lower(
        FileId(0),
        "parts/one",
        text.into(),
        &parse(text),
        &PartsInMemory::default(),
    );
    assert_eq!(
        said(&office),
        [
            "StatementMisplaced | assembly two : one | this file draws an assembly, which cannot hold an assembly",
            "StatementMisplaced | accept dead-end on one because \"so\" until 2027-01-01 | this file draws an assembly, which cannot \
             hold an acceptance",
        ]
    );
}

#[test]
fn an_assembly_in_an_office_groups_what_is_built_as_one() {
    let office = office(
        "assembly b4 { title \"Right\" }\nregulator r4 { set 8 psi, assembly b4 }\nregulator r5 { set 8 psi, assembly r4 }",
    );
    assert_eq!(
        said(&office),
        ["ValueUnreadable | r4 | `r4` is a regulator, and no assembly"]
    );
    assert!(office.placed.is_empty());
    assert_eq!(office.of_kind(KindId::Assembly).count(), 1);
}

#[test]
fn written_flat_an_office_says_the_same() {
    let placed = office(
        "assembly b3 : bracket-2 {\n    title \"Left\"\n    r { set 9 psi }\n    f { limit high 6 scfh minor deadband 0.4 scfh }\n}\n\
         block tb { pairs 10 }\nwire b3/plug pair 1 .. 2 -> tb pair 1 .. 2\nspare tb pair rest",
    );
    let flat = placed.expanded().unwrap();
    assert_eq!(flat, include_str!("flat.office"));
    let shelf = PartsInMemory::new([(FileId(2), "parts/small", SMALL)]);
    let flat = lower(
        FileId(0),
        "offices/elm-hollow",
        flat.as_str().into(),
        &parse(&flat),
        &shelf,
    );
    assert_eq!(said(&flat), Vec::<String>::new());
    let shown = |office: &Office| {
        let name = |id| office.name(id).replace('/', "-");
        let mut shown: Vec<String> = office
            .things()
            .map(|(id, thing)| {
                let mut fields: Vec<String> = thing
                    .fields
                    .iter()
                    .filter(|field| field.spec.key != Key::Assembly)
                    .map(|field| field.spec.word().to_owned())
                    .collect();
                fields.sort();
                let part = thing.part.as_ref().filter(|_| !thing.is(KindId::Assembly));
                format!("{} {:?} {fields:?}", name(id), part.map(|part| part.name.clone()))
            })
            .collect();
        shown.extend(office.runs.iter().map(|run| {
            let ends = run
                .ends
                .iter()
                .map(|end| (name(end.thing.unwrap()), end.port.map(|port| port.word), end.numbers));
            format!("{:?} {:?}", run.medium, ends.collect::<Vec<_>>())
        }));
        shown.sort();
        shown
    };
    assert_eq!(shown(&flat), shown(&placed));
}

#[test]
fn a_flat_name_that_is_taken_is_refused() {
    let placed = office("assembly b3 : bracket-2\nblock b3-plug { pairs 10 }\nspare b3-plug pair rest");
    assert_eq!(
        placed.expanded(),
        Err("`b3/plug` cannot be written as `b3-plug`: there is a block of that name".to_owned())
    );
    let placed = office("assembly b3 : bracket-2\nair-pipe b3-plug { length 1 km }");
    assert_eq!(
        placed.expanded(),
        Err("`b3/plug` cannot be written as `b3-plug`: there is an air-pipe of that name".to_owned())
    );
}

#[test]
fn a_route_is_joined_at_the_end_where_the_office_is() {
    const ROUTE: &str =
        "route t7 { from offices/elm, to offices/oak }\ncable c7 { pairs 5, section s1 { buried 2 km } }\n";
    let said = |path: &str, run: &str| {
        let office = |name: &str, run: &str| {
            format!("use routes/t7\noffice {name} {{ stage planned }}\nmanifold mf {{ ports 4 }}\n{run}\n")
        };
        let own = office("here", run);
        let other = office("there", "");
        let paths = if path == "offices/elm" {
            [path, "offices/oak"]
        } else {
            [path, "offices/elm"]
        };
        let files = [
            (FileId(0), paths[0], own.as_str()),
            (FileId(1), paths[1], other.as_str()),
            (FileId(2), "routes/t7", ROUTE),
        ];
        said(&lower(
            FileId(0),
            path,
            own.as_str().into(),
            &parse(&own),
            &PartsInMemory::new(files),
        ))
    };
    let nothing: [&str; 0] = [];
    assert_eq!(said("offices/elm", "air mf port 1 -> c7"), nothing);
    assert_eq!(said("offices/oak", "air mf port 1 -> c7 end"), nothing);
    assert_eq!(said("offices/oak", "air c7 -> mf port 1"), nothing);
    assert_eq!(
        said("offices/oak", "air mf port 1 -> c7"),
        ["RouteEnd | c7 | this office is where `c7` ends, and joins its beginning"]
    );
    assert_eq!(
        said("offices/elm", "air mf port 1 -> c7 end"),
        ["RouteEnd | c7 end | this office is where `c7` begins, and joins its far end"]
    );
}

#[test]
fn comments_within_an_assembly_stay_when_it_is_written_out() {
    let office = office(
        "assembly b : bracket-2 {
    # set low for the old cable
    r { set 7 psi } # agreed by the county
    f {
        # as read
        normal 3 scfh
    }
    # about all of it
    title \"Left\"
}
",
    );
    assert_eq!(said(&office), Vec::<String>::new());
    let flat = office.expanded().unwrap();
    let order = [
        "# about all of it",
        "assembly b ",
        "# set low for the old cable",
        "# agreed by the county",
        "regulator b-r",
        "# as read",
        "flow-sensor b-f",
    ];
    let places: Vec<usize> = order.iter().map(|line| flat.find(line).unwrap()).collect();
    assert!(places.is_sorted(), "{flat}");
}

#[test]
fn a_drawing_with_parts_of_its_own_is_written_out_as_often_as_it_is_placed() {
    let drawing = "assembly small-bracket\npart regulator own { set 8 psi, droop 0.02 psi/scfh }\nregulator r : own\n";
    let text = "use parts/small-bracket\noffice elm-hollow { stage planned }\nassembly b1 : small-bracket\nassembly b2 : small-bracket\n";
    let shelf = PartsInMemory::new([(FileId(1), "parts/small-bracket", drawing)]);
    let office = lower(FileId(0), "offices/elm-hollow", text.into(), &parse(text), &shelf);
    assert_eq!(said(&office), Vec::<String>::new());
    let flat = office.expanded().unwrap();
    assert!(
        flat.contains("regulator b1-r") && flat.contains("regulator b2-r"),
        "{flat}"
    );
    assert_eq!(flat.matches("use parts/small-bracket").count(), 1, "{flat}");
    // It says the same.
    let again = lower(
        FileId(0),
        "offices/elm-hollow",
        flat.as_str().into(),
        &parse(&flat),
        &shelf,
    );
    assert_eq!(said(&again), Vec::<String>::new());
    let set = |office: &Office, name: &str| {
        let regulator = office.thing(office.named(name).unwrap());
        regulator.quantity(Key::Set).unwrap().0.to_string()
    };
    assert_eq!(set(&office, "b2/r"), set(&again, "b2-r"));
}

#[test]
fn an_assembly_names_a_room_of_the_office_that_places_it() {
    let drawing = "assembly shelf\nregulator r { set 8 psi, room eq }\n";
    let shelf = || PartsInMemory::new([(FileId(1), "parts/shelf", drawing)]);
    let drawn = lower(FileId(1), "parts/shelf", drawing.into(), &parse(drawing), &shelf());
    assert_eq!(said(&drawn), Vec::<String>::new());
    let office = |room: &str| {
        let text = format!("use parts/shelf\noffice elm-hollow {{ stage planned }}\n{room}assembly b : shelf\n");
        lower(
            FileId(0),
            "offices/elm-hollow",
            text.as_str().into(),
            &parse(&text),
            &shelf(),
        )
    };
    let with_room = office("room eq { title \"Equipment\" }\n");
    assert_eq!(said(&with_room), Vec::<String>::new());
    let regulator = with_room.thing(with_room.named("b/r").unwrap());
    assert_eq!(
        regulator.other(Key::Room).and_then(|room| room.thing),
        with_room.named("eq")
    );
    assert_eq!(
        said(&office("")),
        ["NameUnknown | b/r | no room in this office is named `eq`"]
    );
}
