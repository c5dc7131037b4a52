//! Call hierarchy: what is upstream and downstream of a thing.

use drysheath_fixture::{analysis, county, marked, on_damaged_texts, snapshot, snapshot_unlinted};
use drysheath_ide::{Neighbour, downstream, line_at, thing_at, upstream};
use drysheath_workspace::Analysis;

const OFFICE: &str = "office elm { title \"Elm\" }
battery main { nominal -48 V, filtered yes }
fuse-panel pdf { positions 1 .. 10 }
ground-bar ogb { principal yes }
dryer d1 { compressor none, delivers 10 psi, capacity 10 scfh, contact wet { healthy closed } }
manifold mf { ports 4 }
cable c1 { pairs 25, section s1 { buried 2 km } }
pressure-sensor p1 { span 0 .. 15 psi, at c1 2 km }
block tb { pairs 10 }
monitor m1 { sensors 8, contacts 4 }
power main -> pdf
power pdf fuse 1 -> m1
ground m1 frame -> ogb
air d1 -> mf
air mf port 1 -> c1
wire p1 -> c1 pair 1 -> tb pair 1 -> m1 sensor 1
wire d1 contact wet -> tb pair 2 -> m1 contact 1
spare tb pair 3 .. 10
";

fn told(analysis: &Analysis, neighbours: &[Neighbour]) -> Vec<String> {
    let tell = |neighbour: &Neighbour| {
        let places: Vec<_> = neighbour
            .ranges
            .iter()
            .map(|range| marked(&analysis.text, *range))
            .collect();
        let name = analysis.office.name(neighbour.thing);
        format!("{name} | {} | {}", neighbour.detail, places.join(" & "))
    };
    neighbours.iter().map(tell).collect()
}

fn neighbours(word: &str) -> (Vec<String>, Vec<String>) {
    let snapshot = snapshot(&[("elm", OFFICE)]);
    let analysis = analysis(&snapshot, "elm");
    let at = OFFICE.find(word).unwrap() as u32;
    let thing = thing_at(&analysis, at).unwrap();
    let up = told(&analysis, &upstream(&analysis, thing));
    (up, told(&analysis, &downstream(&analysis, thing)))
}

#[test]
fn along_air() {
    let (up, down) = neighbours("mf {");
    assert_eq!(up, ["d1 | air, d1 -> mf | air d1 -> [mf]"]);
    assert_eq!(down, ["c1 | air, mf port 1 -> c1 | air mf port 1 -> [c1]"]);
}

#[test]
fn what_stands_at_a_cable_has_its_air() {
    let (up, down) = neighbours("c1 {");
    assert_eq!(
        up,
        [
            "mf | air, mf port 1 -> c1 | air mf port 1 -> [c1]",
            "p1 | wire, p1 -> c1 pair 1 | wire p1 -> [c1 pair 1] -> tb pair 1 -> m1 sensor 1"
        ]
    );
    assert_eq!(
        down,
        [
            "p1 | air, p1 at c1 2 km | pressure-sensor p1 { span 0 .. 15 psi, [at c1 2 km] }",
            "tb | wire, c1 pair 1 -> tb pair 1 | wire p1 -> c1 pair 1 -> [tb pair 1] -> m1 sensor 1"
        ]
    );
    let (up, _) = neighbours("p1 {");
    assert_eq!(
        up,
        ["c1 | air, p1 at c1 2 km | pressure-sensor p1 { span 0 .. 15 psi, [at c1 2 km] }"]
    );
}

#[test]
fn along_power_and_wire() {
    let (up, down) = neighbours("m1 {");
    assert_eq!(
        up,
        [
            "pdf | power, pdf fuse 1 -> m1 | power pdf fuse 1 -> [m1]",
            "tb | wire, 2 ways | wire p1 -> c1 pair 1 -> tb pair 1 -> [m1 sensor 1] & wire d1 contact wet -> tb pair 2 -> [m1 contact 1]"
        ]
    );
    assert_eq!(down, [""; 0]);
    let (up, down) = neighbours("pdf {");
    assert_eq!(up, ["main | power, main -> pdf | power main -> [pdf]"]);
    assert_eq!(down, ["m1 | power, pdf fuse 1 -> m1 | power pdf fuse 1 -> [m1]"]);
}

#[test]
fn a_thing_is_asked_for_by_whatever_names_it() {
    let snapshot = snapshot(&[("elm", OFFICE)]);
    let analysis = analysis(&snapshot, "elm");
    let wire = OFFICE.find("contact wet ->").unwrap() as u32;
    let named = thing_at(&analysis, wire + 8).unwrap();
    assert_eq!(analysis.office.name(named), "d1", "a contact of the dryer");
    assert_eq!(thing_at(&analysis, wire), None, "a port's word");
    assert_eq!(thing_at(&analysis, 0), None, "a kind");
}

#[test]
fn what_is_drawn_as_a_line_is_a_cable_a_pipe_or_a_branch() {
    let office = "office elm { title \"Elm\" }
cable c1 { pairs 25, section s1 { buried 2 km }, branch mill { from 1 km, section b1 { buried 1 km } }, place weir { at 1 km } }
pressure-sensor p1 { at c1 branch mill 1 km }
pressure-sensor p2 { at c1 place weir }
air-pipe ap1 { length 1 km }
";
    let snapshot = snapshot(&[("elm", office)]);
    let analysis = analysis(&snapshot, "elm");
    let line_after = |before: &str| {
        let at = office.find(before).unwrap() + before.len();
        line_at(&analysis, at as u32).map(|(thing, branch)| (analysis.office.name(thing), branch))
    };
    assert_eq!(line_after("cable "), Some(("c1", None)));
    assert_eq!(line_after("sensor p1 { at "), Some(("c1", None)));
    assert_eq!(line_after("air-pipe "), Some(("ap1", None)));
    assert_eq!(line_after(", branch "), Some(("c1", Some("mill"))));
    assert_eq!(line_after("c1 branch "), Some(("c1", Some("mill"))));
    for other in [
        "section ",
        "from 1 km, section ",
        ", place ",
        "c1 place ",
        "pressure-sensor ",
    ] {
        assert_eq!(line_after(other), None, "{other}");
    }
}

#[test]
fn up_and_down_are_one_relation() {
    let files = county();
    let snapshot = snapshot_unlinted(&files);
    for (name, _) in &files {
        let analysis = analysis(&snapshot, name);
        for (id, _) in analysis.office.things() {
            for neighbour in downstream(&analysis, id) {
                let back = upstream(&analysis, neighbour.thing);
                let same = |other: &&Neighbour| other.thing == id && other.medium == neighbour.medium;
                assert_eq!(
                    back.iter().find(same).map(|back| &back.ranges),
                    Some(&neighbour.ranges),
                    "{name}"
                );
            }
        }
    }
}

#[test]
fn damaged_texts_are_no_trouble() {
    on_damaged_texts(|_, analysis, offset| {
        if let Some(thing) = thing_at(analysis, offset) {
            let all = upstream(analysis, thing).into_iter().chain(downstream(analysis, thing));
            for neighbour in all {
                assert!(!neighbour.ranges.is_empty() && !neighbour.detail.is_empty());
            }
        }
    });
}
