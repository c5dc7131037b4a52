//! What the sheets of an office say, and that they say it of every office.
#![allow(
    clippy::expect_used,
    clippy::indexing_slicing,
    clippy::panic,
    clippy::unwrap_used,
    reason = "a test fails by a panic"
)]

use std::collections::BTreeSet;
use std::sync::Arc;

use drysheath_fixture::{
    analysis, county, example, example_and, example_with, on_damaged_texts, snapshot, snapshot_unlinted,
};
use drysheath_office::kinds::Key;
use drysheath_office::{Allocation, Date, Field, Fields, Value};
use drysheath_report::OfficeView;
use drysheath_sheets::{Amount, Group, Material, Subject, pictures, sheets, spare_ports};
use drysheath_syntax::{comment_lines, comments_above};
use drysheath_workspace::{Analysis, Texts};

const DAY: Date = Date {
    year: 2026,
    month: 11,
    day: 29,
};

fn sheet(analysis: &Analysis) -> String {
    let texts = Texts::default();
    sheets(&Subject {
        view: OfficeView::of(analysis, &texts),
        whole: &analysis.office,
        findings: analysis.findings(),
        date: DAY,
        revision: Some("0123456789ab"),
        since: None,
    })
}

fn of_text(text: &str) -> Arc<Analysis> {
    analysis(&snapshot_unlinted(&[("elm", text)]), "elm")
}

/// The text between tags, without the style.
fn words(html: &str) -> String {
    let (_, body) = html.split_once("<body>").unwrap();
    let mut words = String::new();
    let mut inside = false;
    for one in body.chars() {
        match one {
            '<' => inside = true,
            '>' => {
                inside = false;
                words.push(' ');
            }
            _ if !inside => words.push(one),
            _ => {}
        }
    }
    let text = words
        .replace('\u{a0}', " ")
        .replace("&lt;", "<")
        .replace("&gt;", ">")
        .replace("&quot;", "\"")
        .replace("&amp;", "&");
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// What stands between two tags, each time.
fn all<'h>(html: &'h str, from: &str, to: &str) -> Vec<&'h str> {
    html.split(from)
        .skip(1)
        .filter_map(|rest| Some(rest.split_once(to)?.0))
        .collect()
}

#[test]
fn the_parts_stand_in_their_order_and_every_page_has_its_number() {
    let html = sheet(&example(""));
    let heads: Vec<&str> = all(&html, "<h2 id=\"", "</h2>")
        .into_iter()
        .filter_map(|head| Some(head.split_once('>')?.1))
        .collect();
    assert_eq!(
        heads,
        [
            "What this is",
            "Notes",
            "Air",
            "Wiring",
            "Power and ground",
            "Pairs",
            "Limits",
            "Material",
            "Steps",
            "Pressure"
        ]
    );
    let pages = html.matches("<section class=\"page\"").count();
    for page in 1..=pages {
        assert!(
            html.contains(&format!("<span>page {page} of {pages}</span>")),
            "{page} of {pages}"
        );
    }
    for every in [
        "computed, not measured",
        "Local codes and licensed people govern what is done.",
        "Battery plant: a slip carries",
        "2026-11-29 · revision 0123456789ab",
    ] {
        assert!(html.matches(every).count() >= pages, "{every}");
    }
    let steps = all(&html, "<h3>", "</h3>");
    let order = [
        "Before anything is opened",
        "Hang",
        "Pipe and seal",
        "Leak test",
        "Ground first",
        "Power, with every fuse out",
        "Pairs, with the monitor unplugged",
        "Plug and switch on",
        "Air on, slowly",
        "What each input should read",
    ];
    let found: Vec<&str> = steps.into_iter().filter(|step| order.contains(step)).collect();
    assert_eq!(found, order);
}

#[test]
fn figures_of_the_example_stand_in_its_drawing() {
    // By hand from the office: 3 + 4 scfh of usage, and a set pressure of 10 psi; what is computed is what `predict` prints.
    let told = words(&sheet(&example("")));
    for said in [
        "set 10 psi",
        "gives 7 scfh",
        "7 scfh to 4 scfh",
        "4 scfh to 0 scfh",
        "plugged: port 3, 4",
        "fuse 3 A",
        "14 awg, 6 m",
        "low 6.7 psi minor, deadband 0.3 psi",
    ] {
        assert!(told.contains(said), "{said}");
    }
}

#[test]
fn the_same_office_gives_the_same_bytes_and_a_small_edit_moves_little() {
    let before = sheet(&example(""));
    assert_eq!(before, sheet(&example("")));
    let after = sheet(&of_text(&example_and(
        "contact door { healthy closed }\nwire door -> tb pair 9 -> m1 contact 2 with 22 awg, 3 m\n",
    )));
    let strips = |html: &str| {
        all(html, "<g transform=\"translate(0 ", "</g></g>")
            .into_iter()
            .filter_map(|strip| Some(strip.split_once('>')?.1.to_owned()))
            .collect::<BTreeSet<_>>()
    };
    let (before, after) = (strips(&before), strips(&after));
    let kept = before.intersection(&after).count();
    assert!(
        kept * 10 >= before.len() * 9,
        "{kept} of {} strips are as they were",
        before.len()
    );
}

fn notes(fields: &[Field], found: &mut Vec<String>) {
    for field in fields {
        match &field.value {
            Value::Text(note) if field.spec.key == Key::Note => {
                found.push(note.split_whitespace().collect::<Vec<_>>().join(" "));
            }
            Value::Named { fields, .. } | Value::Group(fields) => notes(fields, found),
            _ => {}
        }
    }
}

#[test]
fn every_note_of_the_county_and_every_comment_above_a_thing_is_printed() {
    let files = county();
    let whole = snapshot(&files);
    let mut number = 0;
    for (name, _) in files.iter().filter(|(name, _)| name.starts_with("offices/")) {
        let analysis = analysis(&whole, name);
        let mut found = Vec::new();
        for thing in &analysis.office.things {
            notes(thing.fields(), &mut found);
        }
        let text = analysis.office.own_text();
        let things = analysis.office.things.iter();
        let comments = things.filter_map(|thing| {
            let comments = comments_above(text, thing.range.start)?;
            Some(comment_lines(comments.of(text)).collect::<Vec<_>>().join(" "))
        });
        found.extend(comments.filter(|comment| !comment.is_empty()));
        let told = words(&sheet(&analysis));
        for note in &found {
            assert!(told.contains(note), "{name}: {note}");
        }
        number += found.len();
    }
    assert!(number > 10, "the county has {number} notes");
}

#[test]
fn a_pair_that_goes_on_in_another_office_has_its_loop_on_the_sheet_of_the_monitor() {
    let mut files = county();
    let mut edit = |name: &str, from: &str, to: &str| {
        let (_, text) = files.iter_mut().find(|(path, _)| path.contains(name)).unwrap();
        assert!(text.contains(from), "{name}: {from}");
        *text = text.replace(from, to);
    };
    edit("barrow-lea", "trunk pair 50    -> tb pair 12", "trunk pair 50");
    edit(
        "barrow-lea",
        "tb pair 7 .. 12        -> m1 sensor 7 .. 12",
        "tb pair 7 .. 11        -> m1 sensor 7 .. 11",
    );
    edit(
        "fennel-ford",
        "spare trunk pair rest",
        "spare trunk pair rest\nwire trunk pair 50 -> tb pair 25 -> m1 sensor 16",
    );
    let whole = snapshot(&files);
    let far = analysis(&whole, "offices/fennel-ford.office");
    let of_far = words(&sheet(&far));
    let own = far.prediction.loops.iter().find(|own| own.input.number == 16).unwrap();
    let ohms = own.resistance_at_20.ohms();
    assert!((100.0..1000.0).contains(&ohms), "three digits are whole ohms: {ohms}");
    let shown = format!("{ohms:.0} ohm");
    let row = of_far.split("barrow-lea/ps-mill").nth(2).unwrap();
    assert!(
        row.split("spare").next().unwrap().contains(&shown),
        "{shown} in {row:.200}"
    );
    assert!(of_far.contains("in barrow-lea"), "where the device is");
    let of_near = words(&sheet(&analysis(&whole, "offices/barrow-lea.office")));
    assert!(of_near.contains("fennel-ford/m1 sensor 16"), "where the wire ends");
}

#[test]
fn bunched_pairs_say_that_they_are() {
    let text = example_with(
        "spare c101 pair 38 .. 50",
        "spare c101 pair 39 .. 50\nbunched c101 pair 37 .. 38 because \"one alone is over the limit\"",
    );
    let told = words(&sheet(&of_text(&text)));
    assert_eq!(
        told.matches("pairs 37, 38 are bunched").count(),
        2,
        "both pairs of the bunch"
    );
    assert!(
        !told.contains("not followed"),
        "the second pair carries what the first does"
    );
}

fn material(analysis: &Analysis) -> Material {
    let (office, networks) = (analysis.present(), &analysis.networks);
    Material::of(
        office,
        networks,
        &spare_ports(office, &Allocation::new(office, networks)),
    )
}

fn amount(material: &Material, group: Group, name: &str) -> Option<Amount> {
    material
        .items()
        .find(|(own, item, _)| (*own, *item) == (group, name))
        .map(|(.., amount)| amount)
}

#[test]
fn the_material_of_the_example_is_what_a_hand_counts() {
    // Counted by hand in the runs of the example office.
    let material = material(&example(""));
    let metres = |group, name: &str| match amount(&material, group, name) {
        Some(Amount::Metres(metres, _)) => metres,
        other => panic!("{name}: {other:?}"),
    };
    assert!((metres(Group::Tube, "tube 3/8 in, 1/4 in bore") - 7.0).abs() < 1e-9);
    assert!((metres(Group::Tube, "tube 1/4 in, 0.17 in bore") - 0.5).abs() < 1e-9);
    assert!(
        (metres(Group::Conductor, "power conductor 6 awg") - 10.0).abs() < 1e-9,
        "there and back"
    );
    assert!(
        (metres(Group::Conductor, "power conductor 14 awg") - 12.0).abs() < 1e-9,
        "there and back"
    );
    assert!((metres(Group::Conductor, "ground conductor 6 awg") - 5.0).abs() < 1e-9);
    assert!((metres(Group::Conductor, "ground conductor 10 awg") - 4.0).abs() < 1e-9);
    assert!((metres(Group::Wire, "pair wire 22 awg") - 16.0).abs() < 1e-9);
    assert_eq!(amount(&material, Group::Fuse, "fuse 30 A"), Some(Amount::Pieces(1)));
    assert_eq!(amount(&material, Group::Fuse, "fuse 3 A"), Some(Amount::Pieces(1)));
    assert_eq!(
        amount(&material, Group::Fitting, "plugs for spare ports of mf"),
        Some(Amount::Pieces(2))
    );
    assert_eq!(
        amount(&material, Group::Equipment, "pressure sensor"),
        Some(Amount::Pieces(2))
    );
    // d1 to r1 to f1 to mf, mf to c101: four stretches with two ends each.
    assert_eq!(
        amount(&material, Group::Fitting, "ends of 3/8 in tube to make up"),
        Some(Amount::Pieces(8))
    );
}

#[test]
fn a_difference_of_material_is_what_was_added_less_what_was_taken_away() {
    let before = material(&example(""));
    let longer = material(&of_text(&example_with(
        "with 3 A,    14 awg, 6 m",
        "with 5 A,    14 awg, 8 m",
    )));
    let difference = longer.beyond(&before);
    let items: Vec<String> = difference
        .items()
        .map(|(_, name, amount)| format!("{name}: {amount:?}"))
        .collect();
    assert_eq!(items.len(), 3, "{items:?}");
    assert_eq!(amount(&difference, Group::Fuse, "fuse 5 A"), Some(Amount::Pieces(1)));
    assert_eq!(amount(&difference, Group::Fuse, "fuse 3 A"), Some(Amount::Pieces(-1)));
    assert!(
        matches!(amount(&difference, Group::Conductor, "power conductor 14 awg"), Some(Amount::Metres(metres, _)) if (metres - 4.0).abs() < 1e-9)
    );
    assert_eq!(before.beyond(&before).items().count(), 0);
}

/// What the decay test is said to pass with is what the rule about such readings passes, and less is what it reports.
#[test]
fn the_decay_that_still_passes_is_that_of_the_rule() {
    let told = words(&sheet(&example("")));
    let (_, rest) = told.split_once("c101: close it at ").unwrap();
    let (start, rest) = rest.split_once(" psi, wait 30 min").unwrap();
    let (_, rest) = rest.split_once("note its temperature both times. ").unwrap();
    let (end, _) = rest.split_once(" psi or more").unwrap();
    let found = |end: f64| {
        let text = example_and(&format!(
            "reading 2026-11-01 c101 decay {start} psi .. {end:.2} psi over 30 min\n"
        ));
        let analysis = of_text(&text);
        analysis
            .findings()
            .iter()
            .any(|finding| finding.rule.name() == "decay-above-usage")
    };
    let (start, end): (f64, f64) = (start.parse().unwrap(), end.parse().unwrap());
    assert!(end < start, "{start} {end}");
    assert!(!found(end));
    assert!(found(start - 1.2 * (start - end)));
}

#[test]
fn no_text_is_taken_for_markup() {
    let title = "<script>alert(1)</script> & \u{202e}gnp.\u{7}";
    let html = sheet(&of_text(&example_with("\"Elm Hollow\"", &format!("\"{title}\""))));
    assert!(!html.contains("<script"));
    assert!(!html.contains('\u{202e}') && !html.contains('\u{7}'));
    assert!(words(&html).contains("<script>alert(1)</script> &"));
}

#[test]
fn sheets_are_written_of_damaged_offices_too() {
    let mut last = 0;
    on_damaged_texts(|_, analysis, _| {
        // Each text once, not once for each offset.
        let number = analysis.text.as_ptr().addr();
        if number != last {
            last = number;
            assert!(sheet(analysis).ends_with("</html>"));
            let texts = Texts::default();
            for (name, svg) in pictures(OfficeView::of(analysis, &texts), None, DAY) {
                assert!(svg.starts_with("<svg") && svg.ends_with("</svg>"), "{name}");
            }
        }
    });
}

#[test]
fn a_chain_of_thousands_and_forks_in_forks_are_drawn() {
    use std::fmt::Write;
    let mut text = String::from(
        "office long { title \"Long\", stage planned }\ndryer d { compressor scroll, delivers 30 psi, capacity 100 scfh }\n",
    );
    let mut before = "d".to_owned();
    for number in 0..3_000 {
        let _ = writeln!(
            text,
            "valve v{number} {{ function shut-off }}\nair {before} -> v{number}"
        );
        before = format!("v{number}");
    }
    for number in 0..40 {
        let _ = writeln!(
            text,
            "manifold m{number} {{ ports 2 }}\nair {before} -> m{number}\nvalve w{number} {{ function shut-off }}\nair m{number} port 2 -> w{number}"
        );
        before = format!("m{number} port 1");
    }
    let html = sheet(&of_text(&text));
    for name in ["v2999", "m39", "w39"] {
        assert!(html.contains(&format!(">{name}</text>")), "{name}");
    }
}
