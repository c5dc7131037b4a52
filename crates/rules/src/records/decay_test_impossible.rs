use drysheath_engineering::measure::{Temperature, Time};
use drysheath_office::{Decay, Measured};
use drysheath_text::TextRange;

use crate::figures::below;
use crate::finding::Sink;
use crate::lint::Inspection;
use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};

pub(crate) static RULE: Rule = Rule {
    id: RuleId::DecayTestImpossible,
    level: Level::Error,
    while_planned: None,
    yields_to: &[],
    family: Family::Records,
    summary: "A decay test shows something impossible.",
    explanation: "A closed cable only loses air. Its pressure rises with its temperature and not beyond, it never falls below that of \
                  the surrounding air, and the test takes some time. Where the figures show something else, the two pressures were \
                  exchanged, a valve let air in, a temperature was left out, or a figure has a wrong unit; nothing is concluded \
                  from such a test. Correct the statement, or test again with the cable closed at both ends.",
    source: Source::Derived("amount of air in a closed volume, ideal gas"),
    example: Some(Example {
        failing: r"
reading 2026-05-12 c101 decay 9.1 psi .. 9.4 psi over 20 min at 15 degC .. 16 degC
#                  ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^
",
        passing: r"
reading 2026-05-12 c101 decay 9.3 psi .. 9.37 psi over 20 min at 15 degC .. 16 degC
",
    }),
    check: Check::Office(check),
};

fn check(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {
    let office = inspection.office;
    for reading in &office.readings {
        let Measured::Decay(decay) = reading.measured else {
            continue;
        };
        let Some((on, why)) = reading.of.thing.zip(impossible(inspection, &decay)) else {
            continue;
        };
        let message = format!(
            "the decay test of `{}` on {} is impossible: {why}",
            office.name(on),
            reading.date.value
        );
        let range = TextRange::new(reading.of.range.start, reading.range.end);
        sink.report(on, range, message)
            .help("correct the pressures, temperatures or the time, or test again");
    }
}

/// Describes an impossible figure in a decay test.
fn impossible(inspection: &Inspection<'_>, decay: &Decay) -> Option<String> {
    let (from, to) = decay.pressures;
    let office = inspection.office;
    if Time::of(decay.during).is_none_or(|time| time.seconds() <= 0.0) {
        return Some(format!("it took {}", decay.during));
    }
    if let Some(low) = [from, to].into_iter().find(|pressure| office.figure(*pressure) < 0.0) {
        return Some(format!("{low} is below the pressure of the outside air"));
    }
    let [before, after] = [from, to].map(|pressure| office.absolute(pressure).pascals());
    let Some((cold, warm)) = decay.temperatures else {
        return below(before, after)
            .then(|| format!("the pressure rose from {from} to {to}, and no temperatures explain it"));
    };
    let [cold_kelvins, warm_kelvins] =
        [cold, warm].map(|temperature| Temperature::of(temperature).map(Temperature::kelvins));
    let explained = before * warm_kelvins? / cold_kelvins?;
    below(explained, after)
        .then(|| format!("from {cold} to {warm} the pressure of a closed cable does not change from {from} to {to}"))
}
