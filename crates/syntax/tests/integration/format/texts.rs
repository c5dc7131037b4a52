//! Texts to format: correct ones, some with added blanks, and damaged ones.

use proptest::collection::vec;
use proptest::prelude::*;
use proptest::sample::{Index, select};

use super::EXAMPLE;

/// Statements and lines in any layout, comments and odd ones among them.
pub const STATEMENTS: &[&str] = &[
    "use parts/field-sensors",
    "office elm {\n title \"Elm: a, b { # }\"\n\televation 310 m # above the sea\n}",
    "battery main { nominal -48 V, working -43 V..-54 V ,filtered yes }",
    "dryer d1 {\ncompressor piston\n\n  # its contacts\n contact humidity { healthy closed }\n contact power {\nhealthy open\n}\n}",
    "cable c101 { pairs 100, gauge 24awg\n    section s1 { underground 1.1 km, depth 1.8 m }\n section s2 {\n buried 2 km } }",
    "regulator r1:line-two",
    "regulator r1 : line-two { set 10 psi }",
    "part pressure-sensor field-pressure {\n span 0..10 psi }",
    "manifold mf\n{ ports 8 }",
    "manifold mf\n# four are used\n{\nports 8\n}",
    "block tb { }",
    "block ta {}block tb { pairs 25 } air a->b",
    "ground-bar löschwasser-süd { principal yes } # Erdung",
    "wire f1 flow -> tb pair 1 -> m1 sensor 1 with 22 awg, 8 m",
    "wire ps1->c101 pair 37\n-> tb pair 3 # frame 2\n  # on to the monitor\n->m1 sensor 3\n with 22 awg,\n8 m",
    "power main ->\n pdf fuse 1 -> m1 with\n3 A,14awg,6 m",
    "ground d1 frame with -> ogb",
    "spare tb pair 5 .. 12",
    "assigned c101 pair 1 .. 30 to \"subscribers\"",
    "defective c101 pair 31 because \"open at mh-4\"",
    "accept spare-pair-unmarked on tb because \"spring, second cable\" until 2027-04-30",
    "# ---- air ----   ",
    "  # an indented comment",
    "dryer\nwith",
    // Wrong ones.
    "monitor { sensors 8 }",
    "flow-sensor f1 { span 0 .. , step 1 } # odd",
    "  wire f1 ->",
    "air a -> b with 3/8 in tube,",
    "€ block tc {\n pairs 5 }",
    "block tc {\n pairs 5\n}   €  block td {\n pairs 5 }",
    "valve v1 { note \"open",
    "}",
    "foo bar {",
    "\twith 3 m",
    "a b { c { d { e { f { g { h { i { j { k { l { m { n { o { p { q { r 1 } } } } } } } } } } } } } } } } }",
];

const BETWEEN: &[&str] = &[
    "\n",
    "\n",
    "\n",
    "\n\n",
    "\r\n",
    " \t\n",
    "\n \r\n\n\n",
    "   ",
    "\n\u{feff}",
];
const PIECES: &[&str] = &[
    "{", "}", ",", "\n", "->", ":", "..", "with", "air ", "\"", "#", "€", "\r", "\\", " 3/8 ", "use", "\t", "\u{feff}",
];

/// Statements one after the other.
pub fn statements() -> impl Strategy<Value = String> {
    vec((select(STATEMENTS), select(BETWEEN)), 0..10).prop_map(|pairs| {
        pairs
            .into_iter()
            .flat_map(|(statement, between)| [statement, between])
            .collect()
    })
}

/// One change to a text, by the numbers of its tokens.
#[derive(Clone, Debug)]
pub enum Change {
    Delete(Index),
    Double(Index),
    Swap(Index, Index),
    Put(Index, &'static str),
    Blanks(Index, &'static str),
    Cut(Index, usize),
}

pub fn changes() -> impl Strategy<Value = Vec<Change>> {
    let at = any::<Index>;
    vec(
        prop_oneof![
            at().prop_map(Change::Delete),
            at().prop_map(Change::Double),
            (at(), at()).prop_map(|(one, other)| Change::Swap(one, other)),
            (at(), select(PIECES)).prop_map(|(at, piece)| Change::Put(at, piece)),
            (at(), select(vec![" ", "   ", "\t", "\n", "\r\n", "\n  "]))
                .prop_map(|(at, blanks)| Change::Blanks(at, blanks)),
            (at(), 1..30_usize).prop_map(|(at, many)| Change::Cut(at, many)),
        ],
        1..5,
    )
}

/// The text after the changes, which work on tokens.
pub fn change(text: &str, changes: &[Change]) -> String {
    let mut tokens: Vec<String> = drysheath_syntax::lex(text)
        .into_iter()
        .map(|token| token.range.of(text).to_owned())
        .collect();
    for change in changes {
        let count = tokens.len();
        if count == 0 {
            break;
        }
        match *change {
            Change::Delete(at) => drop(tokens.remove(at.index(count))),
            Change::Double(at) => tokens.insert(at.index(count), tokens[at.index(count)].clone()),
            Change::Swap(one, other) => tokens.swap(one.index(count), other.index(count)),
            Change::Put(at, piece) | Change::Blanks(at, piece) => tokens.insert(at.index(count), piece.to_owned()),
            Change::Cut(at, many) => drop(tokens.drain(at.index(count)..(at.index(count) + many).min(count))),
        }
    }
    tokens.concat()
}

/// Pieces of the example office, some of its lines at a time.
pub fn part_of_example() -> impl Strategy<Value = String> {
    let count = EXAMPLE.lines().count();
    (0..count, 1..40_usize).prop_map(|(from, many)| EXAMPLE.split_inclusive('\n').skip(from).take(many).collect())
}
