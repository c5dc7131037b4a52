//! Formatted texts, written out.

use drysheath_syntax::{format, formatted, parse};

use super::{EXAMPLE, check};

#[test]
fn an_untidy_office() {
    let out = check(include_str!("untidy.office"));
    assert_eq!(out, include_str!("tidy.office"), "\n{out}");
}

#[test]
fn the_example_office_is_tidy() {
    assert_eq!(check(EXAMPLE), EXAMPLE);
    assert_eq!(format(EXAMPLE, &parse(EXAMPLE)), []);
}

/// An office without its layout gets back the one it had.
#[test]
fn layout_is_a_matter_of_tokens() {
    let tree = parse(EXAMPLE);
    let bare: String = tree
        .tokens
        .iter()
        .map(|token| {
            if token.kind == drysheath_syntax::TokenKind::Space {
                " "
            } else {
                token.range.of(EXAMPLE)
            }
        })
        .collect();
    assert_ne!(bare, EXAMPLE);
    assert_eq!(check(&bare), EXAMPLE);
}

#[test]
fn a_piece_follows_in_the_same_line_or_in_the_next() {
    let text = "power pdf fuse 1 -> m1 with 3 A,10 awg,30 m   then  14 awg,6 m\nground d1 -> ogb\nwith 6 awg, 1 m\nthen 8 awg,4 m\n";
    let tidy = "power pdf fuse 1            -> m1               with 3 A,    10 awg, 30 m then 14 awg, 6 m\n\
                ground d1                   -> ogb\n    with 6 awg,  1 m\n    then 8 awg,  4 m\n";
    assert_eq!(check(text), tidy);
}

#[test]
fn edits_touch_what_differs_only() {
    let text = EXAMPLE.replacen("battery main ", "battery main", 1);
    let edits = format(&text, &parse(&text));
    assert_eq!(edits.len(), 1, "{edits:?}");
    assert_eq!(
        text.get(..edits[0].range.start as usize)
            .unwrap()
            .lines()
            .last()
            .unwrap(),
        "battery main"
    );
}

#[test]
fn files_start_and_end_with_what_they_say() {
    for (text, wanted) in [
        ("", ""),
        (" \n\t\r\n", ""),
        ("\u{feff}", "\u{feff}"),
        ("\u{feff} \n\n a b", "\u{feff}a b\n"),
        ("\n \n  # c ", "# c\n"),
        ("a b\n\n \n", "a b\n"),
        ("a b", "a b\n"),
        ("€  ", "€  \n"),
        ("\n\n €  \n\n", " €  \n"),
    ] {
        assert_eq!(check(text), wanted, "{text:?}");
    }
}

#[test]
fn line_ends_stay() {
    assert_eq!(
        check("a b # c \r\n \r\nair a->b \n# d\r\nspare\ttb  \r\n\r\n"),
        "a b                                     # c\r\n\r\nair a                       -> b\n# d\r\nspare tb\r\n"
    );
    assert_eq!(check("a b\r\nc d"), "a b\r\nc d\r\n");
    assert_eq!(check("a b\r\n€ \r"), "a b\r\n€ \r");
}

#[test]
fn carriage_returns_alone_stay_where_they_are() {
    let text = "block tb {\r  pairs 5\r}\r";
    assert_eq!(check(text), text);
    let text = "# whose\rblock tb { pairs 5 }\n";
    assert_eq!(check(text), text);
}

#[test]
fn width_counts_characters() {
    let column = |text: &str| formatted(text).chars().position(|char| char == '{').unwrap();
    assert_eq!(
        column("ground-bar süd { principal yes }"),
        column("ground-bar sud { principal yes }")
    );
}

#[test]
fn damage_is_left_alone_and_its_neighbours_are_not() {
    assert_eq!(
        check("  a b{x 1}\n  block tb {\n  pairs   5 \n  # whose\n\nblock tc{pairs 5}\n"),
        "  a b{x 1}\n  block tb {\n  pairs   5 \n  # whose\n\nblock tc                    { pairs 5 }\n"
    );
    assert_eq!(
        check("block ta{pairs  1\n  # whose\nblock tb{pairs  2}\n"),
        "block ta{pairs  1\n  # whose\nblock tb                    { pairs 2 }\n"
    );
}

#[test]
fn too_much_to_read_is_left_alone() {
    let text = " \n".repeat(drysheath_syntax::LARGEST_TEXT / 2 + 1);
    assert_eq!(format(&text, &parse(&text)), []);
}
