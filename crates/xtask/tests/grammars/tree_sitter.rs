//! The tree-sitter grammar reads what the parser reads: no error node where the parser has no problem, the same statements, names,
//! ends and values, and a damaged statement leaves the others whole.

mod corpus;
mod read;

use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};

use drysheath_fixture::{Files, county, faults};
use drysheath_syntax::{TokenKind, parse};
use drysheath_xtask::county::{LINES, Options, office};
use drysheath_xtask::tree_sitter::{digests, recorded_digests};
use fastrand::Rng;
use tree_sitter::{Parser, Query, Tree};

use read::{Found, ours, theirs};

const SEED: u64 = 14;
const DAMAGED: usize = 10_000;
/// Of the differences, so many are shown.
const SHOWN: usize = 12;

fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../..")
}

fn parser() -> Parser {
    let mut parser = Parser::new();
    parser.set_language(&tree_sitter_office::LANGUAGE.into()).unwrap();
    parser
}

fn tree(parser: &mut Parser, text: &str) -> Tree {
    parser.parse(text, None).unwrap()
}

fn generated() -> Files {
    let options = Options {
        offices: 20,
        seed: SEED,
        lines: LINES,
        faults: true,
    };
    let drawn = (0..options.offices).map(|number| office(&options, number));
    drawn.map(|office| (office.path, office.text)).collect()
}

/// What one finds and the other does not.
fn difference(text: &str, ours: &BTreeSet<Found>, theirs: &BTreeSet<Found>) -> Vec<String> {
    let show = |whose: &str, found: &Found| {
        format!(
            "{whose}: {} `{}` at {}",
            found.what,
            &text[found.start..found.end],
            found.start
        )
    };
    let lacking = ours.difference(theirs).map(|found| show("only the parser", found));
    lacking
        .chain(theirs.difference(ours).map(|found| show("only tree-sitter", found)))
        .collect()
}

#[test]
fn it_reads_what_the_parser_reads() {
    let mut parser = parser();
    let mut clean = 0;
    for (name, text) in county().into_iter().chain(faults()).chain(generated()) {
        let own = parse(&text);
        if !own.problems.is_empty() {
            continue;
        }
        clean += 1;
        let read = tree(&mut parser, &text);
        assert!(!read.root_node().has_error(), "{name}: {}", read.root_node().to_sexp());
        let differs = difference(&text, &ours(&text, &own), &theirs(&read));
        assert!(differs.is_empty(), "{name}: {differs:#?}");
    }
    assert!(clean > 100, "{clean} files");
}

/// A text with one slip: a token deleted, doubled or exchanged with the next, two lines joined, or the rest cut off.
fn damaged(text: &str, random: &mut Rng) -> String {
    let own = parse(text);
    let tokens: Vec<(usize, usize)> = own
        .tokens
        .iter()
        .filter(|token| !token.kind.is_trivia() && token.kind != TokenKind::Newline)
        .map(|token| (token.range.start as usize, token.range.end as usize))
        .collect();
    let at = random.usize(0..tokens.len() - 1);
    let ((start, end), (next, last)) = (tokens[at], tokens[at + 1]);
    match random.u32(0..5) {
        0 => format!("{}{}", &text[..start], &text[end..]),
        1 => format!("{} {}", &text[..end], &text[start..]),
        2 => format!(
            "{}{}{}{}{}",
            &text[..start],
            &text[next..last],
            &text[end..next],
            &text[start..end],
            &text[last..]
        ),
        3 => {
            let line = text[start..].find('\n').map_or(text.len(), |line| start + line);
            format!("{} {}", &text[..line], text[line..].trim_start())
        }
        _ => text[..start].to_owned(),
    }
}

/// What becomes of the damaged files.
#[derive(Debug, Default)]
struct Tally {
    /// Files in which the parser has no problem.
    clean: usize,
    /// Statements that the parser reads whole in the others.
    whole: usize,
    /// Those of them that tree-sitter has with the same bounds and of the same kind.
    kept: usize,
}

#[test]
fn a_slip_stays_in_its_statement() {
    let mut parser = parser();
    let mut random = Rng::with_seed(SEED);
    let files = county();
    let mut tally = Tally::default();
    let mut different = Vec::new();
    for _ in 0..DAMAGED {
        let (name, text) = &files[random.usize(0..files.len())];
        let text = damaged(text, &mut random);
        let own = parse(&text);
        let read = tree(&mut parser, &text);
        if own.problems.is_empty() {
            tally.clean += 1;
            let differs = difference(&text, &ours(&text, &own), &theirs(&read));
            if read.root_node().has_error() || !differs.is_empty() {
                different.push(format!("{name}: {differs:#?}"));
            }
            continue;
        }
        let statements = read::statements(&read);
        for statement in own.statements.iter().filter(|statement| !statement.damaged) {
            tally.whole += 1;
            tally.kept += usize::from(statements.contains(&read::of_statement(statement)));
        }
    }
    println!("{tally:?}");
    let shown = different.iter().take(SHOWN).cloned().collect::<Vec<_>>().join("\n");
    assert!(
        different.is_empty(),
        "{} of {} differ: {shown}",
        different.len(),
        tally.clean
    );
    assert!(tally.clean > DAMAGED / 100, "{tally:?}");
    let lost = tally.whole - tally.kept;
    assert!(
        lost * LOST_OF < tally.whole,
        "{lost} of {} statements beside a damaged one are lost",
        tally.whole
    );
}

/// Of so many whole statements beside a damaged one, at most one may be read as something else.
const LOST_OF: usize = 150;

#[test]
fn the_queries_fit_the_grammar() {
    let language = tree_sitter_office::LANGUAGE.into();
    let of_editor = |path: &str| fs::read_to_string(root().join("editors").join(path)).unwrap();
    for (name, query) in [
        ("highlights", tree_sitter_office::HIGHLIGHTS_QUERY),
        ("locals", tree_sitter_office::LOCALS_QUERY),
        ("tags", tree_sitter_office::TAGS_QUERY),
        ("folds", tree_sitter_office::FOLDS_QUERY),
        ("indents", tree_sitter_office::INDENTS_QUERY),
        ("Helix, indents", &of_editor("helix/queries/office/indents.scm")),
        ("Zed, indents", &of_editor("zed/languages/office/indents.scm")),
        ("Zed, outline", &of_editor("zed/languages/office/outline.scm")),
    ] {
        let read = Query::new(&language, query);
        assert!(read.is_ok(), "{name}: {:?}", read.err());
    }
}

#[test]
fn its_corpus_is_read_as_recorded() {
    let folder = root().join("grammar/tree-sitter-office/test/corpus");
    let mut parser = parser();
    let mut cases = 0;
    for entry in fs::read_dir(folder).unwrap() {
        for case in corpus::cases(&fs::read_to_string(entry.unwrap().path()).unwrap()) {
            let read = tree(&mut parser, &case.text).root_node().to_sexp();
            assert_eq!(corpus::normal(&read), corpus::normal(&case.expected), "{}", case.name);
            cases += 1;
        }
    }
    assert!(cases >= 10, "{cases} cases");
}

#[test]
fn the_parser_is_that_of_the_grammar() {
    let recorded = recorded_digests(&root()).unwrap();
    assert_eq!(recorded, digests(&root()).unwrap(), "run `cargo xtask tree-sitter`");
}
