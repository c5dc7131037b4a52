//! Pairs and inputs that wires join into one, and what of a thing's numbers is in use.
#![allow(missing_docs, clippy::unwrap_used)]

use drysheath_office::kinds::Port;
use drysheath_office::{Allocation, Networks, NoParts, NumberRange, Office, TerminalId, lower};
use drysheath_syntax::parse;
use drysheath_text::FileId;

const OFFICE: &str = "office elm { stage planned }
contact k1 { healthy closed }
block tb { pairs 10 }
cable c1 { pairs 10, gauge 24 awg }
monitor m1 { sensors 1, contacts 4 }
wire k1 -> tb pair 1 -> m1 contact 2
wire c1 pair 3 .. 4 -> tb pair 5 .. 6
spare tb pair 9
";

fn office() -> (Office, Networks) {
    let office = lower(FileId(0), "elm", OFFICE.into(), &parse(OFFICE), &NoParts);
    assert!(office.problems.is_empty(), "{:?}", office.problems);
    let networks = Networks::new(&office);
    (office, networks)
}

/// A group of terminals, as a run would name them.
fn named(office: &Office, networks: &Networks, group: impl Iterator<Item = TerminalId>) -> String {
    let terminals = group.map(|id| {
        let terminal = networks.wire.terminal(id);
        format!(
            "{} {} {}",
            office.name(terminal.thing),
            terminal.port.word,
            terminal.number
        )
    });
    terminals.collect::<Vec<_>>().join(", ")
}

#[test]
fn what_is_joined_is_one_group() {
    let (office, networks) = office();
    let groups = networks.wire.groups().map(|group| named(&office, &networks, group));
    assert_eq!(
        groups.collect::<Vec<_>>(),
        [
            "k1 contact 0, tb pair 1, m1 contact 2",
            "c1 pair 3, tb pair 5",
            "c1 pair 4, tb pair 6",
        ]
    );
    for (id, _) in networks.wire.terminals() {
        let mut groups = networks.wire.groups();
        let own = groups.find(|group| group.clone().any(|other| other == id)).unwrap();
        assert_eq!(
            named(&office, &networks, networks.wire.joined_with(id)),
            named(&office, &networks, own)
        );
    }
}

#[test]
fn a_pair_that_leads_to_an_input_is_in_use_and_one_that_leads_nowhere_is_terminated() {
    let (office, networks) = office();
    let find = |name: &str| office.things().find(|(id, _)| office.name(*id) == name).unwrap();
    let (block, thing) = find("tb");
    let port: &'static Port = thing
        .kind
        .unwrap()
        .ports
        .iter()
        .find(|port| port.word == "pair")
        .unwrap();
    let allocation = Allocation::new(&office, &networks);
    let free = allocation.free(&office, block, port, 1);
    let free = free.map(|free| format!("{} {:?}", free.from, free.state));
    let free = free.collect::<Vec<_>>().join(", ");
    assert_eq!(
        free,
        "2 Unstated, 3 Unstated, 4 Unstated, 7 Unstated, 8 Unstated, 9 Spare, 10 Unstated, 5 Terminated, 6 Terminated"
    );
}

/// The numbers that are spare on a port.
fn spare(text: &str, name: &str, word: &str) -> Vec<(u32, u32)> {
    let office = lower(FileId(0), "elm", text.into(), &parse(text), &NoParts);
    let allocation = Allocation::new(&office, &Networks::new(&office));
    let thing = office.named(name).unwrap();
    let mut ports = office.thing(thing).kind.unwrap().ports.iter();
    let port = ports.find(|port| port.word == word).unwrap();
    assert!(allocation.unstated(&office, thing, port).is_empty());
    allocation.spare(thing, port).iter().map(NumberRange::numbers).collect()
}

#[test]
fn the_rest_is_what_no_line_gives_away() {
    let rest = OFFICE.to_owned() + "spare tb pair rest\nspare m1 contact rest\nspare m1 sensor rest\n";
    // The range beside it stays one of its own, and pairs that are only joined are spare as well.
    assert_eq!(spare(&rest, "tb", "pair"), [(2, 8), (9, 9), (10, 10)]);
    assert_eq!(spare(&rest, "m1", "contact"), [(1, 1), (3, 4)]);
    let more = rest.replace("wire k1 -> tb pair 1", "wire k1 -> tb pair 7");
    assert_eq!(spare(&more, "tb", "pair"), [(1, 6), (8, 8), (9, 9), (10, 10)]);
    // A second one adds nothing.
    let twice = rest.clone() + "spare tb pair rest\n";
    assert_eq!(spare(&twice, "tb", "pair"), spare(&rest, "tb", "pair"));
}

#[test]
fn what_others_have_is_not_free() {
    let text = OFFICE.to_owned()
        + "assigned c1 pair 3 to \"subscribers\"\ndefective tb pair 8 because \"bent\"\nspare tb pair rest\n";
    // Pair 5 of the block is joined with the cable's pair 3.
    assert_eq!(spare(&text, "tb", "pair"), [(2, 4), (6, 7), (9, 9), (10, 10)]);
    let office = lower(FileId(0), "elm", text.as_str().into(), &parse(&text), &NoParts);
    let allocation = Allocation::new(&office, &Networks::new(&office));
    let cable = office.named("c1").unwrap();
    let port = &office
        .thing(cable)
        .kind
        .unwrap()
        .ports
        .iter()
        .find(|port| port.word == "pair")
        .unwrap();
    assert_eq!(allocation.unstated(&office, cable, port), [(1, 2), (4, 10)]);
    let free: Vec<u32> = allocation.free(&office, cable, port, 1).map(|free| free.from).collect();
    assert_eq!(free, [1, 2, 5, 6, 7, 8, 9, 10, 4]);
    assert_eq!(allocation.count(&office, cable, port).map(|count| count.free), Some(9));
}

#[test]
fn what_a_monitor_comes_wired_with_waits_for_its_devices() {
    let text = OFFICE.to_owned()
        + "monitor m9 { sensors 4, contacts 1, outputs 1 }
block j9 { pairs 25, connector plug }
block t9 { pairs 25, connector socket }
wire j9 pair 1 .. 4 -> m9 sensor 1 .. 4
wire m9 output 1 -> j9 pair 25
wire t9 -> j9
wire k1 -> t9 pair 3
spare t9 pair rest
spare j9 pair rest
spare m9 sensor rest
spare m9 output rest
";
    assert_eq!(spare(&text, "t9", "pair"), [(1, 2), (4, 25)]);
    assert_eq!(spare(&text, "j9", "pair"), [(1, 2), (4, 25)]);
    assert_eq!(spare(&text, "m9", "sensor"), [(1, 2), (4, 4)]);
    assert_eq!(spare(&text, "m9", "output"), [(1, 1)]);
    // A block without a connector is wired by whoever counts on the input.
    let plain = text.replace(", connector plug", "").replace("wire t9 -> j9\n", "");
    let plain = plain
        .replace("spare m9 sensor rest\n", "")
        .replace("spare m9 output rest\n", "");
    assert_eq!(spare(&plain, "j9", "pair"), [(5, 24)]);
}

#[test]
fn air_reaches_what_no_closed_valve_shuts_off() {
    let text = "office elm { stage planned }
dryer d1 { compressor piston }
valve v1 { function shut-off, stands closed }
manifold mf { ports 2 }
manifold beyond { ports 2 }
air d1 -> mf
air mf port 1 -> v1 -> beyond
";
    let office = lower(FileId(0), "elm", text.into(), &parse(text), &NoParts);
    let networks = Networks::new(&office);
    let reached = |name: &str| networks.is_reached(office.named(name).unwrap());
    assert_eq!(
        ["d1", "mf", "v1", "beyond"].map(reached),
        [true, true, true, false],
        "{:?}",
        office.problems
    );
    // Of the closed valve only the inlet has air.
    let links = networks.air.iter().map(|link| {
        let has_air = |side| networks.is_reached_at(side);
        (has_air(&link.from), has_air(&link.to))
    });
    assert_eq!(links.collect::<Vec<_>>(), [(true, true), (true, true), (false, false)]);
}
