//! What an editor shows at any position of any text.

use drysheath_fixture::{Case, check};
use drysheath_ide as ide;
use drysheath_ide::OutlineItem;
use drysheath_text::TextRange;

use crate::bench::Bench;
use crate::holds::{is_range_of, says_no_infinity};

fn outline_holds(text: &str, items: &[OutlineItem], around: TextRange) {
    for item in items {
        is_range_of(text, item.range);
        assert!(
            around.contains(item.range) && item.range.contains(item.selection),
            "{item:?}"
        );
        outline_holds(text, &item.children, item.range);
    }
}

#[test]
fn an_editor_is_answered_at_any_position() {
    let bench = Bench::linted();
    check!(2500)
        .with_type::<(Case, [u16; 4])>()
        .for_each(|(case, positions)| {
            let drawn = bench.draw(case);
            let (snapshot, analysis, text) = (&drawn.snapshot, &drawn.analysis, &*drawn.text);
            for position in positions {
                let at = drawn.offset(*position);
                if let Some(hover) = ide::hover(analysis, at) {
                    is_range_of(text, hover.range);
                    says_no_infinity(text, &hover.text.plain());
                    let _ = hover.text.markdown();
                }
                for item in ide::completions(snapshot, analysis, at) {
                    is_range_of(text, item.replace);
                    assert!(!item.label.is_empty(), "{item:?} at {at} of {text}");
                }
                for found in [
                    ide::definition(snapshot, analysis, at),
                    ide::type_definition(snapshot, analysis, at),
                ] {
                    for place in found.into_iter().flat_map(|(_, places)| places) {
                        let text = drawn.file(place.place.file).1;
                        is_range_of(&text, place.place.range);
                        is_range_of(&text, place.whole);
                    }
                }
                for (range, _) in ide::highlights(analysis, at) {
                    is_range_of(text, range);
                }
                let _ = ide::references(snapshot, analysis, at);
                let ranges = ide::selection(analysis, at);
                assert!(!ranges.is_empty());
                assert!(
                    ranges
                        .windows(2)
                        .all(|pair| pair[1].contains(pair[0]) && pair[0] != pair[1])
                );
                if let Some(thing) = ide::thing_at(analysis, at) {
                    let _ = (ide::upstream(analysis, thing), ide::downstream(analysis, thing));
                }
                let _ = ide::line_at(analysis, at);
            }
        });
}

#[test]
fn an_editor_is_told_of_any_whole_text() {
    let bench = Bench::linted();
    check!(2700)
        .with_type::<(Case, u16, u16)>()
        .for_each(|(case, from, to)| {
            let drawn = bench.draw(case);
            let (snapshot, analysis, text) = (&drawn.snapshot, &drawn.analysis, &*drawn.text);
            let whole = TextRange::new(0, text.len() as u32);
            let range = TextRange::new(drawn.offset(*from.min(to)), drawn.offset(*from.max(to)));
            let mut last = 0;
            for token in ide::tokens(analysis, None) {
                is_range_of(text, token.range);
                assert!(token.range.start >= last && !token.range.of(text).contains('\n'));
                last = token.range.end;
            }
            let _ = ide::tokens(analysis, Some(range));
            let lines = text.matches('\n').count() as u32 + 1;
            for fold in ide::folding(analysis) {
                assert!(fold.first < fold.last && fold.last < lines, "{fold:?} of {lines}");
            }
            outline_holds(text, &ide::outline(analysis), whole);
            for link in ide::links(snapshot, analysis) {
                is_range_of(text, link.range);
            }
            for lens in ide::lenses(snapshot, analysis) {
                is_range_of(text, lens.range);
                says_no_infinity(text, &lens.title);
            }
            for hint in ide::hints(analysis, range) {
                assert!(text.is_char_boundary(hint.at as usize));
                says_no_infinity(text, &hint.label);
            }
            let _ = ide::search(snapshot, bench.corpus.word(text, *from));
        });
}
