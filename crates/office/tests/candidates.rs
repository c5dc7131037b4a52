//! What an editor may offer for a value that is being written.
#![allow(missing_docs, clippy::indexing_slicing, clippy::panic, clippy::unwrap_used)]

use drysheath_office::kinds::KINDS;
use drysheath_office::{Candidate, CountsFrom, NoParts, lower};
use drysheath_syntax::{StatementKind, parse};
use drysheath_text::FileId;

/// Where the figure of a field counts from, after its number has been written.
fn counts_from(kind: &str, field: &str) -> CountsFrom {
    let text = format!("{kind} x {{ {field} 5 }}\n");
    let tree = parse(&text);
    let office = lower(FileId(0), "elm", text.as_str().into(), &tree, &NoParts);
    let StatementKind::Thing(thing) = &tree.statements[0].kind else {
        panic!("{text}")
    };
    let items = thing.block.as_ref().unwrap().fields[0].items;
    let kind = KINDS.iter().find(|other| other.word() == kind).unwrap();
    let (candidates, is_whole) = office.candidates_in_value(kind.field(field).unwrap(), tree.items(items));
    assert!(!is_whole);
    let mut units = candidates.into_iter().filter_map(|candidate| match candidate {
        Candidate::Unit { from, .. } => Some(from),
        _ => None,
    });
    units.next().unwrap()
}

#[test]
fn a_unit_counts_from_where_its_field_does() {
    assert_eq!(counts_from("regulator", "set"), CountsFrom::Either);
    assert_eq!(counts_from("regulator", "differential"), CountsFrom::Nothing);
    assert_eq!(counts_from("dryer", "rating-pressure"), CountsFrom::Vacuum);
}
