use drysheath_engineering::measure::Current;
use drysheath_engineering::units::Quantity;
use drysheath_office::kinds::{Key, KindId, Role};
use drysheath_office::{Fields, Link, Networks, ThingId};

use super::feeds::{most_drawn, rounded};
use crate::finding::Sink;
use crate::lint::Inspection;
use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};

pub(crate) static RULE: Rule = Rule {
    id: RuleId::PanelOverloaded,
    level: Level::Error,
    while_planned: None,
    yields_to: &[],
    family: Family::Power,
    summary: "A panel's fuses in use add up to more than the panel may carry.",
    explanation: "Each fuse lets its own current through for as long as it likes, so a panel may one day carry the sum of \
                  them. Where that is above its limit no fuse opens before the panel or its supply is too hot. Take \
                  smaller fuses where the loads allow it, or move a feed to another panel. Local code governs; work on \
                  battery is for qualified people with insulated tools and no jewellery.",
    source: Source::CommonPractice,
    example: Some(Example {
        failing: r"
fuse-panel pdf { positions 1 .. 10, limit 2.5 A }
#                                   ^^^^^^^^^^^
",
        passing: r"
fuse-panel pdf { positions 1 .. 10, limit 3 A }
",
    }),
    check: Check::Office(check),
};

fn check(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {
    /// Tolerance for rounding in the sum, so that fuses of exactly the limit pass.
    const LEEWAY: f64 = 1e-9;
    let office = inspection.office;
    for (id, panel) in office.of_kind(KindId::FusePanel) {
        let Some((limit, _)) = panel.quantity(Key::Limit) else {
            continue;
        };
        let (count, fuses) = fuses(inspection.networks, id);
        if fuses.amperes() <= limit.si() * (1.0 + LEEWAY) {
            continue;
        }
        let name = office.name(id);
        let sum = rounded(fuses, limit.unit);
        let which = if count == 1 {
            "the fuse in use".to_owned()
        } else {
            format!("the {count} fuses in use")
        };
        let makes = if count == 1 { "is" } else { "add up to" };
        let drawn = drawn(inspection, id, limit);
        let message = format!("{which} on `{name}` {makes} {sum}, and the panel may carry {limit}{drawn}");
        sink.report(id, panel.place_of(Key::Limit, office.file), message)
            .help("take smaller fuses where the loads allow it, or move a feed to another panel");
    }
}

/// The number of a panel's positions with a stated fuse, and the sum of the fuses. A position that is used twice counts once.
fn fuses(networks: &Networks, panel: ThingId) -> (u32, Current) {
    let (mut count, mut sum) = (0, Current::from_amperes(0.0));
    for link in networks.power.leaving(panel) {
        let Some(rating) = stated(link) else { continue };
        let is_first = |other: &Link| other.from.number == link.from.number && stated(other).is_some();
        let first = networks.power.leaving(panel).find(|other| is_first(other));
        if first.is_some_and(|first| std::ptr::eq(first, link)) {
            count += 1;
            sum = sum + rating;
        }
    }
    (count, sum)
}

fn stated(link: &Link) -> Option<Current> {
    link.with
        .fuse
        .filter(|_| link.from.port.role == Role::Fuse)
        .and_then(|fuse| Current::of(fuse.value))
}

/// The known load of a panel, as the end of a sentence.
fn drawn(inspection: &Inspection<'_>, panel: ThingId, like: Quantity) -> String {
    let feeds = inspection.networks.feeds().filter(|feed| feed.load.from.thing == panel);
    let draws: Option<Vec<Current>> = feeds
        .map(|feed| Some(most_drawn(inspection.office, &feed)?.current))
        .collect();
    match draws {
        Some(draws) => format!(
            "; the loads draw at most {}",
            rounded(draws.into_iter().sum(), like.unit)
        ),
        None => String::new(),
    }
}
