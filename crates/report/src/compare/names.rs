//! Names of run ends.

use drysheath_office::kinds::{Bare, Numbering, Port};
use drysheath_office::{Fields, Office, Terminal, ThingId, printed};

/// Name of a port of a thing in a run.
pub(super) fn end(office: &Office, thing: ThingId, port: &Port, number: u32) -> String {
    let name = office.name(thing);
    match port.numbering {
        Numbering::None if port.bare != Bare::Never => name.to_owned(),
        Numbering::None | Numbering::Connectors => format!("{name} {}", port.word),
        Numbering::Count(_) | Numbering::Range(_) => format!("{name} {} {}", port.word, printed(number)),
        Numbering::Named(key) => {
            let named = (number as usize).checked_sub(1);
            let found = named.and_then(|at| office.thing(thing).named(key).nth(at));
            format!("{name} {} {}", port.word, found.map_or("", |(named, ..)| named))
        }
    }
}

/// Name of a terminal in a run.
pub(super) fn terminal(office: &Office, terminal: &Terminal) -> String {
    end(office, terminal.thing, terminal.port, terminal.number)
}

/// Consecutive terminals as ranges: `tb pair 5 .. 25`.
pub(super) fn ranges(office: &Office, terminals: &[Terminal]) -> String {
    let follows = |one: &Terminal, other: &Terminal| {
        one.thing == other.thing
            && one.port.word == other.port.word
            && one.port.is_counted()
            && one.number + 1 == other.number
    };
    let told: Vec<String> = terminals
        .chunk_by(follows)
        .filter_map(|run| {
            let (first, last) = (run.first()?, run.last()?);
            let name = terminal(office, first);
            Some(if run.len() > 1 {
                format!("{name} .. {}", printed(last.number))
            } else {
                name
            })
        })
        .collect();
    told.join(", ")
}
