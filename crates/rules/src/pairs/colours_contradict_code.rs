use drysheath_engineering::colour::{Colour, parse_colours, two_colours};
use drysheath_office::kinds::{Key, Role};
use drysheath_office::{Fields, printed};
use drysheath_syntax::{Fix, Medium};
use drysheath_text::TextRange;

use crate::finding::Sink;
use crate::lint::Inspection;
use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};
use crate::runs::whole_runs;

pub(crate) static RULE: Rule = Rule {
    id: RuleId::ColoursContradictCode,
    level: Level::Error,
    while_planned: None,
    yields_to: &[],
    family: Family::Pairs,
    summary: "The colours of a pair are not those of its number.",
    explanation: "The colour code gives each of the 25 pairs of a group its own tip and ring colours. Where number and \
                  colours disagree, a technician finds one pair by counting and another by looking. Look at the pair: one \
                  of the two is wrong, or the cable was spliced out of turn, which is worth a note. Cable with paper insulation has \
                  other colours and no code of this kind: give no colours for it.",
    source: Source::Published("7 CFR 1755.390, 1755.870 and 1755.890"),
    example: Some(Example {
        failing: r"
wire ps1 -> c101 pair 37 black-green -> tb pair 3 -> m1 sensor 3
#                        ^^^^^^^^^^^
",
        passing: r"
wire ps1 -> c101 pair 37 OR-BK -> tb pair 3 white-green -> m1 sensor 3
",
    }),
    check: Check::Office(check),
};

fn check(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {
    let office = inspection.office;
    let wires = whole_runs(office, Medium::Wire);
    for end in wires.flat_map(|run| &run.ends) {
        let Some(((range, id), port)) = end.colours.zip(end.thing).zip(end.port) else {
            continue;
        };
        let (number, last) = end.numbers;
        if port.role != Role::Pair || number != last {
            continue;
        }
        let stated = range.of(&office.text);
        if !office.thing(id).has_colour_code() {
            let name = office.name(id);
            let message = format!("`{name}` is insulated with paper, and pair {number} of it has no colours");
            let before = TextRange::new(end.detail.end.min(range.start), range.end);
            sink.report(id, range, message)
                .help("delete the colours, or correct what the cable is insulated with")
                .fix(Fix::replace(before, "", "Delete the colours"));
            continue;
        }
        let Some((code, read)) = office
            .tip_and_ring(id, number)
            .zip(parse_colours(stated).or_else(|| two_colours(stated)))
        else {
            continue;
        };
        let is_own = office.thing(id).has(Key::Pair);
        if read == code || is_own && read == (code.1, code.0) {
            continue;
        }
        let wanted = like(stated, code.0, code.1);
        let message = format!(
            "pair {} of `{}` is {wanted} by {}, not {stated}",
            printed(number),
            office.name(id),
            if is_own { "its record" } else { "the colour code" }
        );
        sink.report(id, range, message)
            .help("look which is right, the number or the colours")
            .fix(Fix::replace(range, wanted.as_str(), format!("Write `{wanted}`")));
    }
}

/// Two colours in the notation of `sample`: words or letters.
fn like(sample: &str, tip: Colour, ring: Colour) -> String {
    const LETTERS: usize = 5;
    if sample.len() > LETTERS {
        return format!("{}-{}", tip.name(), ring.name());
    }
    let letters = format!("{}-{}", tip.abbreviation(), ring.abbreviation());
    if sample.chars().any(|letter| letter.is_ascii_lowercase()) {
        letters.to_lowercase()
    } else {
        letters
    }
}
