use drysheath_office::kinds::Port;
use drysheath_office::{Rows, printed};

use crate::listed::listed;

/// Formats numbers of ports: ``pair 5``, ``pairs 5 to 12``.
pub(crate) fn numbered(word: &str, from: u32, to: u32) -> String {
    if from == to {
        format!("{word} {}", printed(from))
    } else {
        format!("{word}s {} to {}", printed(from), printed(to))
    }
}

/// The ports that a thing has, as a phrase: ``has 25 pairs``, ``has no contact inputs``, ``has fuse positions A1 to A5
/// and B1 to B5``.
pub(crate) fn has(port: &Port, rows: Rows<'_>) -> String {
    let noun = port.noun();
    let all: Vec<_> = rows.iter().collect();
    match all.as_slice() {
        [] => format!("has no {noun}s"),
        [(1, 1)] => format!("has one {noun}"),
        [(1, last)] => format!("has {last} {noun}s"),
        rows => {
            let rows: Vec<String> = rows
                .iter()
                .map(|(from, to)| {
                    if from == to {
                        printed(*from).to_string()
                    } else {
                        format!("{} to {}", printed(*from), printed(*to))
                    }
                })
                .collect();
            format!("has {noun}s {}", listed(&rows))
        }
    }
}
