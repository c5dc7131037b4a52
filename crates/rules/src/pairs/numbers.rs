use drysheath_office::kinds::{Key, Numbering, Port};
use drysheath_office::{Link, Office, Side, ThingId};
use drysheath_syntax::Medium;
use drysheath_text::TextRange;

use super::line::{lines, place_of};
use crate::lint::Inspection;

/// Numbers of a thing's port, and the statement that speaks of them.
#[derive(Clone, Copy)]
pub(super) struct Numbers {
    pub thing: ThingId,
    pub port: &'static Port,
    pub from: u32,
    pub to: u32,
    pub range: TextRange,
}

type SortKey = (ThingId, usize, u32);

impl Numbers {
    fn key(&self) -> SortKey {
        key(self.thing, self.port, self.from)
    }
}

/// The numbers that runs use, each by itself, in order. A pair that is joined but carries nothing from a device and
/// nothing to an input is not used: it is terminated, and free.
pub(super) fn used(inspection: &Inspection<'_>) -> Vec<Numbers> {
    let networks = inspection.networks;
    let mut used = Vec::new();
    for line in lines(inspection).filter(|line| line.signals + line.inputs > 0) {
        for id in line.any().into_iter().flat_map(|any| networks.wire.joined_with(any)) {
            let Some(terminal) = networks.wire.terminal(id) else {
                continue;
            };
            if is_counted(terminal.port) {
                used.push(Numbers {
                    thing: terminal.thing,
                    port: terminal.port,
                    from: terminal.number,
                    to: terminal.number,
                    range: place_of(&networks.wire, id),
                });
            }
        }
    }
    let sides = |link: &Link| [link.from, link.to];
    for side in networks.air.iter().chain(networks.power.iter()).flat_map(sides) {
        let Side {
            thing,
            port,
            number,
            range,
        } = side;
        if is_counted(port) {
            used.push(Numbers {
                thing,
                port,
                from: number,
                to: number,
                range,
            });
        }
    }
    used.sort_unstable_by_key(Numbers::key);
    used
}

/// The numbers that are said to be spare, in order.
pub(super) fn spare(office: &Office) -> Vec<Numbers> {
    let said = office.spares.iter().filter_map(|spare| {
        Some(Numbers {
            thing: spare.end.thing?,
            port: spare.end.port?,
            from: spare.end.numbers.0,
            to: spare.end.numbers.1,
            range: spare.end.detail,
        })
    });
    let mut spare: Vec<_> = said.collect();
    spare.sort_unstable_by_key(Numbers::key);
    spare
}

/// Those among `numbers`, which are in order, that speak of one port.
pub(super) fn of<'n>(numbers: &'n [Numbers], thing: ThingId, port: &'static Port) -> &'n [Numbers] {
    let start = numbers.partition_point(|own| own.key() < key(thing, port, 0));
    let rest = numbers.get(start..).unwrap_or_default();
    let end = rest.partition_point(|own| own.key() <= key(thing, port, u32::MAX));
    rest.get(..end).unwrap_or_default()
}

/// Those among `used`, which are in order, that lie within `spare`.
pub(super) fn within<'n>(used: &'n [Numbers], spare: &Numbers) -> &'n [Numbers] {
    let start = used.partition_point(|own| own.key() < key(spare.thing, spare.port, spare.from));
    let rest = used.get(start..).unwrap_or_default();
    let end = rest.partition_point(|own| own.key() <= key(spare.thing, spare.port, spare.to));
    rest.get(..end).unwrap_or_default()
}

/// ``pair 5``, ``pairs 5 to 12``.
pub(super) fn spoken(word: &str, from: u64, to: u64) -> String {
    if from == to {
        format!("{word} {from}")
    } else {
        format!("{word}s {from} to {to}")
    }
}

/// What a thing has of a port, in words: ``has 25 pairs``, ``has no contact inputs``.
pub(super) fn has(port: &Port, extent: (u32, u32)) -> String {
    let noun = noun(port);
    match extent {
        (_, 0) => format!("has no {noun}s"),
        (1, 1) => format!("has one {noun}"),
        (1, last) => format!("has {last} {noun}s"),
        (first, last) => format!("has {noun}s {first} to {last}"),
    }
}

/// What one of a port's numbers is called.
pub(super) fn noun(port: &Port) -> &'static str {
    match (port.medium, port.numbering, port.word) {
        (Medium::Wire, Numbering::Count(Key::Sensors), _) => "sensor input",
        (Medium::Wire, Numbering::Count(Key::Contacts), _) => "contact input",
        (Medium::Power, ..) => "fuse position",
        (_, _, word) => word,
    }
}

fn is_counted(port: &Port) -> bool {
    matches!(port.numbering, Numbering::Count(_) | Numbering::Range(_))
}

/// Ports are entries of one static table, so that their address orders them as well as anything.
fn key(thing: ThingId, port: &'static Port, number: u32) -> SortKey {
    (thing, std::ptr::from_ref(port).addr(), number)
}
