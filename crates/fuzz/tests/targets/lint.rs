//! Any text is divided into tokens and linted, and results point into it.

use drysheath_fixture::{Case, check};
use drysheath_syntax::lex;

use crate::bench::Bench;
use crate::holds::{is_printable, is_range_of, says_no_infinity};

#[test]
fn any_text_is_linted() {
    let bench = Bench::new();
    check!(3500).with_type::<Case>().for_each(|case| {
        let drawn = bench.draw(case);
        let mut end = 0;
        for token in lex(&drawn.text) {
            assert_eq!(token.range.start, end);
            is_range_of(&drawn.text, token.range);
            end = token.range.end;
        }
        assert_eq!(end as usize, drawn.text.len());
        for finding in drawn.analysis.findings() {
            for place in finding
                .related
                .iter()
                .map(|related| related.place)
                .chain([finding.place])
            {
                is_range_of(&drawn.file(place.file).1, place.range);
            }
            is_printable(&finding.message);
            says_no_infinity(&drawn.text, &finding.message);
        }
    });
}
