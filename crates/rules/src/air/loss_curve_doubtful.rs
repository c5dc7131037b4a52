use drysheath_engineering::units::Quantity;
use drysheath_office::Fields;
use drysheath_office::kinds::{Key, ValveFunction};

use crate::figures::{exceeds, report_said};
use crate::finding::Sink;
use crate::lint::Inspection;
use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};

pub(crate) static RULE: Rule = Rule {
    id: RuleId::LossCurveDoubtful,
    level: Level::Warning,
    while_planned: None,
    yields_to: &[],
    family: Family::Air,
    summary: "Two stated losses of one thing lie on a curve that bends the wrong way.",
    explanation: "Slow flow through pores loses pressure in proportion to the flow, fast flow through a narrow place in \
                  proportion to its square \
                  (Forchheimer's law, from memory). So at n times the flow a passive thing takes between n and n\u{b2} times the pressure. Where \
                  the two stated points are farther apart or nearer together, one of their four figures is wrong. One tenth is \
                  allowed for figures that a maker rounds. The spring of a check valve takes nearly the same at every flow, so that only the \
                  upper bound is checked for it; so does a float meter, for which the result may be accepted.",
    source: Source::FromMemory("Forchheimer's law: a loss of a\u{b7}Q + b\u{b7}Q\u{b2}, neither part negative"),
    example: Some(Example {
        failing: r"
filter fl1 { rating 60 psi, loss 0.1 psi at 10 scfh, loss 0.12 psi at 20 scfh }
#                                                    ^^^^^^^^^^^^^^^^^^^^^^^^
air d1 -> fl1 -> r1 -> f1 -> mf with 3/8 in tube, 1/4 in bore, 4 m
",
        passing: r"
filter fl1 { rating 60 psi, loss 0.1 psi at 10 scfh, loss 0.2 psi at 20 scfh }
air d1 -> fl1 -> r1 -> f1 -> mf with 3/8 in tube, 1/4 in bore, 4 m
",
    }),
    check: Check::Office(check),
};

/// Factor by which a maker's rounded figures may deviate from the law (common practice, no source).
const ROUNDED: f64 = 1.1;

fn check(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {
    let office = inspection.office;
    for (id, thing) in office.things().filter(|(_, thing)| thing.has(Key::Loss)) {
        let mut points: Vec<_> = thing.losses().collect();
        points.sort_by(|(one, _), (other, _)| one.flow.si().total_cmp(&other.flow.si()));
        let [(low, low_place), (high, high_place)] = points.as_slice() else {
            continue;
        };
        let (more, times) = (high.flow.si() / low.flow.si(), high.pressure.si() / low.pressure.si());
        // A loss that does not rise at all is reported by another rule.
        if !(times > 1.0 && more > 1.0) {
            continue;
        }
        let has_spring = thing.choice(Key::Function) == Some(ValveFunction::Check);
        let is_flat = !has_spring && exceeds(more, times * ROUNDED);
        let is_steep = exceeds(times, more * more * ROUNDED);
        if !is_flat && !is_steep {
            continue;
        }
        let [least, most] = [more, more * more].map(|times| {
            Quantity {
                value: low.pressure.value * times,
                ..low.pressure
            }
            .to_digits(DIGITS)
        });
        let [more, square] = [more, more * more].map(shown_factor);
        let as_much = if has_spring {
            format!("at most {square} times as much, {most}")
        } else {
            format!("{more} to {square} times as much, {least} to {most}")
        };
        let message = format!(
            "`{}` would lose {high}: {more} times the flow of {} loses {as_much}",
            office.name(id),
            low.flow
        );
        report_said(sink, office, id, *high_place, message)
            .related(*low_place, format!("the loss at {}", low.flow))
            .help("look both points up: one of these four figures is wrong");
    }
}

const DIGITS: i32 = 3;

/// Formats a factor with two decimals.
fn shown_factor(factor: f64) -> String {
    let hundredths = (factor * 100.0).round() / 100.0;
    hundredths.to_string()
}
