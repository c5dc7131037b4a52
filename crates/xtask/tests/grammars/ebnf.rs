//! `grammar/office.ebnf` is a grammar, and that of the parser: what is drawn from it the parser reads, and what the parser reads
//! it recognises.

mod notation;
mod recogniser;
mod sentences;

use std::collections::{BTreeSet, HashSet};
use std::fs;
use std::path::Path;

use drysheath_fixture::{Files, county, faults, lowered};
use drysheath_office::BINDING_WORDS;
use drysheath_office::kinds::{FieldSpec, Kind, Shape, field};
use drysheath_syntax::{Block, ProblemId, StatementKind, Tree, WORDS, parse};
use drysheath_xtask::county::{LINES, Options, office};
use fastrand::Rng;

use notation::{Expression, Grammar};
use recogniser::Recogniser;
use sentences::Sentences;

const SEED: u64 = 20;
const SENTENCES: usize = 1500;
const DAMAGES: usize = 2000;

fn grammar() -> Grammar {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../grammar/office.ebnf");
    Grammar::read(&fs::read_to_string(path).unwrap())
}

fn generated() -> Files {
    let options = Options {
        offices: 6,
        seed: 3,
        lines: LINES,
        faults: false,
    };
    let drawn = (0..options.offices).map(|number| office(&options, number));
    drawn.map(|office| (office.path, office.text)).collect()
}

/// What the parser finds wrong that a grammar can say: not what it reads as it was meant.
fn problems(tree: &Tree) -> Vec<&str> {
    let understood = [ProblemId::CharacterPasted, ProblemId::CharacterInvisible];
    let wrong = tree.problems.iter().filter(|problem| !understood.contains(&problem.id));
    wrong.map(|problem| problem.message.as_str()).collect()
}

#[test]
fn every_name_has_a_rule_and_every_rule_is_used() {
    let grammar = grammar();
    let mut used = BTreeSet::from(["file".to_owned(), "comment".to_owned()]);
    for rule in grammar.rules.values() {
        rule.expression.each(&mut |expression| {
            if let Expression::Name(name) = expression {
                grammar.rule(name);
                used.insert(name.clone());
            }
        });
    }
    used.extend(SHAPES.iter().map(|(_, rule)| (*rule).to_owned()));
    let rules: BTreeSet<String> = grammar.rules.keys().cloned().collect();
    // Fields with a block have no shape of their own, and a test of decay is one of them.
    used.insert("decay".to_owned());
    assert_eq!(used, rules);
}

#[test]
fn its_words_are_those_of_the_language() {
    let grammar = grammar();
    let recogniser = Recogniser::new(&grammar);
    for word in WORDS {
        assert!(recogniser.is_token("own word", word), "{word}");
        let starts = parse(&format!("{word} x\n")).words[0].kind.starts_statement();
        assert_eq!(recogniser.is_token("statement word", word), starts, "{word}");
    }
    for word in BINDING_WORDS {
        assert!(recogniser.is_token("reserved", word), "{word}");
        assert!(!recogniser.is_token("name", word), "{word}");
    }
    let Expression::Choice(words) = &grammar.rule("own word").expression else {
        panic!("a choice of words")
    };
    let Expression::Choice(first) = &grammar.rule("statement word").expression else {
        panic!("a choice of words")
    };
    assert_eq!(words.len() - 1 + first.len(), WORDS.len());
}

#[test]
fn what_is_drawn_from_it_is_read_without_a_problem() {
    let grammar = grammar();
    let recogniser = Recogniser::new(&grammar);
    let mut sentences = Sentences {
        grammar: &grammar,
        recogniser: &recogniser,
        random: Rng::with_seed(SEED),
    };
    let mut kinds = HashSet::new();
    for _ in 0..SENTENCES {
        let text = sentences.file();
        let tree = parse(&text);
        assert_eq!(problems(&tree), Vec::<&str>::new(), "{text}");
        assert!(recogniser.is_file(&text), "{text}");
        let statements = tree.statements.iter();
        kinds.extend(statements.map(|statement| std::mem::discriminant(&statement.kind)));
    }
    assert_eq!(kinds.len(), 9, "every kind of statement is drawn");
}

/// The first statement of a text that the grammar does not have.
fn first_unknown<'t>(recogniser: &Recogniser<'_>, text: &'t str) -> Option<&'t str> {
    let tree = parse(text);
    let mut statements = tree.statements.iter().map(|statement| statement.range.of(text));
    statements.find(|statement| !recogniser.is_file(statement))
}

/// Whether the parser finds nothing wrong with how a text is written.
fn is_understood(text: &str) -> bool {
    problems(&parse(text)).is_empty()
}

#[test]
fn it_recognises_the_county_and_generated_offices() {
    let grammar = grammar();
    let recogniser = Recogniser::new(&grammar);
    for (name, text) in county().into_iter().chain(generated()) {
        assert!(is_understood(&text), "{name}");
        assert!(
            recogniser.is_file(&text),
            "{name}: {:?}",
            first_unknown(&recogniser, &text)
        );
    }
}

#[test]
fn it_recognises_of_the_faults_what_the_parser_reads() {
    let grammar = grammar();
    let recogniser = Recogniser::new(&grammar);
    let faults = faults();
    let mut refused = Vec::new();
    for (name, text) in &faults {
        if recogniser.is_file(text) {
            let tree = parse(text);
            let problems = problems(&tree);
            assert!(
                problems.is_empty(),
                "{name} is recognised, and the parser reports {problems:?}"
            );
        } else if is_understood(text) {
            refused.push((name.as_str(), first_unknown(&recogniser, text).unwrap_or_default()));
        }
    }
    assert_eq!(refused, PASTED);
}

/// What the parser reads as it was meant, with a warning, and the grammar has no word for.
const PASTED: [(&str, &str); 1] = [(
    "language/character-pasted",
    "office character-pasted {\n    title           “Character pasted”\n    site            \"FLT953\"\n    elevation       120 m\n    coldest         -25 degC\n    stage           installed\n}",
)];

/// The rule of the grammar for each shape of a field.
const SHAPES: [(&str, &str); 18] = [
    ("Text", "text"),
    ("YesNo", "yes or no"),
    ("Count", "whole"),
    ("Numbers", "numbers"),
    ("Rows", "numbers"),
    ("CountOrRows", "numbers"),
    ("Quantity", "quantity"),
    ("Draw", "quantity"),
    ("Difference", "quantity"),
    ("DewPoint", "dew point"),
    ("Range", "range"),
    ("Limit", "limit"),
    ("Loss", "loss"),
    ("At", "place"),
    ("Fitting", "fitting"),
    ("Link", "link"),
    ("Record", "recorded"),
    ("PairColours", "pair colours"),
];

/// The rule of a shape; none for words that tables list and for blocks.
fn rule_of(shape: Shape) -> Option<&'static str> {
    let shown = format!("{shape:?}");
    let name = shown.split(['(', ' ']).next().unwrap();
    SHAPES.iter().find(|(shape, _)| *shape == name).map(|(_, rule)| *rule)
}

struct Values<'t> {
    text: &'t str,
    tree: &'t Tree,
    /// The rule and text of each value.
    found: Vec<(&'static str, &'t str)>,
}

impl Values<'_> {
    fn block(&mut self, block: &Block, specs: &'static [FieldSpec]) {
        for written in &block.fields {
            let Some(spec) = field(specs, self.tree.range(written.name).of(self.text)) else {
                continue;
            };
            match spec.shape {
                Shape::Group(inner) | Shape::Named(inner) => {
                    if let Some(block) = &written.block {
                        self.block(block, inner);
                    }
                }
                shape => {
                    let value = self.tree.items_range(written.items).of(self.text);
                    self.found.extend(rule_of(shape).map(|rule| (rule, value)));
                }
            }
        }
    }
}

#[test]
fn the_values_of_fields_are_what_its_rules_say() {
    let grammar = grammar();
    let recogniser = Recogniser::new(&grammar);
    let mut tried = BTreeSet::new();
    for (name, text) in county().into_iter().chain(generated()) {
        let tree = parse(&text);
        let mut values = Values {
            text: &text,
            tree: &tree,
            found: Vec::new(),
        };
        for statement in &tree.statements {
            if let StatementKind::Thing(thing) | StatementKind::Part(thing) = &statement.kind
                && let (Some(kind), Some(block)) = (thing.kind, &thing.block)
                && let Some(kind) = Kind::find(tree.range(kind).of(&text))
            {
                values.block(block, kind.fields);
            }
        }
        for (rule, value) in values.found {
            assert!(recogniser.is(rule, value), "{name}: `{value}` is no {rule}");
            tried.insert(rule);
        }
    }
    let rules: BTreeSet<&str> = SHAPES.iter().map(|(_, rule)| *rule).collect();
    assert_eq!(tried, rules, "every rule has a value in the county");
}

/// Deletes, doubles or exchanges a token of a statement. Most of what comes out is wrong.
fn damaged(statement: &str, random: &mut Rng) -> String {
    let tree = parse(statement);
    let mut tokens: Vec<&str> = tree.words.iter().map(|word| word.range.of(statement)).collect();
    let at = random.usize(0..tokens.len());
    match random.u32(0..3) {
        0 => {
            tokens.remove(at);
        }
        1 => tokens.insert(at, tokens[at]),
        _ => {
            let other = random.usize(0..tokens.len());
            tokens.swap(at, other);
        }
    }
    tokens.join(" ")
}

#[test]
fn it_recognises_no_statement_that_the_parser_refuses() {
    let grammar = grammar();
    let recogniser = Recogniser::new(&grammar);
    let mut random = Rng::with_seed(SEED);
    let mut statements = Vec::new();
    for (_, text) in county() {
        let tree = parse(&text);
        statements.extend(
            tree.statements
                .iter()
                .map(|statement| statement.range.of(&text).to_owned()),
        );
    }
    let (mut both_read, mut both_refuse, mut only_parser) = (0, 0, Vec::new());
    for _ in 0..DAMAGES {
        let text = damaged(&statements[random.usize(0..statements.len())], &mut random);
        match (recogniser.is_file(&text), is_understood(&text)) {
            (true, true) => both_read += 1,
            (false, false) => both_refuse += 1,
            (true, false) => panic!(
                "recognised, and the parser reports {:?}: {text}",
                problems(&parse(&text))
            ),
            (false, true) => only_parser.push(text),
        }
    }
    assert!(
        both_read > DAMAGES / 10 && both_refuse > DAMAGES / 10,
        "{both_read} {both_refuse}"
    );
    // What only the parser reads, the readers of the office refuse.
    for text in &only_parser {
        assert!(
            !lowered(text).problems.is_empty(),
            "not recognised, and nothing is wrong with it: {text}"
        );
    }
}
