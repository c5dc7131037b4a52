//! What an editor changes: each edit can be made.

use drysheath_fixture::{Case, check};
use drysheath_ide as ide;
use drysheath_syntax::formatted;
use drysheath_text::{Edit, TextRange, apply};

use crate::bench::Bench;

fn made(text: &str, edits: &[Edit]) -> String {
    apply(text, edits).unwrap_or_else(|| panic!("{edits:?} cannot be made in {text:?}"))
}

#[test]
fn any_edit_that_is_offered_can_be_made() {
    let bench = Bench::linted();
    check!(900)
        .with_type::<(Case, [u16; 2], u16)>()
        .for_each(|(case, positions, word)| {
            let drawn = bench.draw(case);
            let (snapshot, analysis, text) = (&drawn.snapshot, &drawn.analysis, &*drawn.text);
            for position in positions {
                let at = drawn.offset(*position);
                let range = TextRange::new(at, at + u32::from(*position) % 64);
                for action in ide::actions(snapshot, analysis, range) {
                    made(text, &action.edits);
                }
                if let Some(range) = ide::prepare_rename(analysis, at) {
                    let to = match word % 3 {
                        0 => bench.corpus.word(text, *word).to_owned(),
                        1 => format!("n{word}"),
                        _ => range.of(text).to_owned() + "-2",
                    };
                    for (file, edits) in ide::rename(snapshot, analysis, at, &to).unwrap_or_default() {
                        made(&drawn.file(file).1, &edits);
                    }
                }
                made(text, &ide::lay_out_range(analysis, range));
                for typed in ["\n", "}"] {
                    made(text, &ide::lay_out_typed(analysis, at, typed));
                }
                for hint in ide::hints(analysis, range) {
                    made(text, hint.edit.as_slice());
                }
            }
            for action in ide::fixes_of_file(snapshot, analysis) {
                made(text, &action.edits);
            }
            assert_eq!(made(text, &ide::lay_out(analysis)), formatted(text));
        });
}
