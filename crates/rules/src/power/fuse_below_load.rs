use drysheath_engineering::measure::Current;
use drysheath_engineering::protection::required_rating;

use super::feeds::{most_drawn, rounded, rounded_up};
use crate::finding::Sink;
use crate::lint::Inspection;
use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};

pub(crate) static RULE: Rule = Rule {
    id: RuleId::FuseBelowLoad,
    level: Level::Warning,
    while_planned: None,
    yields_to: &[],
    family: Family::Power,
    summary: "A fuse is smaller than 1.25 times what its load draws for long.",
    explanation: "A load that holds its power draws more current as the battery runs down, and most at the low end of its \
                  window: there the fuse must still hold, with a quarter to spare by NEC 210.20(A) and 215.3. Otherwise it \
                  opens in the power failure for which the battery is there. Take the next larger fuse that the wire \
                  bears. The NEC leaves out equipment under a communications utility's own control (90.2): this is advice \
                  there, and local code governs. Work on battery is for qualified people with insulated tools and no \
                  jewellery.",
    source: Source::Published("NEC 210.20(A) and 215.3"),
    example: Some(Example {
        failing: r"
power pdf fuse 1 -> m1 with 1.2 A, 14 awg, 6 m
#                           ^^^^^
",
        passing: r"
power pdf fuse 1 -> m1 with 1.25 A, 14 awg, 6 m
",
    }),
    check: Check::Office(check),
};

fn check(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {
    /// Tolerance for rounding, so that a fuse of exactly the required rating passes.
    const LEEWAY: f64 = 1e-9;
    let office = inspection.office;
    for feed in inspection.networks.feeds() {
        let Some(fuse) = feed.load.with.fuse else { continue };
        let Some(draw) = most_drawn(office, &feed) else {
            continue;
        };
        let required = required_rating(draw.current, Current::from_amperes(0.0));
        if fuse.value.si() >= required.amperes() * (1.0 - LEEWAY) {
            continue;
        }
        let unit = fuse.value.unit;
        let (current, least) = (rounded(draw.current, unit), rounded_up(required, unit));
        let load = feed.load.to.thing;
        let message = format!(
            "`{}` draws {} at {}, which is {current}, and a fuse of {} is less than 1.25 times that",
            office.name(load),
            draw.power,
            draw.voltage,
            fuse.value
        );
        sink.report(load, fuse.range, message).help(format!(
            "take a fuse of at least {least} that the wire bears; this is advisory, local code governs"
        ));
    }
}
