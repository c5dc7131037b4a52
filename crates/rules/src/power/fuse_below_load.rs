use drysheath_engineering::measure::Current;
use drysheath_engineering::protection::required_rating;
use drysheath_engineering::units::Quantity;
use drysheath_office::kinds::Role;
use drysheath_office::{Link, Office, Spanned};

use super::feeds::{HighestDraw, all_draw_through, draws_through, rounded, rounded_up, total};
use crate::coverage::MissingFigure;
use crate::figures::{below, names};
use crate::finding::Sink;
use crate::lint::Inspection;
use crate::precedence::Subject;
use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};

pub(crate) static RULE: Rule = Rule {
    id: RuleId::FuseBelowLoad,
    level: Level::Error,
    while_planned: None,
    yields_to: &[],
    family: Family::Power,
    summary: "A fuse is smaller than 1.25 times the current of the loads that it feeds.",
    explanation: "A constant-power load draws more current as the battery runs down, and most at the low end of its window: even \
                  there the fuse must hold, with a quarter to spare (NEC 210.20(A) and 215.3). Otherwise it opens during the power \
                  failure that the battery is there for, and everything downstream goes blind. The supply fuse of a panel carries \
                  all loads of the panel together. Take the next larger fuse that the wire allows. The NEC does not cover \
                  installations under the exclusive control of a communications utility (90.2): this is advice there, and local \
                  code governs. Work on battery is for qualified people with insulated tools and no jewellery.",
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

/// The fuse of a feed, if the power of all its loads is stated.
pub(crate) fn compared(inspection: &Inspection<'_>, feed: &Link) -> Result<Spanned<Quantity>, MissingFigure> {
    let fuse = feed.with.fuse.ok_or(MissingFigure::Fuse)?;
    all_draw_through(inspection, feed).map(|()| fuse)
}

fn check(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {
    let office = inspection.office;
    // A load whose own fuse is too small is reported at that fuse, not again at every fuse before it.
    let mut reported = Vec::new();
    let (own, shared): (Vec<&Link>, Vec<&Link>) = inspection
        .networks
        .feeds()
        .partition(|feed| feed.to.port.role == Role::Load);
    for feed in own.into_iter().chain(shared) {
        let Some(fuse) = feed.with.fuse.filter(|_| feed.is_last(office)) else {
            continue;
        };
        let mut draws = draws_through(inspection, feed);
        draws.retain(|draw| feed.to.port.role == Role::Load || !reported.contains(&draw.load));
        let required = required_rating(total(&draws), Current::from_amperes(0.0));
        if below(fuse.value.si(), required.amperes()) {
            report(office, feed, fuse, &draws, sink);
            reported.extend(draws.iter().map(|draw| draw.load));
        }
    }
}

fn report(office: &Office, feed: &Link, fuse: Spanned<Quantity>, draws: &[HighestDraw], sink: &mut Sink<'_>) {
    let required = required_rating(total(draws), Current::from_amperes(0.0));
    let unit = fuse.value.unit;
    let (current, least) = (rounded(total(draws), unit), rounded_up(required, unit));
    let loads: Vec<_> = draws.iter().map(|draw| draw.load).collect();
    let said = match draws {
        [only] => format!(
            "{} draws {} at {}, which is {current}",
            names(office, &loads),
            only.power,
            only.voltage
        ),
        _ => format!(
            "{} together draw {current} when the battery is nearly empty",
            names(office, &loads)
        ),
    };
    let message = format!("{said}; the {} fuse is less than 1.25 times that", fuse.value);
    sink.report(feed.to.thing, fuse.range, message)
        .about(loads.into_iter().map(Subject::Thing))
        .help(format!(
            "take a fuse of at least {least} that the wire allows; this is advisory, local code governs"
        ));
}
