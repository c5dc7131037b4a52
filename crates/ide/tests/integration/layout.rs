//! Formatting of a file, of a range, and while typing.

use std::sync::Arc;

use drysheath_fixture::{caret, carets, on_damaged_texts, open};
use drysheath_ide::{lay_out, lay_out_range, lay_out_typed};
use drysheath_syntax::formatted;
use drysheath_text::{Edit, TextRange, apply};
use drysheath_workspace::Analysis;

fn after(text: &str, edits: &[Edit]) -> String {
    apply(text, edits).unwrap()
}

fn read(text: &str) -> Arc<Analysis> {
    open("elm", text, &[]).1
}

/// A text with its caret after something was typed and laid out. Carets move with the text before them.
fn typed(text: &str, character: &str) -> String {
    let (text, at) = caret(text);
    after(&text, &lay_out_typed(&read(&text), at, character))
}

#[test]
fn only_what_is_wrong_is_edited() {
    let text = "block tb { pairs 2 }\nblock  tc                    { pairs 2 }\n";
    let analysis = read(text);
    let edits = lay_out(&analysis);
    assert_eq!(after(text, &edits), formatted(text));
    assert!(
        edits.iter().all(|edit| edit.range.of(text).trim().is_empty()),
        "{edits:?}"
    );
    assert_eq!(lay_out(&read(&formatted(text))), []);
}

#[test]
fn a_range_takes_whole_statements() {
    let (text, at) =
        carets("block ta { pairs 2 }\ncable c1 {\n  pairs 5\n gau$0ge 24$0 awg\n}\nblock tb { pairs 2 }\n");
    let edits = lay_out_range(&read(&text), TextRange::new(at[0], at[1]));
    assert_eq!(
        after(&text, &edits),
        "block ta { pairs 2 }\ncable c1 {\n    pairs           5\n    gauge           24 awg\n}\nblock tb { pairs 2 }\n"
    );
}

#[test]
fn a_range_ends_before_the_line_that_it_has_nothing_of() {
    let (text, at) = carets("$0block ta { pairs 2 }\n\n$0block tb { pairs 2 }\n");
    let edits = lay_out_range(&read(&text), TextRange::new(at[0], at[1] - 1));
    assert_eq!(
        after(&text, &edits),
        "block ta                    { pairs 2 }\n\nblock tb { pairs 2 }\n"
    );
}

#[test]
fn a_range_over_everything_is_the_whole_file() {
    let text = "\n\nblock ta { pairs 2 }\n\n\nair  a -> b   with 1 m\n\n\n";
    let edits = lay_out_range(&read(text), TextRange::new(0, text.len() as u32));
    assert_eq!(after(text, &edits), formatted(text));
}

#[test]
fn a_closing_brace_lays_out_its_statement() {
    assert_eq!(
        typed(
            "block  ta { pairs 2 }\ncable c1 {\n  pairs 5\n}$0\nblock  tb { pairs 2 }\n",
            "}"
        ),
        "block  ta { pairs 2 }\ncable c1 {\n    pairs           5\n}\nblock  tb { pairs 2 }\n"
    );
}

#[test]
fn a_brace_inside_leaves_the_line_that_is_still_written() {
    for text in [
        "dryer d1 {\ncontact x { healthy open }$0\n}\n",
        "dryer d1 {\n  contact x { healthy open }$0\n",
        "block  ta { pairs 2 } # }$0\n",
        "}$0\n",
    ] {
        let (bare, _) = caret(text);
        assert_eq!(typed(text, "}"), bare);
    }
}

#[test]
fn a_line_end_lays_out_what_it_ended() {
    assert_eq!(
        typed("block  ta { pairs 2 }\nair  a -> b\n$0\nblock  tb { pairs 2 }\n", "\n"),
        "block  ta { pairs 2 }\nair a                       -> b\n\nblock  tb { pairs 2 }\n"
    );
}

#[test]
fn a_line_end_leaves_the_line_of_the_caret() {
    assert_eq!(
        typed("dryer  d1   {\n      $0\n}\n", "\n"),
        "dryer d1 {\n      \n}\n",
        "indentation that an editor put there"
    );
    assert_eq!(
        typed("air  a -> b\n   $0-> c   with  2 m\n", "\n"),
        "air a                       -> b\n   -> c   with  2 m\n",
        "the second half of a line that was cut"
    );
    assert_eq!(
        typed("air  a -> b\n\n\n$0", "\n"),
        "air  a -> b\n\n\n",
        "room at the end"
    );
    assert_eq!(
        typed("\n$0block  ta { pairs 2 }\n", "\n"),
        "\nblock  ta { pairs 2 }\n",
        "room at the top"
    );
    assert_eq!(typed("$0block  ta { pairs 2 }\n", "\n"), "block  ta { pairs 2 }\n");
}

#[test]
fn what_cannot_be_read_stays() {
    let text = "air  a -> -> b\nblock  ta { pairs 2 }\n";
    let analysis = read(text);
    assert_eq!(
        after(text, &lay_out(&analysis)),
        "air  a -> -> b\nblock ta                    { pairs 2 }\n"
    );
    assert_eq!(typed("air  a -> -> b\n$0", "\n"), "air  a -> -> b\n");
}

#[test]
fn damaged_texts_keep_their_words() {
    let words = |text: &str| text.split_whitespace().map(str::to_owned).collect::<Vec<_>>();
    on_damaged_texts(|_, analysis, offset| {
        let text = &analysis.text;
        let range = TextRange::new(
            offset.saturating_sub(100).min(text.len() as u32),
            offset.min(text.len() as u32),
        );
        for edits in [
            lay_out(analysis),
            lay_out_range(analysis, range),
            lay_out_typed(analysis, offset, "}"),
            lay_out_typed(analysis, offset, "\n"),
        ] {
            assert_eq!(words(&after(text, &edits)), words(text));
        }
    });
}

#[test]
fn states_are_laid_out_on_one_line() {
    let text = "when  d1   stops expect c101 above minimum  for 6 h\n\
                when c101 leaks 10 scfh at 2.1km,r1 has set 9.5 psi expect all above minimum ,no alarm\n";
    let analysis = read(text);
    let tidy = after(text, &lay_out(&analysis));
    assert_eq!(
        tidy,
        "when d1 stops expect c101 above minimum for 6 h\n\
         when c101 leaks 10 scfh at 2.1 km,      r1 has set 9.5 psi expect all above minimum,    no alarm\n"
    );
    assert_eq!(lay_out(&read(&tidy)), []);
}
