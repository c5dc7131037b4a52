//! Numbers with letters before them, and the ports that have them.
#![allow(missing_docs, clippy::unwrap_used, clippy::panic, clippy::indexing_slicing)]

use drysheath_office::{Allocation, Networks, NoParts, Office, lower, numbers_written};
use drysheath_syntax::parse;
use drysheath_text::FileId;

fn office(text: &str) -> Office {
    lower(FileId(0), "office", text.into(), &parse(text), &NoParts)
}

/// What is said of a text: the kind of problem, its place and its message, and what its fix writes.
fn said(office: &Office) -> Vec<String> {
    let problems = office.problems.iter();
    problems
        .map(|problem| {
            let fix = problem
                .fix
                .as_ref()
                .map(|fix| format!(" => {:?}", fix.edits[0].replacement));
            format!(
                "{:?} | {} | {}{}",
                problem.id,
                problem.range.of(&office.text),
                problem.message,
                fix.unwrap_or_default()
            )
        })
        .collect()
}

fn says(text: &str, expected: &[&str]) {
    assert_eq!(said(&office(text)), expected, "{text}");
}

#[test]
fn numbers_with_letters() {
    let panel = "fuse-panel pdf { positions A1 .. A5, positions B1 .. B5, positions 11 .. 12 }\n";
    let office = office(&format!(
        "{panel}spare pdf fuse a2 .. A4\nspare pdf fuse B3\nspare pdf fuse 11"
    ));
    assert_eq!(said(&office), [""; 0]);
    let id = office.named("pdf").unwrap();
    let spares = office.spares.iter().map(|spare| spare.end);
    let written: Vec<_> = spares
        .clone()
        .map(|end| numbers_written(end.numbers.0, end.numbers.1))
        .collect();
    assert_eq!(written, ["A2 .. A4", "B3", "11"]);
    let port = office.spares[0].end.port.unwrap();
    let rows = office.rows(id, port).unwrap();
    assert_eq!(rows.count(), 12);
    assert!(spares.clone().all(|end| rows.has(end.numbers.0)));
    let allocation = Allocation::new(&office, &Networks::new(&office));
    let gaps: Vec<_> = allocation
        .unstated(&office, id, port)
        .into_iter()
        .map(|(from, to)| numbers_written(from, to))
        .collect();
    assert_eq!(gaps, ["12", "A1", "A5", "B1 .. B2", "B4 .. B5"]);
    let free: Vec<_> = allocation
        .free(&office, id, port, 3)
        .map(|free| numbers_written(free.from, free.to))
        .collect();
    assert_eq!(
        free,
        ["A1 .. A3", "A2 .. A4", "A3 .. A5", "B1 .. B3", "B2 .. B4", "B3 .. B5"]
    );

    says(
        "block tb { pairs A1 .. A25 }\nmonitor m1 { sensors S1 .. S8, contacts 4 }\nspare tb pair A1 .. A25",
        &[],
    );
    says(
        "fuse-panel pdf { positions A1 .. 5 }",
        &[
            "ValueUnreadable | A1 .. 5 | `A1 .. 5` leads from one row into another: both its ends need the same letters => \"A1 .. A5\"",
        ],
    );
    says(
        "fuse-panel pdf { positions 1 .. B5 }",
        &[
            "ValueUnreadable | 1 .. B5 | `1 .. B5` leads from one row into another: both its ends need the same letters => \"B1 .. B5\"",
        ],
    );
    says(
        "fuse-panel pdf { positions A1 .. B5 }",
        &[
            "ValueUnreadable | A1 .. B5 | `A1 .. B5` leads from one row into another: both its ends need the same letters",
        ],
    );
    says(
        "fuse-panel pdf { positions A5 .. A1 }",
        &["ValueUnreadable | A5 .. A1 | the range is the wrong way round: A5 is more than A1 => \"A1 .. A5\""],
    );
    says(
        "fuse-panel pdf { positions A1 A5 }",
        &["ValueUnreadable | A5 | `..` is missing before `A5` => \" ..\""],
    );
    says(
        "fuse-panel pdf { positions A1-A5 }",
        &["ValueUnreadable | A1-A5 | `A1-A5` does not make a range => \"A1 .. A5\""],
    );
    says(
        "fuse-panel pdf { positions A1 .. A5, positions A3 .. A9 }",
        &["FieldTwice | positions A3 .. A9 | A3 .. A5 are in two ranges of `positions`"],
    );
    for (written, range) in [("A-3", "A-3"), ("A 3", "A 3")] {
        says(
            &format!("fuse-panel pdf {{ positions {written} .. A9 }}"),
            &[&format!(
                "ValueUnreadable | {range} | the letters of `{range}` are written together with its number => \"A3\""
            )],
        );
    }
    says(
        "fuse-panel pdf { positions ABCD1 .. ABCD5 }",
        &[
            "ValueUnreadable | ABCD1 | `positions` expects a range such as `1 .. 10` or `A1 .. A10`, up to 2000, found `ABCD1`",
        ],
    );
    // What a thing says of its rows takes the place of all that its part says of them.
    let office = self::office(
        "part fuse-panel p { positions A1 .. A5, positions B1 .. B5 }\nfuse-panel pdf : p { positions C1 .. C2 }",
    );
    let pdf = office.named("pdf").unwrap();
    let port = office
        .thing(pdf)
        .kind
        .unwrap()
        .ports
        .iter()
        .find(|port| port.word == "fuse")
        .unwrap();
    assert_eq!(office.rows(pdf, port).unwrap().count(), 2);
}
