use drysheath_engineering::measure::Current;
use drysheath_office::kinds::{Key, KindId, Role};
use drysheath_office::{Fields, Link, Networks, ThingId};

use super::feeds::{draws_from, rounded, supply_fuse, total};
use crate::figures::exceeds;
use crate::finding::Sink;
use crate::lint::Inspection;
use crate::precedence::Scope;
use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};

pub(crate) static RULE: Rule = Rule {
    id: RuleId::PanelUnprotected,
    level: Level::Warning,
    while_planned: None,
    yields_to: &[(Scope::Thing, &[RuleId::PanelOverloaded])],
    family: Family::Power,
    summary: "Neither the fuses of a panel nor its supply fuse keep it within its limit.",
    explanation: "A fuse carries its rated current for as long as it is asked to, so a panel may one day carry the sum of its \
                  fuses. Where that is above its limit, and the supply fuse is larger than the limit too, no fuse opens before the \
                  panel is too hot. Take a supply fuse that is no larger than the limit, or smaller fuses in the panel where the \
                  loads allow that. Local code governs. Work on battery is for qualified people with insulated tools and no \
                  jewellery.",
    source: Source::CommonPractice,
    example: Some(Example {
        failing: r"
fuse-panel pdf { positions 1 .. 10, current-max 2.5 A }
#                                   ^^^^^^^^^^^^^^^^^
",
        passing: r"
fuse-panel pdf { positions 1 .. 10, current-max 2.5 A }
power main -> pdf with 2.5 A, 6 awg, 5 m
power pdf fuse 1 -> m1 with 2.5 A, 14 awg, 6 m
power pdf fuse 2 -> m1 with 2.5 A, 14 awg, 6 m
# without spare pdf fuse 2
spare pdf fuse 3 .. 10
",
    }),
    check: Check::Office(check),
};

fn check(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {
    let office = inspection.office;
    for (id, panel) in office.of_kind(KindId::FusePanel) {
        let Some((limit, _)) = panel.quantity(Key::CurrentMax) else {
            continue;
        };
        let (count, fuses) = fuses(inspection.networks, id);
        let before = supply_fuse(inspection, id);
        if !exceeds(fuses.amperes(), limit.si()) || before.is_some_and(|before| !exceeds(before.value.si(), limit.si()))
        {
            continue;
        }
        let name = office.name(id);
        let sum = rounded(fuses, limit.unit);
        let own = match count {
            1 => format!("the fuse in use on `{name}` is {sum}"),
            _ => format!("the {count} fuses in use on `{name}` add up to {sum}"),
        };
        let supply = before.map_or_else(
            || "its supply fuse is not known".to_owned(),
            |before| format!("its supply fuse is {}", before.value),
        );
        let drawn = rounded(total(&draws_from(inspection, id)), limit.unit);
        let message = format!("{own}, {supply}, and the panel may carry {limit}; its loads draw at most {drawn}");
        let finding = sink.report(id, panel.place_of(Key::CurrentMax, office.file), message);
        if let Some(before) = before {
            finding.related(office.place(before.range), format!("the supply fuse of `{name}`"));
        }
        finding.help(format!(
            "take a supply fuse of at most {limit}, or smaller fuses in the panel where the loads allow that"
        ));
    }
}

/// Number of positions of a panel with a stated fuse, and the sum of the fuses. A position that is used twice counts
/// once.
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
