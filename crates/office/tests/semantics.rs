//! What each word of a text means, in statements that can be read and in those that cannot.
#![allow(missing_docs, clippy::unwrap_used, clippy::panic)]

use drysheath_office::{Figure, Meaning, NoParts, Office, SemanticToken, lower};
use drysheath_syntax::parse;
use drysheath_text::FileId;

const OFFICE: &str = "office elm { stage planned }
cable c1 { pairs 25, branch b1 { from 1 km, section s1 { buried 1 km } }, section s1 { buried 2 km } }
block tb { pairs 25 }
dryer d1 { contact humidity { healthy closed } }
monitor m1 { sensors 8 }
";

/// A token and what it means, in short; nothing for what means nothing by itself.
fn short(office: &Office, token: &SemanticToken) -> Option<String> {
    let written = token.range.of(&office.text);
    let thing = |id| office.name(id);
    let declared = |declares| if declares { "declared " } else { "" };
    let figure = |figure: Figure| {
        let difference = if figure.is_difference { "difference " } else { "" };
        format!("{difference}{}", figure.quantity)
    };
    let meaning = match token.meaning {
        Meaning::Keyword => "keyword".to_owned(),
        Meaning::Kind(kind) => format!("kind {}", kind.word()),
        Meaning::Thing { id, declares } => format!("{}thing {}", declared(declares), id.map_or("?", thing)),
        Meaning::Within { thing: of } => format!("within, {}", thing(of)),
        Meaning::Part { declares } => format!("{}part", declared(declares)),
        Meaning::Field { kind, .. } => format!("field of {}", kind.word()),
        Meaning::Named {
            thing: of,
            key,
            declares,
            is_nested,
        } => {
            let nested = if is_nested { "nested " } else { "" };
            let of = of.map_or("?", thing);
            format!("{}{nested}{} of {of}", declared(declares), key.word())
        }
        Meaning::Port { thing: of, .. } => format!("port of {}", thing(of)),
        Meaning::Numbered {
            thing: of,
            port,
            number,
        } => format!("{} {number} of {}", port.word, thing(of)),
        Meaning::Rest { thing: of, port } => format!("rest of {}s of {}", port.word, thing(of)),
        Meaning::Colours { thing: of, pair } => format!("colours of pair {pair} of {}", thing(of)),
        Meaning::Number(of) => figure(of),
        Meaning::Unit(unit, of) => format!("unit {} of {}", unit.name, of.map_or("?".to_owned(), figure)),
        Meaning::Count => "count".to_owned(),
        Meaning::Choice(_) => "choice".to_owned(),
        Meaning::Rule => "rule".to_owned(),
        Meaning::Path => "path".to_owned(),
        Meaning::Date => "date".to_owned(),
        Meaning::Nothing => "?".to_owned(),
        Meaning::FormerName => "former name".to_owned(),
        Meaning::RecordName => "name of a record".to_owned(),
        Meaning::Operator | Meaning::Text | Meaning::Punctuation => return None,
    };
    Some(format!("{written}: {meaning}"))
}

/// The meanings in the last statement of the office with a statement added.
fn meanings(statement: &str) -> Vec<String> {
    let text = format!("{OFFICE}{statement}");
    let tree = parse(&text);
    let office = lower(FileId(0), "elm", text.as_str().into(), &tree, &NoParts);
    let last = tree.statements.last().unwrap();
    let tokens = office.semantic_tokens(&tree, last);
    tokens.iter().filter_map(|token| short(&office, token)).collect()
}

#[track_caller]
fn means(statement: &str, expected: &[&str]) {
    assert_eq!(meanings(statement), expected, "{statement}");
}

#[test]
fn runs() {
    means(
        "wire d1 contact humidity -> c1 pair 3 white-green -> tb pair 4 -> m1 sensor 2 with 24 awg, 3 m",
        &[
            "wire: keyword",
            "d1: thing d1",
            "contact: port of d1",
            "humidity: contact of d1",
            "c1: thing c1",
            "pair: port of c1",
            "3: pair 3 of c1",
            "white-green: colours of pair 3 of c1",
            "tb: thing tb",
            "pair: port of tb",
            "4: pair 4 of tb",
            "m1: thing m1",
            "sensor: port of m1",
            "2: sensor 2 of m1",
            "with: keyword",
            "24: 24 awg",
            "awg: unit awg of 24 awg",
            "3: 3 m",
            "m: unit m of 3 m",
        ],
    );
    means(
        "spare tb pair 5 .. 25",
        &[
            "spare: keyword",
            "tb: thing tb",
            "pair: port of tb",
            "5: pair 5 of tb",
            "25: pair 25 of tb",
        ],
    );
    means(
        "spare tb pair rest",
        &[
            "spare: keyword",
            "tb: thing tb",
            "pair: port of tb",
            "rest: rest of pairs of tb",
        ],
    );
    means(
        "assigned tb pair 5 .. 6 to \"subscribers\"",
        &[
            "assigned: keyword",
            "tb: thing tb",
            "pair: port of tb",
            "5: pair 5 of tb",
            "6: pair 6 of tb",
            "to: keyword",
        ],
    );
    means(
        "defective tb pair 7 because \"foul\"",
        &[
            "defective: keyword",
            "tb: thing tb",
            "pair: port of tb",
            "7: pair 7 of tb",
            "because: keyword",
        ],
    );
}

#[test]
fn fields() {
    means(
        "flow-sensor f1 : gauge { at c1 branch b1 0.4 km, span 0 .. 30 scfh\n limit high 20 scfh major deadband 1 scfh }",
        &[
            "flow-sensor: kind flow-sensor",
            "f1: declared thing f1",
            "gauge: part",
            "at: field of flow-sensor",
            "c1: thing c1",
            "branch: keyword",
            "b1: branch of c1",
            "0.4: 0.4 km",
            "km: unit km of 0.4 km",
            "span: field of flow-sensor",
            "0: 0 scfh",
            "30: 30 scfh",
            "scfh: unit scfh of 30 scfh",
            "limit: field of flow-sensor",
            "high: choice",
            "20: 20 scfh",
            "scfh: unit scfh of 20 scfh",
            "major: choice",
            "deadband: keyword",
            "1: difference 1 scfh",
            "scfh: unit scfh of difference 1 scfh",
        ],
    );
    means(
        "part dryer big { contact own { healthy open } }",
        &[
            "part: keyword",
            "dryer: kind dryer",
            "big: declared part",
            "contact: field of dryer",
            "own: declared contact of ?",
            "healthy: field of dryer",
            "open: choice",
        ],
    );
    means(
        "cable c2 { branch b1 { section s1 { buried 1 km } } }",
        &[
            "cable: kind cable",
            "c2: declared thing c2",
            "branch: field of cable",
            "b1: declared branch of c2",
            "section: field of cable",
            "s1: declared nested section of c2",
            "buried: field of cable",
            "1: 1 km",
            "km: unit km of 1 km",
        ],
    );
}

#[test]
fn differences_are_no_figures_of_a_scale() {
    means(
        "regulator r1 { differential 5 psi }",
        &[
            "regulator: kind regulator",
            "r1: declared thing r1",
            "differential: field of regulator",
            "5: difference 5 psi",
            "psi: unit psi of difference 5 psi",
        ],
    );
    // The same where the value cannot be read.
    means(
        "regulator r1 { differential oops 5 psi }",
        &[
            "regulator: kind regulator",
            "r1: declared thing r1",
            "differential: field of regulator",
            "oops: ?",
            "5: difference 5 psi",
            "psi: unit psi of difference 5 psi",
        ],
    );
}

#[test]
fn texts_operators_and_punctuation_are_told_apart() {
    let text = "office elm : far { title \"Elm\", working 1 V .. 2 V }\nair d1 -> d2\ncable c1 { gauge \"24";
    let tree = parse(text);
    let office = lower(FileId(0), "elm", text.into(), &tree, &NoParts);
    let tokens = tree
        .statements
        .iter()
        .flat_map(|statement| office.semantic_tokens(&tree, statement));
    let told = tokens.filter_map(|token| {
        let meaning = match token.meaning {
            Meaning::Text => "text",
            Meaning::Operator => "operator",
            Meaning::Punctuation => "punctuation",
            _ => return None,
        };
        Some(format!("{} {meaning}", token.range.of(text)))
    });
    assert_eq!(
        told.collect::<Vec<_>>(),
        [
            ": operator",
            "{ punctuation",
            "\"Elm\" text",
            ", punctuation",
            ".. operator",
            "} punctuation",
            "-> operator",
            "{ punctuation",
            "\"24 text",
            " punctuation",
        ]
    );
}

#[test]
fn the_words_of_a_field_have_their_own_meaning() {
    let text =
        "regulator r1 { outlet 1/4 in thread male }\nmonitor m1 { wants-filtered yes }\ncontact k1 { healthy closed }";
    let tree = parse(text);
    let office = lower(FileId(0), "elm", text.into(), &tree, &NoParts);
    let tokens = tree
        .statements
        .iter()
        .flat_map(|statement| office.semantic_tokens(&tree, statement));
    let choices: Vec<&str> = tokens
        .filter_map(|token| match token.meaning {
            Meaning::Choice(doc) if !doc.is_empty() => Some(token.range.of(text)),
            _ => None,
        })
        .collect();
    assert_eq!(choices, ["thread", "male", "yes", "closed"]);
}

#[test]
fn records() {
    means(
        "accept no-rule on c9 because \"so\" until 2027-04-30",
        &[
            "accept: keyword",
            "no-rule: rule",
            "on: keyword",
            "c9: thing ?",
            "because: keyword",
            "until: keyword",
            "2027-04-30: date",
        ],
    );
    means(
        "reading 2026-05-02 c1 decay 9.4 psi .. 9.1 psi over 12 min at 61 degF .. 60 degF",
        &[
            "reading: keyword",
            "2026-05-02: date",
            "c1: thing c1",
            "decay: keyword",
            "9.4: 9.4 psi",
            "psi: unit psi of 9.4 psi",
            "9.1: 9.1 psi",
            "psi: unit psi of 9.1 psi",
            "over: keyword",
            "12: 12 min",
            "min: unit min of 12 min",
            "at: keyword",
            "61: 61 degF",
            "degF: unit degF of 61 degF",
            "60: 60 degF",
            "degF: unit degF of 60 degF",
        ],
    );
    means("use parts/more", &["use: keyword", "parts/more: path"]);
}

#[test]
fn what_cannot_be_read_means_something_all_the_same() {
    // An unknown name, a unit that is none, a field that is none, a head with a word too many.
    means(
        "air d9 -> c1 oops 3/8 in tube",
        &[
            "air: keyword",
            "d9: thing ?",
            "c1: thing c1",
            "oops: ?",
            "3/8: 0.375 in",
            "in: unit in of 0.375 in",
            "tube: ?",
        ],
    );
    means(
        "regulator r1 extra { set 10 pis, st 5 psi, inlet 3/8 in { } ",
        &[
            "regulator: kind regulator",
            "r1: declared thing r1",
            "extra: ?",
            "set: field of regulator",
            "10: count",
            "pis: ?",
            "st: ?",
            "5: 5 psi",
            "psi: unit psi of 5 psi",
            "inlet: field of regulator",
            "3/8: 0.375 in",
            "in: unit in of 0.375 in",
        ],
    );
    means(
        "flow-sensor f1 { limit high 20 major }",
        &[
            "flow-sensor: kind flow-sensor",
            "f1: declared thing f1",
            "limit: field of flow-sensor",
            "high: choice",
            "20: count",
            "major: choice",
        ],
    );
}

#[test]
fn what_a_thing_is_known_by() {
    means(
        "block tz { record serial \"A-1\", formerly ty, room annex, stage disused, order \"W\" }",
        &[
            "block: kind block",
            "tz: declared thing tz",
            "record: field of block",
            "serial: name of a record",
            "formerly: field of block",
            "ty: former name",
            "room: field of block",
            "annex: thing ?",
            "stage: field of block",
            "disused: choice",
            "order: field of block",
        ],
    );
}
