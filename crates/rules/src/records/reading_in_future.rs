use drysheath_office::Date;

use crate::finding::Sink;
use crate::lint::Inspection;
use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};

pub(crate) static RULE: Rule = Rule {
    id: RuleId::ReadingInFuture,
    level: Level::Error,
    while_planned: None,
    yields_to: &[],
    family: Family::Records,
    summary: "A reading is dated in the future.",
    explanation: "Of each signal the newest reading counts. One with a wrong day in the future counts until that day, so that every \
                  true reading before it is taken for history, and what it shows is never compared. Correct the day. \
                  Tomorrow passes, since days do not begin everywhere at once.",
    source: Source::Language,
    example: Some(Example {
        failing: r"
reading 2027-05-12 ps1 7.4 psi
#       ^^^^^^^^^^
",
        passing: r"
reading 2026-11-02 ps1 7.4 psi
",
    }),
    check: Check::OfficeOn(check),
};

/// In other time zones the next day may have begun.
const DAYS_AHEAD: i32 = 1;

fn check(inspection: &Inspection<'_>, today: Date, sink: &mut Sink<'_>) {
    for reading in &inspection.office.readings {
        if let Some(on) = reading.of.thing
            && reading.date.value.days_since(today) > DAYS_AHEAD
        {
            let message = format!("this reading is dated {}, and today is {today}", reading.date.value);
            sink.report(on, reading.date.range, message)
                .help("write the day on which it was read");
        }
    }
}
