//! Whatever lint says nothing to is in the table, with a reason.
#![allow(missing_docs, clippy::unwrap_used)]

use std::path::Path;

use drysheath_xtask::silence::{hunt, without_reason};

/// One edit in so many is tried here; `cargo xtask silence --check` tries all.
const SAMPLE: usize = 13;

#[test]
fn every_sort_of_edit_is_tried_and_what_is_silent_has_a_reason() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("../..");
    let tried = hunt(&root, SAMPLE).unwrap();
    let unexplained = without_reason(&root, &tried).unwrap();
    assert!(
        unexplained.is_empty(),
        "lint says nothing to these; run `cargo xtask silence` and mend them or give a reason in the table: {unexplained:#?}"
    );
    for how in [
        "statement dropped",
        "dropped",
        "x 0",
        "x -1",
        "x 10",
        "x 1/10",
        "x 1000",
        "x 1/1000",
        "+ 1",
        "- 1",
        "unit of similar size",
        "unit of another size",
        "absolute unit",
        "range moved up",
        "range turned round",
        "another word",
        "another thing of its kind",
        "another part",
        "another port",
        "arrow reversed",
        "last end exchanged with the next run's",
        "changed",
        "emptied",
    ] {
        let edits: usize = tried
            .iter()
            .filter(|(class, _)| class.how == how)
            .map(|(_, it)| it.edits)
            .sum();
        assert!(edits > 0, "{how}");
    }
    let loud: usize = tried.values().map(|it| it.edits - it.silent).sum();
    let silent: usize = tried.values().map(|it| it.silent).sum();
    assert!(loud > silent && silent > 0, "{loud} loud, {silent} silent");
}
