//! Characters of a word processor mean what those of a keyboard mean, and one fix writes these in the whole file.
#![allow(missing_docs, clippy::unwrap_used)]

use drysheath_office::kinds::Key;
use drysheath_office::{Fields, NoParts, Office, ProblemId, lower};
use drysheath_syntax::parse;
use drysheath_text::{FileId, apply};

const TYPED: &str = "battery main { nominal -48 V, title \"Plant \\\"A\\\"\" } # -48 V\n\
                     office elm { coldest -25 degC }\n";
const PASTED: &str = "battery main { nominal \u{2212}48\u{a0}V, title \u{201c}Plant \\\"A\\\"\u{201d} } # -48 V\n\
                      office elm {\u{202f}coldest \u{ff0d}25 degC }\n";

fn read(text: &str) -> Office {
    lower(FileId(0), "office", text.into(), &parse(text), &NoParts)
}

fn pasted(office: &Office) -> usize {
    let problems = office.problems.iter();
    problems
        .filter(|problem| problem.id == ProblemId::CharacterPasted)
        .count()
}

#[test]
fn what_is_pasted_means_what_is_typed() {
    let (pasted_office, typed) = (read(PASTED), read(TYPED));
    assert_eq!((pasted(&pasted_office), pasted(&typed)), (1, 0));
    assert_eq!(pasted_office.problems.len(), typed.problems.len() + 1);
    for (one, other) in pasted_office.things.iter().zip(&typed.things) {
        assert!(!one.damaged);
        for key in [Key::Nominal, Key::Coldest] {
            let said = |thing: &drysheath_office::Thing| thing.quantity(key).map(|(quantity, _)| quantity.to_string());
            assert_eq!(said(one), said(other));
        }
        assert_eq!(one.text(Key::Title), other.text(Key::Title));
    }
    let problem = pasted_office
        .problems
        .iter()
        .find(|problem| problem.id == ProblemId::CharacterPasted);
    let fix = problem.unwrap().fix.as_ref().unwrap();
    assert_eq!(apply(PASTED, &fix.edits).unwrap(), TYPED);
}

#[test]
fn comments_texts_and_names_may_have_any_character() {
    for text in [
        "block tb { pairs 4 } # \u{201c}left\u{201d}\u{a0}of the door, \u{2212}3 m\n",
        "block tb { pairs 4, note \"\u{201c}left\u{201d}\u{a0}of the door, \u{2212}3 m\" }\n",
        "\u{feff}block tb { pairs 4 }\n",
    ] {
        assert_eq!(read(text).problems, [], "{text}");
    }
}

#[test]
fn a_pasted_dash_between_two_words_is_no_sign() {
    for text in [
        "block tb\u{2212}1 { pairs 4 }\n",
        "fuse-panel pdf { positions 1\u{2212}10 }\n",
    ] {
        assert_eq!(pasted(&read(text)), 0, "{text}");
        assert_eq!(read(text).problems.len(), 1, "{text}: {:?}", read(text).problems);
    }
}
