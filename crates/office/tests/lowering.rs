//! Lowering: places, parts, `use`, units, names, and the problems reported for each.
#![allow(missing_docs, clippy::unwrap_used, clippy::panic)]

use drysheath_office::kinds::{Key, KindId};
use drysheath_office::{
    Field, Fields, LinkMedium, Office, PartsInMemory, PartsLookup, PartsSource, Problem, Thing, Value, lower,
};
use drysheath_syntax::parse;
use drysheath_text::{FileId, Place, apply};

/// Files by their paths; the file that is looked at has number 0.
fn shelf(files: &[(&str, &str)]) -> PartsInMemory {
    let numbered = (1..).map(FileId).zip(files);
    PartsInMemory::new(numbered.map(|(file, (path, text))| (file, *path, *text)))
}

fn office_with(text: &str, files: &[(&str, &str)]) -> Office {
    lower(
        FileId(0),
        "offices/elm-hollow",
        text.into(),
        &parse(text),
        &shelf(files),
    )
}

/// An office that is planned, so that only what is asked for appears.
fn office(statements: &str) -> Office {
    office_with(&format!("office elm-hollow {{ stage planned }}\n{statements}"), &[])
}

fn thing<'o>(office: &'o Office, name: &str) -> &'o Thing {
    let mut things = office.things();
    things
        .find(|(id, _)| office.name(*id) == name)
        .map(|(_, thing)| thing)
        .unwrap()
}

/// `id | bytes | message`, with the fix's replacement where there is one.
fn said(office: &Office) -> Vec<String> {
    let shown = |problem: &Problem| {
        let written = problem.range.of(&office.text);
        let fix = problem.fix.as_ref().map(|fix| {
            fix.edits
                .iter()
                .map(|edit| edit.replacement.as_str())
                .collect::<String>()
        });
        let fix = fix.map(|fix| format!(" => {fix:?}")).unwrap_or_default();
        format!("{:?} | {written} | {}{fix}", problem.id, problem.message)
    };
    office.problems.iter().map(shown).collect()
}

#[track_caller]
fn says(statements: &str, expected: &[&str]) {
    assert_eq!(said(&office(statements)), expected, "{statements}");
}

#[test]
fn every_value_has_its_place() {
    let office =
        office("monitor m1 { sensors 8, window -40.5 V .. -57 V, link lan \"192.0.2.11\" }\nblock tb { pairs 25 }");
    assert_eq!(said(&office), [""; 0]);
    let m1 = thing(&office, "m1");
    assert!(m1.is(KindId::Monitor) && !m1.damaged);
    let place = |key| m1.place_of(key, office.file).of(&office.text);
    assert_eq!(place(Key::Sensors), "sensors 8");
    assert_eq!(place(Key::Window), "window -40.5 V .. -57 V");
    assert_eq!(place(Key::Link), "link lan \"192.0.2.11\"");
    // What a thing does not say is placed at its name.
    assert_eq!(place(Key::Draws), "m1");
    assert_eq!(m1.count(Key::Sensors), Some(8));
    let (from, to, _) = m1.range(Key::Window).unwrap();
    assert_eq!(
        (from.to_string(), to.to_string()),
        ("-40.5 V".to_owned(), "-57 V".to_owned())
    );
    let Some(Value::Link {
        over: LinkMedium::Lan,
        to,
    }) = m1.field(Key::Link).map(|field| &field.value)
    else {
        panic!("no link")
    };
    assert_eq!(&**to, "192.0.2.11");
}

#[test]
fn ranges() {
    let office = office("flow-sensor f1 { span 0 .. 30 scfh }\nblock tb { pairs 25 }\nspare tb pair 5 .. 25");
    assert_eq!(said(&office), [""; 0]);
    // One unit serves both ends.
    let (from, to, _) = thing(&office, "f1").range(Key::Span).unwrap();
    assert_eq!(
        (from.to_string(), to.to_string()),
        ("0 scfh".to_owned(), "30 scfh".to_owned())
    );
    let [spare] = office.spares.as_slice() else {
        panic!("one spare")
    };
    assert_eq!(
        (spare.end.numbers, spare.end.detail.of(&office.text)),
        ((5, 25), "pair 5 .. 25")
    );
    says(
        "block tb { pairs 25 }\nspare tb pair 25 .. 5",
        &["ValueUnreadable | 25 .. 5 | the range is the wrong way round: 25 is more than 5 => \"5 .. 25\""],
    );
    says(
        "block tb { pairs 25 }\nspare tb pair 5 25",
        &["ValueUnreadable | 25 | `..` is missing before `25` => \" ..\""],
    );
    says("block tb { pairs 25 }\nspare tb pair rest", &[]);
    let dryer = "dryer d1 { compressor piston, delivers 30 psi, capacity 9 scfh, contact wet { healthy closed } }\n";
    says(&format!("{dryer}spare d1 contact wet"), &[]);
    says(
        &format!("{dryer}spare d1 contact wat"),
        &["NameUnknown | wat | `d1` has no contact named `wat` => \"wet\""],
    );
    says(
        &format!("{dryer}spare d1 contact"),
        &["ValueUnreadable | contact | `contact` expects a name after it"],
    );
    says(
        "block tb { pairs 25 }\nspare tb pair rst",
        &["ValueUnreadable | rst | unknown word `rst` => \"rest\""],
    );
    says(
        "block tb { pairs 25 }\nspare tb pair rest 5",
        &["ValueUnreadable | 5 | unexpected `5` at the end of this"],
    );
    says(
        "block tb { pairs 25 }\nspare tb pair 5 rest",
        &["ValueUnreadable | rest | unexpected `rest` at the end of this"],
    );
    says(
        "flow-sensor f1 { span 0 30 scfh }",
        &["ValueUnreadable | 30 | `..` is missing before `30` => \" ..\""],
    );
}

#[test]
fn units_have_three_messages() {
    // None at all, one that is not known, and one of something else.
    says("regulator r1 { set 10 }", &["UnitMissing | 10 | `10` has no unit"]);
    says(
        "regulator r1 { set 10 pis }",
        &["UnitUnknown | pis | unknown unit `pis` => \"psi\""],
    );
    says(
        "regulator r1 { set 10 scfh }",
        &["UnitWrongDimension | 10 scfh | `set` expects a pressure, found `10 scfh`, a flow"],
    );
    // Units that could have been meant are listed.
    let office = office("regulator r1 { set 10 }");
    let help = office
        .problems
        .first()
        .and_then(|problem| problem.help.clone())
        .unwrap();
    assert!(help.starts_with("units of pressure are psi, psia, kPa"), "{help}");
    says(
        "regulator r1 { set psi }",
        &["ValueUnreadable | psi | the number is missing before `psi`"],
    );
    says(
        "regulator r1 { set 10 psi, differential 5 psia }",
        &["UnitWrongDimension | 5 psia | `differential` is a difference of two pressures, and `5 psia` is absolute"],
    );
}

#[test]
fn near_names_are_suggested() {
    says(
        "montor m1 { sensors 8 }",
        &["KindUnknown | montor | unknown kind `montor` => \"monitor\""],
    );
    says(
        "monitor m1 { sensers 8 }",
        &["FieldUnknown | sensers | monitor `m1` has no field `sensers` => \"sensors\""],
    );
    says(
        "dryer d1 { compressor pistn, delivers 30 psi, capacity 9 scfh }",
        &[
            "ValueUnreadable | pistn | `compressor` expects one of `piston`, `diaphragm`, `scroll`, `rotary`, `none`, found `pistn` => \"piston\"",
        ],
    );
    says(
        "ground-bar main-bar\nground-bar b\nground b -> main-br",
        &["NameUnknown | main-br | nothing in this office is named `main-br` => \"main-bar\""],
    );
    says(
        "ground-bar b\nground-bar c\nground b bra -> c",
        &["PortUnknown | bra | a ground-bar has no port `bra` => \"bar\""],
    );
    // Nothing near, nothing suggested.
    says(
        "regulator r1 { set 10 psi }\nblock tb { pairs 2 }\nwire r1 -> tb pair 1",
        &["PortUnknown | r1 | `r1` is a regulator, and no wire run can end on it"],
    );
}

#[test]
fn parts_give_fields_and_things_may_override_them() {
    let parts = "part pressure-sensor field { span 0 .. 10 psi, step 0.1 psi, limit low 5 psi minor }\n";
    let text = "use parts/field\noffice elm-hollow { stage planned }\n\
                pressure-sensor p1 : field { step 0.5 psi, limit high 9 psi major }\n";
    let office = office_with(text, &[("parts/field", parts)]);
    assert_eq!(said(&office), [""; 0]);
    let p1 = thing(&office, "p1");
    assert_eq!(p1.part.as_ref().map(|part| &*part.name), Some("field"));
    assert_eq!(p1.quantity(Key::Step).unwrap().0.to_string(), "0.5 psi");
    // Each limit is a field of its own, so that both hold.
    let limits: Vec<_> = p1.limits().map(|(limit, _)| limit.level.word()).collect();
    assert_eq!(limits, ["high", "low"]);
    // A field of the part lies in the part's file.
    assert_eq!(p1.field(Key::Span).map(|field| field.place.file), Some(FileId(1)));
    assert_eq!(p1.place_of(Key::Span, office.file), p1.name);
    assert_eq!(office.taken.iter().map(|name| &**name).collect::<Vec<_>>(), ["field"]);
}

#[test]
fn a_part_may_be_of_another_once() {
    let region = "part office region { hottest 65 degC, air-minimum { underground 5 psi, buried 3 psi } }\n";
    let county = "use parts/region\npart office county : region { coldest -25 degC, air-minimum { buried 2 psi } }\n";
    let files = [("parts/region", region), ("parts/county", county)];
    let text = "use parts/county\noffice elm-hollow : county { stage planned, air-minimum { underground 6 psi } }\n";
    let office = office_with(text, &files);
    assert_eq!(said(&office), [""; 0]);
    let without_use = |text: &str| text.split_once('\n').map(|(_, rest)| rest.to_owned()).unwrap();
    let in_one_file = [&without_use(county), region, &without_use(text)].concat();
    assert_eq!(
        fields_of(&office_with(&in_one_file, &[]), "elm-hollow"),
        "stage planned, air-minimum { underground 6 psi, buried 2 psi }, coldest -25 degC, hottest 65 degC"
    );
    let itself = office.thing(office.itself.unwrap());
    let names: Vec<&str> = itself.parts().map(|part| &*part.name).collect();
    assert_eq!(names, ["county", "region"]);
    assert!([Key::Coldest, Key::Hottest].iter().all(|key| itself.has(*key)));
    // Its own file says what is wrong with a part, and an office that takes it has nothing to add.
    let says = |parts: &str, expected: &[&str]| {
        let own = format!("office oak {{ stage planned }}\n{parts}");
        assert_eq!(
            said(&office_with(&own, &[("parts/region", region)])),
            expected,
            "{parts}"
        );
        let taking = "use parts/county\noffice elm-hollow : county { stage planned }\n";
        let taking = office_with(taking, &[("parts/region", region), ("parts/county", parts)]);
        assert_eq!(said(&taking), [""; 0], "{parts}");
        assert!(taking.thing(taking.itself.unwrap()).damaged);
    };
    says(
        "use parts/region\npart office county : regoin { site \"A\" }",
        &["PartUnknown | regoin | unknown part `regoin` => \"region\""],
    );
    says(
        "use parts/region\npart office county : middle { site \"A\" }\npart office middle : region { site \"B\" }",
        &["PartChain | middle | part `middle` is of part `region` itself, and a part is of one other part at most"],
    );
    says(
        "part office county : county { site \"A\" }",
        &["PartChain | county | part `county` is said to be of itself"],
    );
    says(
        "part office county : other { site \"A\" }\npart office other : county { hottest 50 degC }",
        &["PartChain | other | part `other` is of `county` in turn, so that each is of the other"],
    );
    says(
        "part office county : blocks { site \"A\" }\npart block blocks { pairs 10 }",
        &["PartWrongKind | blocks | part `blocks` is a block, and part `county` is an office"],
    );
}

#[test]
fn parts_that_are_not_there() {
    let parts = "part pressure-sensor field { span 0 .. 10 psi }\n";
    let says = |statements: &str, expected: &[&str]| {
        let text = format!("use parts/field\noffice elm-hollow {{ stage planned }}\n{statements}");
        assert_eq!(
            said(&office_with(&text, &[("parts/field", parts)])),
            expected,
            "{statements}"
        );
    };
    says(
        "pressure-sensor p1 : feld",
        &["PartUnknown | feld | unknown part `feld` => \"field\""],
    );
    says(
        "flow-sensor f1 : field",
        &["PartWrongKind | field | part `field` is a pressure-sensor, and this thing is a flow-sensor"],
    );
    says(
        "part pressure-sensor field { span 0 .. 5 psi }",
        &["NameTwice | field | a part named `field` is declared already"],
    );
    says(
        "pressure-sensor p1 : mine\npressure-sensor p2 : mine\npressure-sensor mine { span 0 .. 5 psi }",
        &[
            "PartUnknown | pressure-sensor | `part` is missing before `pressure-sensor`: `mine` is used as a part => \"part \"",
        ],
    );
    // A part may be declared after the things that take it.
    says(
        "pressure-sensor p1 : mine\npart pressure-sensor mine { span 0 .. 5 psi }",
        &[],
    );
}

#[test]
fn uses() {
    let files = [
        ("parts/field", ""),
        ("parts/deep", "use parts/field"),
        ("parts/field-sensors", ""),
    ];
    let said = |text: &str| said(&office_with(text, &files));
    assert_eq!(said("use parts/deep"), [""; 0]);
    assert_eq!(
        said("use parts/feld"),
        ["UseNotFound | parts/feld | there is no file `parts/feld.office` in this repository => \"parts/field\""]
    );
    assert_eq!(
        said("use offices/elm-hollow"),
        ["UseCycle | offices/elm-hollow | this file uses itself"]
    );
}

#[test]
fn a_path_outside_is_said_so() {
    struct Outside;
    impl PartsSource for Outside {
        fn find(&self, _: &str) -> PartsLookup {
            PartsLookup::Outside
        }
        fn names_in(&self, _: &str) -> Vec<String> {
            Vec::new()
        }
    }
    let text = "use elsewhere/field\nblock tb : block-25";
    let office = lower(FileId(0), "offices/a", text.into(), &parse(text), &Outside);
    // What the file would have declared is not called unknown.
    assert_eq!(
        said(&office),
        ["UseOutsideRepository | elsewhere/field | `elsewhere/field` is outside this repository"]
    );
}

#[test]
fn a_ring_is_one_result_of_its_first_file() {
    let files = [
        ("parts/a", "use parts/b"),
        ("parts/b", "use parts/c"),
        ("parts/c", "use parts/a"),
    ];
    let said = |path: &str| {
        let (_, text) = files.iter().find(|(own, _)| *own == path).unwrap();
        said(&lower(FileId(0), path, (*text).into(), &parse(text), &shelf(&files)))
    };
    assert_eq!(
        said("parts/a"),
        [
            "UseCycle | parts/b | these files use each other in a ring: `parts/a` uses `parts/b` uses `parts/c` uses `parts/a`",
        ]
    );
    assert_eq!(said("parts/b"), [""; 0]);
    assert_eq!(said("parts/c"), [""; 0]);
}

#[test]
fn parts_that_are_of_each_other_over_files_are_the_ring_of_their_files() {
    let files = [
        ("parts/a", "use parts/b\npart block x : y { pairs 10 }"),
        ("parts/b", "use parts/a\npart block y : x { pins yes }"),
    ];
    let said = |path: &str| {
        let (_, text) = files.iter().find(|(own, _)| *own == path).unwrap();
        said(&lower(FileId(0), path, (*text).into(), &parse(text), &shelf(&files)))
    };
    assert_eq!(
        said("parts/a"),
        ["UseCycle | parts/b | these files use each other in a ring: `parts/a` uses `parts/b` uses `parts/a`"]
    );
    assert_eq!(said("parts/b"), [""; 0]);
}

#[test]
fn a_name_that_stands_twice() {
    let office = office("ground-bar b\nground-bar b { principal yes }");
    assert_eq!(said(&office), ["NameTwice | b | the name `b` is already taken"]);
    // What the second lacks proves nothing.
    assert_eq!(
        office.things.iter().map(|thing| thing.damaged).collect::<Vec<_>>(),
        [false, false, true]
    );
}

#[test]
fn one_slip_in_a_run_is_one_result() {
    let things = "ground-bar a\nground-bar b\nblock tb { pairs 9 }\nmonitor m1 { sensors 4, contacts 2 }\ncontact c { healthy open }\n";
    for (run, expected) in [
        (
            "ground a b with 6 awg",
            "ValueUnreadable | b | an arrow is missing before `b` => \" ->\"",
        ),
        ("ground a", "ValueUnreadable | a | this run has only one end"),
        (
            "ground a -> b 6 awg",
            "ValueUnreadable | 6 awg | `with` is missing before `6 awg` => \" with\"",
        ),
        (
            "ground a -> b with 6 awg 3 m",
            "ValueUnreadable | 3 m | a comma is missing before `3 m` => \",\"",
        ),
        (
            "ground a -> b with 6 awg, 8 awg",
            "FieldTwice | 8 awg | the wire size of this run is given twice",
        ),
        (
            "ground ground a -> b",
            "ValueUnreadable | ground | `ground` is written twice => \"\"",
        ),
        ("ground a a -> b", "ValueUnreadable | a | `a` is written twice => \"\""),
        (
            "ground bar -> b",
            "NameUnknown | bar | the name of a thing is missing before `bar`",
        ),
        (
            "wire c -> tb 3 -> m1 contact 1",
            "PortUnknown | 3 | `pair` is missing before `3` => \" pair\"",
        ),
        (
            "wire c -> tb pair 3 -> m1 1",
            "PortUnknown | 1 | `sensor` or `contact` is missing before `1`",
        ),
        (
            "wire c -> tb pair 3 with 22 awg, 8 m spare tb pair 4",
            "ValueUnreadable | spare | `spare` starts another statement and must start a line => \"\\n\"",
        ),
        (
            "wire c -> tb pair 3 red-rde",
            "ValueUnreadable | red-rde | unknown colours `red-rde`",
        ),
    ] {
        says(&format!("{things}{run}"), &[expected]);
    }
}

#[test]
fn one_slip_in_a_field_is_one_result() {
    for (statement, expected) in [
        (
            "monitor m1 { sensors 8 contacts 4 }",
            "ValueUnreadable | contacts | a comma is missing before the field `contacts` => \",\"",
        ),
        (
            "dryer d1 { delivers 30 capacity 9 scfh }",
            "UnitMissing | 30 | `30` has no unit",
        ),
        (
            "monitor m1 { sensors sensors 8 }",
            "ValueUnreadable | sensors | `sensors` is written twice => \"\"",
        ),
        (
            "monitor m1 { sensors 8, wants-filtered yes yes }",
            "ValueUnreadable | yes | `yes` is written twice => \"\"",
        ),
        (
            "monitor m1 { sensors 8, yes }",
            "FieldUnknown | yes | the name of a field is missing before `yes`",
        ),
        (
            "monitor m1 { sensors 8, sensors 9 }",
            "FieldTwice | sensors 9 | `sensors` is given twice",
        ),
        (
            "pressure-sensor p { span 0 .. 9 psi, limit low 8 psi major 0.3 psi }",
            "ValueUnreadable | 0.3 psi | `deadband` is missing before `0.3 psi` => \" deadband\"",
        ),
        (
            "monitor m1 { sensors 8, note { x 1 } }",
            "ValueUnreadable | note | `note` expects text in quotes after it",
        ),
    ] {
        says(statement, &[expected]);
    }
    // A comma that is missing does not cost the field after it.
    let office = office("monitor m1 { sensors 8 contacts 4 }");
    assert_eq!(thing(&office, "m1").count(Key::Contacts), Some(4));
}

#[test]
fn damage_keeps_names_and_silences_what_follows() {
    // A word too many in a head: either may be the name.
    let office = office("ground-bar big b\nground-bar c\nground b -> c\nground big -> c");
    assert_eq!(
        said(&office),
        ["StatementUnreadable | b | `b` is one word too many in the head of this thing"]
    );
    // A run that could not be read: no run of that medium is called missing.
    let office = self::office("ground-bar b\nground b ->\nground-bar c");
    assert!(
        office.unsure.about(drysheath_syntax::Medium::Ground) && !office.unsure.about(drysheath_syntax::Medium::Air)
    );
    // Nor does one that could not be read at all make anything else doubtful.
    let office = self::office("ground-bar b\nground b -> c with 6 awg, 6 m, then 10 awg\nground-bar c");
    assert!(office.unsure.about(drysheath_syntax::Medium::Ground) && !office.unsure.things);
    assert!(!office.unsure.about(drysheath_syntax::Medium::Air) && !office.unsure.names);
    // A text that ends inside a statement may lack anything.
    let office = self::office("ground-bar b\nmonitor m1 { sensors");
    assert!(office.unsure.things && office.unsure.names);
    // So may one that cannot be read at all.
    let things = |text: &str| office_with(text, &[]).unsure.things;
    assert!(things("<<<<<<< HEAD\n") && things("}") && !things("") && !things("# nothing yet\n"));
    // A field that could not be read is not missing, wherever in its thing it is written.
    let office = self::office(
        "dryer d1 { delivers 30 psi; capacity 9 scfh, 5 }\ndryer d2 { 5, delivers 30 psi }\ndryer d3 { delivers 30 psi }",
    );
    assert_eq!(
        ["d1", "d2", "d3"].map(|name| thing(&office, name).damaged),
        [true, true, false]
    );
    // A size that could not be read is not missing.
    let office = self::office("ground-bar a\nground-bar b\nground a -> b with 6 agw, 3 m");
    let run = office.runs.iter().next().unwrap();
    assert!(run.with.damaged && run.with.gauge.is_none() && run.with.length.is_some() && !run.damaged);
}

#[test]
fn a_stage_that_cannot_be_read_asks_for_the_least() {
    for (statement, stage) in [
        ("office o { stage in-service }", "in-service"),
        ("office o { title \"O\" }", "installed"),
        ("office o { stage plnned }", "planned"),
        ("block tb { pairs 2 }", "planned"),
    ] {
        assert_eq!(office_with(statement, &[]).stage().word(), stage, "{statement}");
    }
}

#[test]
fn acceptances_that_cannot_be_read_accept_nothing() {
    let office = office(
        "block tb { pairs 2 }\n\
         accept pair-not-said-spare on tb because \"spring\" until 2027-02-30\n\
         accept pair-not-said-spare tb because \"spring\" until 2027-02-28\n\
         accept pair-not-said-spare on tb because \"spring\" until 2027-02-28\n",
    );
    assert_eq!(
        said(&office),
        [
            "AcceptanceVoid | 2027-02-30 | there is no such date as 2027-02-30",
            "StatementUnreadable | tb | `on` is missing before `tb`",
        ]
    );
    assert_eq!(office.acceptances.len(), 1);
}

#[test]
fn fixes_leave_nothing_to_say() {
    let text = "office elm-hollow { stage planned }\nregulator r1 { set 10 pis }\n";
    let office = office_with(text, &[]);
    let fix = office.problems.first().and_then(|problem| problem.fix.clone()).unwrap();
    let mended = apply(text, &fix.edits).unwrap();
    assert_eq!(mended, text.replace("pis", "psi"));
    assert_eq!(said(&office_with(&mended, &[])), [""; 0]);
}

#[test]
fn a_block_of_a_part_is_completed_by_the_thing() {
    let part = "part dryer d60 { contact humidity { } }\n";
    assert_eq!(said(&office_with(part, &[])), [""; 0]);
    let taken = |own: &str| {
        let thing = format!("dryer d1 : d60 {{ compressor scroll, delivers 10 psi, capacity 80 scfh{own} }}\n");
        said(&office(&format!("{part}{thing}")))
    };
    assert_eq!(
        taken(""),
        ["FieldMissing | d1 | contact `humidity` of `d1` has no `healthy`"]
    );
    assert_eq!(taken(", contact humidity { healthy closed }"), [""; 0]);
}

/// The fields that a thing has, its own and those of its part.
fn fields_of(office: &Office, name: &str) -> String {
    fn shown(fields: &[Field], text: &dyn Fn(Place) -> String) -> String {
        let all = fields.iter().map(|field| match &field.value {
            Value::Group(inner) => format!("{} {{ {} }}", field.spec.word(), shown(inner, text)),
            Value::Named { name, fields, .. } => {
                format!("{} {name} {{ {} }}", field.spec.word(), shown(fields, text))
            }
            _ => text(field.place),
        });
        all.collect::<Vec<_>>().join(", ")
    }
    let thing = office.thing(office.named(name).unwrap());
    shown(&thing.fields, &|place| place.range.of(&office.text).to_owned())
}

#[test]
fn groups_and_named_fields_are_taken_over_field_by_field() {
    let text = "part office county { air-minimum { underground 5 psi, buried 3 psi, aerial 1 psi } }
office elm-hollow : county { air-minimum { buried 4 psi } }
part dryer d60 { contact humidity { healthy closed }, contact pressure { healthy closed } }
dryer d1 : d60 { contact humidity { note \"left of the door\" } }
part cable trunk {
    section s1 { underground 1 km, depth 2 m, usage 1 scfh }
    section s2 { buried 2 km, depth 1 m, usage 2 scfh }
}
cable c1 : trunk { section s3 { aerial 3 km }, section s2 { buried 1 km } }
cable c2 : trunk { section s1 { aerial 3 km } }
";
    let office = office_with(text, &[]);
    assert_eq!(
        fields_of(&office, "elm-hollow"),
        "air-minimum { buried 4 psi, underground 5 psi, aerial 1 psi }"
    );
    assert_eq!(
        fields_of(&office, "d1"),
        "contact humidity { note \"left of the door\", healthy closed }, contact pressure { healthy closed }"
    );
    // Sections stay in the order of the part, from the office outwards.
    assert_eq!(
        fields_of(&office, "c1"),
        "section s1 { underground 1 km, depth 2 m, usage 1 scfh }, section s2 { buried 1 km, depth 1 m, usage 2 scfh }, \
         section s3 { aerial 3 km }"
    );
    // A section lies in one kind of surroundings, and the depth was that of the other kind.
    assert_eq!(
        fields_of(&office, "c2"),
        "section s1 { aerial 3 km, usage 1 scfh }, section s2 { buried 2 km, depth 1 m, usage 2 scfh }"
    );
}

#[test]
fn a_part_that_two_used_files_give_is_taken_with_its_file() {
    let files = [
        ("parts/regulators", "part regulator check { set 10 psi }\n"),
        ("parts/valves", "part regulator check { set 8 psi }\n"),
        ("old/regulators", "part regulator check { set 6 psi }\n"),
    ];
    let set = |uses: &str, name: &str| {
        let text = format!("{uses}regulator r1 : {name} {{ differential 5 psi }}\nregulator r2 : {name}\n");
        let office = office_with(&text, &files);
        let set = office.thing(office.named("r1").unwrap()).quantity(Key::Set);
        (set.map(|(set, _)| set.to_string()), said(&office))
    };
    let both = "use parts/regulators\nuse parts/valves\n";
    let (taken, problems) = set(both, "check");
    assert_eq!(taken, None);
    assert_eq!(
        problems,
        ["PartAmbiguous | parts/valves | this file gives a part `check`, and so does another that is used"]
    );
    // The order of two lines decides nothing.
    let turned = "use parts/valves\nuse parts/regulators\n";
    for uses in [both, turned] {
        assert_eq!(set(uses, "valves/check"), (Some("8 psi".to_owned()), vec![]));
        assert_eq!(set(uses, "parts/regulators/check"), (Some("10 psi".to_owned()), vec![]));
    }
    let three = format!("{both}use old/regulators\n");
    assert_eq!(set(&three, "old/regulators/check"), (Some("6 psi".to_owned()), vec![]));
    assert_eq!(set(&three, "regulators/check").1.len(), 1);
    assert_eq!(
        set(both, "valves/chek").1,
        ["PartUnknown | valves/chek | there is no part `chek` in `valves`"; 2]
    );
}

#[test]
fn pairs_that_others_have_or_that_are_broken() {
    let text =
        "block tb { pairs 25 }\nassigned tb pair 1 .. 3 to \"subscribers\"\ndefective tb pair 4 because \"open\"";
    let lowered = office(text);
    assert_eq!(said(&lowered), [""; 0]);
    let read = lowered.stated.iter().map(|own| (own.end.numbers, own.said()));
    assert_eq!(
        read.collect::<Vec<_>>(),
        [
            ((1, 3), "assigned to \"subscribers\"".to_owned()),
            ((4, 4), "defective because \"open\"".to_owned()),
        ]
    );
    for (written, wanted) in [
        (
            "assigned tb pair 1",
            "ValueUnreadable | 1 | `assigned` expects `to` and a text in quotes after it",
        ),
        (
            "assigned tb pair 1 \"subscribers\"",
            "ValueUnreadable | \"subscribers\" | `to` is missing before `\"subscribers\"` => \" to\"",
        ),
        (
            "assigned tb pair 1 because \"subscribers\"",
            "ValueUnreadable | because | `assigned` has `to` before its text, not `because` => \"to\"",
        ),
        (
            "defective tb pair 1 to \"subscribers\"",
            "ValueUnreadable | to | `defective` has `because` before its text, not `to` => \"because\"",
        ),
        (
            "defective tb pair 1 because",
            "ValueUnreadable | because | `because` expects a text in quotes after it",
        ),
        (
            "defective tb pair 1 because \"  \"",
            "ValueUnreadable | \"  \" | this does not say what is wrong with it",
        ),
        (
            "defective tb pair because \"open\"",
            "ValueUnreadable | because | `pair` expects a whole number from 1 to 100000, found `because`",
        ),
        (
            "assigned tb to \"subscribers\"",
            "PortUnknown | to | a block has no port `to`",
        ),
        (
            "assigned tb pair 1 .. 3 to \"subscribers\" spare tb pair 4",
            "ValueUnreadable | spare | `spare` starts another statement and must start a line => \"\\n\"",
        ),
        (
            "tb pair 1 to \"subscribers\"",
            "StatementUnreadable | tb | `assigned` is missing before `tb` => \"assigned \"",
        ),
        (
            "tb pair 1 because \"open\"",
            "StatementUnreadable | tb | `defective` is missing before `tb` => \"defective \"",
        ),
        (
            "assigned tb pair 1, 3 to \"subscribers\"",
            "StatementUnreadable | , | one `assigned` names one range",
        ),
    ] {
        says(&format!("block tb {{ pairs 25 }}\n{written}"), &[wanted]);
    }
    says(
        "fuse-panel pdf { positions 1 .. 10, current-max 30 A }\nassigned pdf fuse 3 to \"the carrier\"",
        &["PortUnknown | fuse | only pairs and inputs can be assigned, not the `fuse` of a fuse-panel"],
    );
}
