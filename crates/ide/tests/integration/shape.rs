//! Semantic tokens, folding, selection ranges, links and lenses.

use drysheath_fixture::{analysis, caret, example, on_damaged_texts, open, snapshot};
use drysheath_ide::{Class, FoldKind, Target, folding, lenses, links, selection, tokens};
use drysheath_text::TextRange;

#[test]
fn words_are_coloured_by_what_they_are() {
    use Class::{Choice, Comment, Field, Inner, Keyword, Kind, Number, Operator, Part, Path, Rule, Text, Thing, Unit};
    let text = "pressure-sensor ps1 : p { at c101 3.2 km, limit low 6.7 psi minor } # far end\r\n\
                wire d1 contact humidity -> tb pair 4 white-brown -> m1 contact 1\n\
                accept pair-assigned-twice on tb because \"x\" until 2027-04-30\nuse parts/air\n";
    let analysis = example(text);
    let start = (analysis.text.len() - text.len()) as u32;
    let shown: Vec<(&str, Class, bool)> = tokens(&analysis, Some(TextRange::new(start, u32::MAX)))
        .into_iter()
        .map(|token| (token.range.of(&analysis.text), token.class, token.declares))
        .collect();
    let expected = [
        ("pressure-sensor", Kind, false),
        ("ps1", Thing, true),
        (":", Operator, false),
        ("p", Part, false),
        ("at", Field, false),
        ("c101", Thing, false),
        ("3.2", Number, false),
        ("km", Unit, false),
        ("limit", Field, false),
        ("low", Choice, false),
        ("6.7", Number, false),
        ("psi", Unit, false),
        ("minor", Choice, false),
        ("# far end", Comment, false),
        ("wire", Keyword, false),
        ("d1", Thing, false),
        ("contact", Field, false),
        ("humidity", Inner, false),
        ("->", Operator, false),
        ("tb", Thing, false),
        ("pair", Field, false),
        ("4", Number, false),
        ("white-brown", Choice, false),
        ("->", Operator, false),
        ("m1", Thing, false),
        ("contact", Field, false),
        ("1", Number, false),
        ("accept", Keyword, false),
        ("pair-assigned-twice", Rule, false),
        ("on", Keyword, false),
        ("tb", Thing, false),
        ("because", Keyword, false),
        ("\"x\"", Text, false),
        ("until", Keyword, false),
        ("2027-04-30", Number, false),
        ("use", Keyword, false),
        ("parts/air", Path, false),
    ];
    assert_eq!(shown, expected);
}

#[test]
fn words_of_a_range_are_those_that_touch_it() {
    let analysis = example("");
    let all = tokens(&analysis, None);
    for range in [
        TextRange::new(0, 60),
        TextRange::new(500, 900),
        TextRange::new(2000, 2001),
    ] {
        let touching: Vec<_> = all
            .iter()
            .filter(|token| token.range.start < range.end && token.range.end > range.start)
            .copied()
            .collect();
        assert_eq!(tokens(&analysis, Some(range)), touching);
    }
}

/// What can be folded, as the first and last of its lines.
fn folds(text: &str) -> Vec<(u32, u32, FoldKind)> {
    let folds = folding(&open("elm", text, &[]).1);
    folds.iter().map(|fold| (fold.first, fold.last, fold.kind)).collect()
}

#[test]
fn blocks_comments_and_rows_fold() {
    let text = "# one\n# two\n\nuse a\nuse b\noffice e {\n    title \"E\"\n    air-minimum {\n        buried 1 psi\n    }\n}\n\
                block tb { pairs 25 }\nwire a -> b\nwire b -> c # why\n\nwire c -> d\nair a\n    -> b\nspare tb pair 1\nspare tb pair 2\n";
    let expected = [
        (0, 1, FoldKind::Comment),
        (3, 4, FoldKind::Uses),
        (5, 9, FoldKind::Block),
        (7, 8, FoldKind::Block),
        (12, 13, FoldKind::Row),
        (16, 17, FoldKind::Block),
        (18, 19, FoldKind::Row),
    ];
    assert_eq!(folds(text), expected);
}

#[test]
fn a_block_that_is_not_closed_folds_all_the_same() {
    assert_eq!(
        folds("office e {\n    title \"E\"\n    site \"X\"\n"),
        [(0, 2, FoldKind::Block)]
    );
    assert_eq!(
        folds("office e { title \"E\",\n    site \"X\" }\n"),
        [(0, 1, FoldKind::Block)]
    );
}

/// The texts that a selection grows by.
fn grown(text: &str) -> Vec<String> {
    let (text, at) = caret(text);
    let (_, analysis) = open("elm", &text, &[]);
    let ranges = selection(&analysis, at).into_iter();
    ranges.map(|range| range.of(&text).to_owned()).collect()
}

#[test]
fn a_selection_grows_from_word_to_file() {
    let file = "\nair d1 -> r1 with 3/8 in tube, 1/4 in bore\n";
    assert_eq!(
        grown("\nair d1 -> r1 with 3$0/8 in tube, 1/4 in bore\n"),
        [
            "3/8",
            "3/8 in",
            "3/8 in tube",
            "3/8 in tube, 1/4 in bore",
            file.trim(),
            file
        ]
    );
    // Pasted quotes are longer than those of a keyboard.
    assert_eq!(
        grown("block tb { note \u{201c}le$0ft\u{201d} }\n")[..2],
        ["left", "\u{201c}left\u{201d}"]
    );
    let thing = "cable c { pairs 50, section s1 { buried 2.0 km, usage 4 scfh } }";
    assert_eq!(
        grown("cable c { pairs 50, section s1 { buried 2.0 k$0m, usage 4 scfh } }\n"),
        [
            "km",
            "2.0 km",
            "buried 2.0 km",
            "{ buried 2.0 km, usage 4 scfh }",
            "section s1 { buried 2.0 km, usage 4 scfh }",
            "{ pairs 50, section s1 { buried 2.0 km, usage 4 scfh } }",
            thing,
            &format!("{thing}\n"),
        ]
    );
    assert_eq!(
        grown("office e { title \"E$0lm\" }"),
        [
            "Elm",
            "\"Elm\"",
            "title \"Elm\"",
            "{ title \"Elm\" }",
            "office e { title \"Elm\" }"
        ]
    );
    assert_eq!(grown("# wh$0y\n"), ["# why", "# why\n"]);
    assert_eq!(grown("$0"), [""]);
}

#[test]
fn links_lead_to_files_and_rules() {
    let text = "use parts/air\nuse parts/none\noffice e { title \"E\" }\naccept pair-assigned-twice on e because \"x\" until 2027-04-30\naccept nonsense on e because \"x\" until 2027-04-30\n";
    let snapshot = snapshot(&[("elm", text), ("parts/air", "part valve v { }\n")]);
    let analysis = analysis(&snapshot, "elm");
    let shown: Vec<String> = links(&snapshot, &analysis)
        .into_iter()
        .map(|link| {
            let target = match link.target {
                Target::File(file) => snapshot.path(file).unwrap().display().to_string(),
                Target::Rule(rule) => rule.name().to_owned(),
            };
            format!("{} to {target}", link.range.of(&analysis.text))
        })
        .collect();
    assert_eq!(
        shown,
        [
            "parts/air to /repository/parts/air.office",
            "pair-assigned-twice to pair-assigned-twice"
        ]
    );
}

fn titles(text: &str) -> Vec<String> {
    let text = drysheath_rules::example::compose(drysheath_rules::example::OFFICE, text);
    let (snapshot, analysis) = open("elm", &text, &[]);
    let lenses = lenses(&snapshot, &analysis);
    assert!(
        lenses
            .iter()
            .all(|lens| lens.range.of(&analysis.text).starts_with("office "))
    );
    lenses.into_iter().map(|lens| lens.title).collect()
}

#[test]
fn an_office_has_its_results_what_is_free_and_the_worst_margin_above_it() {
    assert_eq!(
        titles(""),
        [
            "no results",
            "free: 9 fuse positions of pdf, 5 sensor inputs of m1, 3 contact inputs of m1, 2 ports of mf, 49 pairs of c101, 21 pairs of tb",
            "worst margin of pressure: 3.771 psi at 1.2 km on c101",
        ]
    );
    let titles =
        titles("wire p1 -> tb pair 1 -> m1 sensor 2 with 22 awg, 8 m\nregulator r1 { set 3 psi, differential 5 psi }");
    assert!(titles[0].contains(" error"), "{titles:?}");
    assert!(titles[2].starts_with("worst margin of pressure: -"), "{titles:?}");
    // A file of parts has none.
    let (snapshot, analysis) = open("parts/air", "part valve v { }\n", &[]);
    assert_eq!(lenses(&snapshot, &analysis), []);
}

#[test]
fn damaged_text_is_answered() {
    on_damaged_texts(|snapshot, analysis, offset| {
        let text = &analysis.text;
        let lines = text.matches('\n').count() as u32 + 1;
        let mut last = 0;
        for token in tokens(analysis, None) {
            assert!(token.range.start >= last && !token.range.of(text).is_empty());
            assert!(!token.range.of(text).contains('\n'));
            last = token.range.end;
        }
        let _ = tokens(analysis, Some(TextRange::new(offset, offset + 100)));
        for fold in folding(analysis) {
            assert!(fold.first < fold.last && fold.last < lines, "{fold:?} of {lines}");
        }
        let ranges = selection(analysis, offset);
        assert!(
            ranges
                .windows(2)
                .all(|pair| pair[1].contains(pair[0]) && pair[0] != pair[1])
        );
        assert!(!ranges.is_empty());
        let _ = links(snapshot, analysis);
        let _ = lenses(snapshot, analysis);
    });
}
