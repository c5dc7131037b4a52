use drysheath_engineering::measure::Current;
use drysheath_engineering::protection::WireLimit;
use drysheath_office::Link;

use super::conductors::{Bound, Conductor, conductor, conductors};
use crate::coverage::MissingFigure;
use crate::figures::exceeds;
use crate::finding::Sink;
use crate::lint::Inspection;
use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};

pub(crate) static RULE: Rule = Rule {
    id: RuleId::FuseAboveWire,
    level: Level::Error,
    while_planned: None,
    yields_to: &[],
    family: Family::Power,
    summary: "A fuse is larger than its conductor allows.",
    explanation: "With too large a fuse the wire itself becomes the fuse, and it burns where it lies. NEC 240.4(D) allows 7 A on \
                  18 AWG copper, 10 A on 16, 15 A on 14, 20 A on 12 and 30 A on 10; larger wire goes by Table 310.16 at 75 degC \
                  and the next standard fuse (240.4(B)). Metric wire goes by IEC 60364-5-52, Table B.52.2, method C. Where the \
                  maker of the wire allows less, or the tables do not name the size, the run says so, `limit 5 A`, and that \
                  counts instead; it does not raise what a table allows. A fuse that is too \
                  large for the thinnest wire in the table is too large for thinner wire as well; for smaller fuses see \
                  wire-not-checked. Wire that is fed through a monitor is protected by the fuse upstream of that monitor. The NEC \
                  does not cover installations under the exclusive control of a communications utility (90.2): this is advice \
                  there, and local code governs. Work on battery is for qualified people with insulated tools and no jewellery.",
    source: Source::FromMemory("NEC 240.4(D), 240.4(B), 240.6(A) and Table 310.16; IEC 60364-5-52 Table B.52.2"),
    example: Some(Example {
        failing: r"
power pdf fuse 1 -> m1 with 20 A, 14 awg, 6 m
#                           ^^^^
",
        passing: r"
power pdf fuse 1 -> m1 with 15 A, 14 awg, 6 m
",
    }),
    check: Check::Office(check),
};

/// Whether a fuse can be checked against the conductor of its feed.
pub(crate) fn compared(inspection: &Inspection<'_>, feed: &Link) -> Result<(), MissingFigure> {
    conductor(inspection, feed)?.compared().map(|_| ())
}

fn check(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {
    for conductor in conductors(inspection) {
        report(inspection, &conductor, sink);
    }
}

fn report(inspection: &Inspection<'_>, conductor: &Conductor<'_>, sink: &mut Sink<'_>) -> Option<()> {
    let office = inspection.office;
    let (rating, bound) = conductor.compared().ok()?;
    let is_above = |limit: Current| exceeds(rating.amperes(), limit.amperes());
    let (fuse, gauge) = (conductor.fuse, conductor.gauge);
    let why = match &bound {
        Bound::Stated(limit) if is_above(Current::of(limit.value)?) => {
            format!("its run allows at most {}", limit.value)
        }
        Bound::Table(WireLimit::AtMost(limit), table) if is_above(*limit) => {
            format!("at most {} A by {}", limit.amperes(), table.name)
        }
        Bound::Table(WireLimit::LessThan(limit), table) if is_above(*limit) => {
            let thinnest = table.thinnest()?;
            format!("at most {} A even on {thinnest} by {}", limit.amperes(), table.name)
        }
        _ => return None,
    };
    let message = format!("the {} fuse is too large for {} wire: {why}", fuse.value, gauge.value);
    let finding = sink.report(conductor.feed.to.thing, fuse.range, message);
    finding.related(office.place(gauge.range), "the wire that this fuse protects");
    match (&bound, conductor.limit) {
        (Bound::Stated(limit), _) => {
            finding.related(
                office.place(limit.range),
                "the highest fuse that the maker of the wire allows",
            );
        }
        (Bound::Table(..), Some(limit)) => {
            finding.related(
                office.place(limit.range),
                "this limit does not raise what the table allows",
            );
        }
        (Bound::Table(..), None) => {}
    }
    finding.help("take a smaller fuse or a larger wire; this is advisory, local code governs");
    Some(())
}
