use drysheath_engineering::measure::{ConductorArea, Current};
use drysheath_engineering::protection::wire_limit;
use drysheath_engineering::trade_size::TradeSize;
use drysheath_office::{Office, Run};
use drysheath_syntax::Medium;

use crate::finding::Sink;
use crate::lint::Inspection;
use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};

/// The smallest conductor that NEC 240.4(D) is used for here.
const SMALLEST: TradeSize = TradeSize::Gauge(14);

pub(crate) static RULE: Rule = Rule {
    id: RuleId::FuseAboveWire,
    level: Level::Warning,
    while_planned: None,
    yields_to: &[],
    family: Family::Power,
    summary: "A fuse is larger than its conductor bears.",
    explanation: "Behind a fuse that is too large the wire is the fuse, and it burns where it lies. NEC 240.4(D) bears 15 A \
                  on 14 AWG copper, 20 A on 12 and 30 A on 10. A smaller wire bears less than 14 AWG, how much less is not \
                  checked here, nor is any wire above 10 AWG. The NEC leaves out equipment under a communications \
                  utility's own control (90.2): this is advice there, and local code governs. Work on battery is for \
                  qualified people with insulated tools and no jewellery.",
    source: Source::Published("NEC 240.4(D)"),
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

fn check(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {
    let office = inspection.office;
    for run in office
        .runs
        .iter()
        .filter(|run| run.medium == Medium::Power && !run.damaged)
    {
        report(office, run, sink);
    }
}

fn report(office: &Office, run: &Run, sink: &mut Sink<'_>) -> Option<()> {
    let (fuse, gauge) = (run.with.fuse?, run.with.gauge?);
    let area = ConductorArea::of(gauge.value)?;
    let is_smaller = area.square_metres() < SMALLEST.area().square_metres();
    // A wire below the table bears less than the smallest in it: that much is certain.
    let limit = wire_limit(area).or_else(|| wire_limit(SMALLEST.area()).filter(|_| is_smaller))?;
    if Current::of(fuse.value)? <= limit {
        return None;
    }
    let on = run.ends.last()?.thing?;
    let bears = if is_smaller {
        format!("less than the {} A of {SMALLEST}", limit.amperes())
    } else {
        format!("at most {} A", limit.amperes())
    };
    let message = format!(
        "a fuse of {} is too large for {}, which bears {bears} by NEC 240.4(D)",
        fuse.value, gauge.value
    );
    sink.report(on, fuse.range, message)
        .related(office.place(gauge.range), "the conductor")
        .help("take a smaller fuse or a larger wire; this is advisory, local code governs");
    Some(())
}
