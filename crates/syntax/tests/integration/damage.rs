//! Parsing never fails, and damage does not spread: any text, and a correct one damaged at any place.

use drysheath_syntax::{Problem, Statement, Token, TokenKind, Tree, parse};
use drysheath_text::apply;
use proptest::prelude::*;

/// Every kind of statement there is.
const WHOLE: &str = r#"# Invented.
use parts/field-sensors

part pressure-sensor field { span 0 .. 10 psi, proof 30 psi }
office elm-hollow {
    title "Elm Hollow"
    air-minimum { underground 5 psi, buried 3 psi }
}
battery main { nominal -48 V }
block tb
monitor m1 : bay-twelve { link lan "192.0.2.11" }
cable c101 {
    pairs 100
    branch b1 {
        from 1 km
        section t1 { aerial 0.4 km }
    }
}
power main -> pdf fuse 1 -> m1 with 3 A, 14 awg, 6 m
air d1
    -> r1   # to be moved
    -> f1 with 3/8 in tube
spare tb pair 5 .. 25
assigned c101 pair 1 .. 30 to "subscribers"
defective c101 pair 31 because "open at mh-4"
accept pair-not-said-spare on tb because "spring" until 2027-04-30
"#;

/// What must be true of any tree.
fn is_sound(text: &str, tree: &Tree) {
    let mut at = 0;
    for token in &tree.tokens {
        assert_eq!(token.range.start, at, "tokens leave no gap");
        at = token.range.end;
    }
    assert_eq!(at as usize, text.len());
    let within = |range: drysheath_text::TextRange| text.get(range.start as usize..range.end as usize).is_some();
    let mut last = 0;
    for statement in &tree.statements {
        assert!(
            within(statement.range) && statement.range.start >= last,
            "statements follow one another"
        );
        last = statement.range.end;
        assert!(!tree.items(statement.items).is_empty());
    }
    for problem in &tree.problems {
        assert!(within(problem.range), "{problem:?}");
        assert!(!problem.message.is_empty());
        if let Some(fix) = &problem.fix {
            assert!(apply(text, &fix.edits).is_some(), "{problem:?}");
        }
    }
}

fn meaningful(tree: &Tree) -> Vec<Token> {
    let is_layout = |kind: TokenKind| kind.is_trivia() || kind == TokenKind::Newline;
    tree.tokens
        .iter()
        .copied()
        .filter(|token| !is_layout(token.kind))
        .collect()
}

fn texts<'t>(text: &'t str, statements: &[Statement]) -> Vec<&'t str> {
    statements.iter().map(|statement| statement.range.of(text)).collect()
}

/// Every text that lacks one token of the whole one, with the number of the statement that lacks it.
fn deletions() -> Vec<(usize, String)> {
    let tree = parse(WHOLE);
    let deletion = |token: Token| {
        let number = tree
            .statements
            .partition_point(|statement| statement.range.end < token.range.end);
        let (start, end) = (token.range.start as usize, token.range.end as usize);
        (number, [&WHOLE[..start], &WHOLE[end..]].concat())
    };
    meaningful(&tree).into_iter().map(deletion).collect()
}

#[test]
fn the_whole_text_has_no_problem() {
    let tree = parse(WHOLE);
    is_sound(WHOLE, &tree);
    assert_eq!(tree.problems, []);
    assert_eq!(tree.statements.len(), 13);
}

#[test]
fn a_missing_token_leaves_every_other_statement_as_it_was() {
    let whole = parse(WHOLE);
    let before = texts(WHOLE, &whole.statements);
    for (number, text) in deletions() {
        let tree = parse(&text);
        is_sound(&text, &tree);
        let after = texts(&text, &tree.statements);
        // A line that continues a run stands alone once its arrow is gone.
        let more = after.len() + 1 - before.len();
        assert_eq!(after[..number], before[..number], "{text}");
        assert_eq!(after[number + more..], before[number + 1..], "{text}");
        assert!(tree.problems.len() <= 1, "{text}\n{:?}", tree.problems);
    }
}

#[test]
fn a_fix_leaves_nothing_to_say() {
    let mut fixes = 0;
    for (_, text) in deletions() {
        if let [Problem { fix: Some(fix), .. }] = parse(&text).problems.as_slice() {
            let mended = apply(&text, &fix.edits).unwrap();
            assert_eq!(parse(&mended).problems, [], "{mended}");
            fixes += 1;
        }
    }
    assert!(fixes >= 15, "{fixes}");
}

#[test]
fn a_text_may_end_at_any_byte() {
    for at in (0..WHOLE.len()).filter(|at| WHOLE.is_char_boundary(*at)) {
        let text = &WHOLE[..at];
        let tree = parse(text);
        is_sound(text, &tree);
        // Half a date is a number, and what is left of it means nothing.
        assert!(tree.problems.len() <= 2, "{text}\n{:?}", tree.problems);
        let last = tree.statements.last().is_some_and(|last| last.damaged);
        assert_eq!(tree.cut, last);
    }
}

#[test]
fn what_is_missing_is_named() {
    let said = |text: &str| match parse(text).problems.as_slice() {
        [only] => format!("{} | {}", only.range.of(text), only.message),
        other => panic!("{text}: {other:?}"),
    };
    for (text, expected) in [
        (
            "m1 frame -> ogb with 6 awg",
            "m1 | a run starts with `air`, `wire`, `power` or `ground`, and this one with `m1`",
        ),
        (
            "grund m1 frame -> ogb",
            "grund | a run starts with `air`, `wire`, `power` or `ground`, and this one with `grund`",
        ),
        (
            "ground m1 frame -> with 6 awg",
            "with | an end of this run is missing before `with`",
        ),
        ("ground m1 frame ->", "-> | an end of this run is missing after `->`"),
        (
            "air d1 -> -> f1",
            "-> | one arrow follows another: an end is missing between them, or one of them is too many",
        ),
        (
            "ground m1 -> ogb 6 awg, 3 m",
            "6 awg | `with` is missing before `6 awg`",
        ),
        ("tb pair 5 .. 25", "tb | this is neither a thing nor a run"),
        ("parts/field", "parts/field | `use` is missing before `parts/field`"),
        (
            "r on tb because \"x\" until 2027-04-30",
            "r | `accept` is missing before `r`",
        ),
        (
            "accept r tb because \"x\" until 2027-04-30",
            "tb | `on` is missing before `tb`",
        ),
        (
            "m1 { sensors 8 }",
            "m1 { | a thing has a kind and a name before its `{`, and one of them is missing",
        ),
        (
            "monitor : bay { sensors 8 }",
            ": | the name of this thing is missing before `:`",
        ),
        ("monitor m1 m1 { sensors 8 }", "m1 | `m1` is written twice"),
        (
            "monitor monitor m1 { sensors 8 }",
            "monitor | `monitor` is written twice",
        ),
        (
            "monitor m1 big { sensors 8 }",
            "big | `big` is one word too many in the head of this thing",
        ),
        ("monitor m1 { 8 }", "8 | the name of a field is missing before `8`"),
        ("monitor m1 { sensors 8", "{ | this `{` is never closed"),
        (
            "cable c { section s { depth 1 m",
            "{ | this `{` is never closed, nor is the one before it",
        ),
        (
            "monitor m1 sensors 8 }",
            "m1 | a `{` is missing after `m1`: the block is closed but never opened",
        ),
        (
            "monitor m1 { sensors 8 } }",
            "} | this `}` closes no block: every block is closed already",
        ),
        ("monitor m1 { note \"open }\n", "{ | this `{` is never closed"),
        ("monitor m1 { note € }", "€ | `€` has no meaning in this language"),
    ] {
        assert_eq!(said(text), expected);
    }
}

#[test]
fn a_brace_missing_inside_is_found_by_its_indentation() {
    let text = "cable c {\n    branch b1\n        from 1 km\n    }\n    gauge 24 awg\n}\n";
    let tree = parse(text);
    let [problem] = tree.problems.as_slice() else {
        panic!("{:?}", tree.problems)
    };
    assert_eq!(problem.range.of(text), "b1");
    let mended = apply(text, &problem.fix.as_ref().unwrap().edits).unwrap();
    assert_eq!(mended, text.replace("branch b1", "branch b1 {"));
}

/// Pieces that texts are made of, so that what is generated gets deep into the grammar.
fn piece() -> impl Strategy<Value = String> {
    let words = prop::sample::select(vec![
        "use",
        "part",
        "air",
        "wire",
        "power",
        "ground",
        "spare",
        "accept",
        "with",
        "on",
        "because",
        "until",
        "monitor",
        "m1",
        "c101",
        "section",
        "parts/field",
        "pair",
        "psi",
        "->",
        "..",
        ":",
        ",",
        "{",
        "}",
        "\n",
        "\n    ",
        " ",
        "# c\n",
        "\"text\"",
        "\"open",
        "12",
        "-0.5",
        "3/8",
        "2027-04-30",
        "€",
        "\u{feff}",
        "\r\n",
        "\\",
        "é",
    ]);
    words.prop_map(str::to_owned)
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 2000, ..ProptestConfig::default() })]

    #[test]
    fn any_text_is_parsed(text in ".{0,200}") {
        is_sound(&text, &parse(&text));
    }

    #[test]
    fn any_pieces_are_parsed(pieces in prop::collection::vec(piece(), 0..60), blanks: bool) {
        let text = pieces.join(if blanks { " " } else { "" });
        is_sound(&text, &parse(&text));
    }

    #[test]
    fn damage_anywhere_is_survived(at in 0..WHOLE.len(), length in 0..40_usize, pieces in prop::collection::vec(piece(), 0..4)) {
        let end = (at + length).min(WHOLE.len());
        prop_assume!(WHOLE.is_char_boundary(at) && WHOLE.is_char_boundary(end));
        let text = format!("{}{}{}", &WHOLE[..at], pieces.concat(), &WHOLE[end..]);
        is_sound(&text, &parse(&text));
    }
}

#[test]
fn a_run_that_is_being_written_leaves_the_next_line_alone() {
    for below in [
        "wire p1 -> tb pair 2",
        "block tb { pairs 25 }",
        "monitor m1 : bay-twelve",
        "spare tb pair 3",
    ] {
        for run in ["wire f1 ->", "wire f1 -> tb pair 1 with 22 awg,", "wire f1 -> tb with"] {
            let text = format!("{run}\n{below}\n");
            let tree = parse(&text);
            assert_eq!(tree.statements.len(), 2, "{text}");
            assert!(tree.statements[0].damaged && !tree.statements[1].damaged, "{text}");
        }
    }
    // What may go on does so, wherever it starts.
    for run in [
        "wire f1 ->\ntb pair 1",
        "wire f1\n-> tb pair 1",
        "wire f1 ->\n    block tb",
    ] {
        assert_eq!(parse(run).statements.len(), 1, "{run}");
    }
}
