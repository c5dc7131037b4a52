//! A text that is read after an edit is read as if there had been none.

use drysheath_fixture::{Case, check};
use drysheath_syntax::{parse, reparse};

use crate::bench::Bench;

#[test]
fn an_edited_text_is_read_as_it_would_be_alone() {
    let bench = Bench::new();
    check!(4000).with_type::<Case>().for_each(|case| {
        let (_, text) = bench.corpus.original(case.0);
        let (_, edited) = bench.corpus.draw(case);
        for (old, new) in [(text, &*edited), (&*edited, text)] {
            let tree = reparse(&parse(old), old, new);
            assert_eq!(format!("{tree:?}"), format!("{:?}", parse(new)), "{old}\nto\n{new}");
        }
    });
}
