use drysheath_engineering::measure::Flow;
use drysheath_office::kinds::{Key, KindId};
use drysheath_office::{Decay, Field, Fields, Measured, Reading, Thing};
use drysheath_prediction::{DecayTest, decay_test};
use drysheath_text::TextRange;

use crate::figures::{below, computed};
use crate::finding::Sink;
use crate::lint::Inspection;
use crate::records::of_day::on_day;
use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};
use crate::settings::PracticeKey;

pub(crate) static RULE: Rule = Rule {
    id: RuleId::DecayAboveUsage,
    level: Level::Warning,
    while_planned: None,
    yields_to: &[],
    family: Family::Records,
    summary: "A cable lost more air in its decay test than its sections declare.",
    explanation: "A cable that is closed loses pressure as fast as it loses air: what it lost follows from its volume, the two \
                  absolute pressures and the temperatures. The newest test of each cable counts. Usage is declared for the \
                  pressure in service; for the test it is restated for the mean pressure of the test, since small leaks lose \
                  in proportion to p\u{b2} less that of the outside air. Each pressure is allowed half a step of the gauge, taken \
                  from its last digit. Where the loss still exceeds the declared usage of its sections and branches by more \
                  than `meter-leeway`, the cable leaks more than the record knows, and all pressures computed from it are too \
                  high. Look for the leak, or correct the usage. A test without temperatures is taken as one at constant \
                  temperature: 1 °F of cooling looks like 0.2 % of the absolute pressure, so note them. A cable is not checked \
                  while one of its sections states no volume.",
    source: Source::Derived("amount of air in a closed volume, ideal gas"),
    example: Some(Example {
        failing: r"
reading 2026-05-12 c101 decay 9.4 psi .. 8.8 psi over 4 min
#                  ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^
",
        passing: r"
reading 2026-04-02 c101 decay 9.4 psi .. 8.1 psi over 4 min
reading 2026-05-12 c101 decay 9.4 psi .. 8.9 psi over 4 min
",
    }),
    check: Check::Office(check),
};

fn check(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {
    let office = inspection.office;
    let decay = |reading: &Reading| match reading.measured {
        Measured::Decay(decay) => Some((reading.of.thing?, decay)),
        _ => None,
    };
    let tests = || (0..).zip(&office.readings);
    for (number, reading) in tests() {
        let Some((cable, decay_read)) = decay(reading) else {
            continue;
        };
        let is_later = |(other_number, other): (i32, &Reading)| {
            decay(other).is_some_and(|(of, _)| of == cable)
                && (other.date.value, other_number) > (reading.date.value, number)
        };
        let thing = office.thing(cable);
        if !thing.is(KindId::Cable) {
            continue;
        }
        // With the cable temperature read on that day, and the pressures in service.
        let test = on_day(inspection, reading.date.value, |of_day| {
            decay_test(of_day.office, &inspection.prediction.air, cable, &decay_read)
        });
        let Some(test) = test else {
            continue;
        };
        let [least, declared] = [test.least, test.declared].map(Flow::cubic_metres_per_second);
        let most = declared * (1.0 + inspection.settings.fraction(PracticeKey::MeterLeeway));
        if below(most, least) && !tests().any(is_later) {
            report(inspection, reading, &decay_read, thing, test, sink);
        }
    }
}

fn report(
    inspection: &Inspection<'_>,
    reading: &Reading,
    decay: &Decay,
    cable: &Thing,
    test: DecayTest,
    sink: &mut Sink<'_>,
) {
    const SHOWN: usize = 6;
    // Gauge and watch allow no more digits.
    const DIGITS: i32 = 3;
    let office = inspection.office;
    let Some(on) = reading.of.thing else { return };
    let usages: Vec<_> = sections(cable)
        .filter_map(|section| section.quantity(Key::Usage))
        .collect();
    let Some((beside, _)) = usages.first() else { return };
    let shown = |flow: Flow| computed(*beside, flow.cubic_metres_per_second(), office).to_digits(DIGITS);
    let [lost, least, declared] = [test.lost, test.least, test.declared].map(shown);
    let leeway = (1000.0 * inspection.settings.fraction(PracticeKey::MeterLeeway)).round() / 10.0;
    let (from, to) = decay.pressures;
    let message = format!(
        "`{}` fell from {from} to {to} in {} on {}: it lost {lost}, at least {least} given the step of the gauge, but its \
         sections declare {declared} at that pressure",
        office.name(on),
        decay.during,
        reading.date.value
    );
    let range = TextRange::new(reading.of.range.start, reading.range.end);
    let finding = sink.report(on, range, message);
    for (usage, place) in usages.iter().take(SHOWN) {
        finding.related(*place, format!("a declared usage of {usage}"));
    }
    finding.help(format!(
        "look for a leak, or correct the usage; `meter-leeway` allows {leeway} % more than is declared"
    ));
}

/// The fields of the sections of a cable and of its branches.
fn sections(cable: &Thing) -> impl Iterator<Item = &[Field]> {
    let branches = cable
        .named(Key::Branch)
        .flat_map(|(.., fields)| fields.named(Key::Section));
    cable.named(Key::Section).chain(branches).map(|(.., section)| section)
}
