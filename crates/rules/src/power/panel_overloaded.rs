use drysheath_engineering::units::Quantity;
use drysheath_office::kinds::{Key, KindId};
use drysheath_office::{Fields, ThingId};

use super::feeds::{all_draw_from, draws_from, rounded, total};
use crate::coverage::MissingFigure;
use crate::figures::{exceeds, names};
use crate::finding::Sink;
use crate::lint::Inspection;
use crate::precedence::{Scope, Subject};
use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};

pub(crate) static RULE: Rule = Rule {
    id: RuleId::PanelOverloaded,
    level: Level::Error,
    while_planned: None,
    yields_to: &[(Scope::Thing, &[RuleId::FuseBelowLoad])],
    family: Family::Power,
    summary: "The loads of a panel draw more than the panel may carry.",
    explanation: "Constant-power loads draw most when the battery is nearly empty, at the low ends of their windows, and all at \
                  once. More than its limit heats the panel's bus and its supply. Move a load to another panel. Whether fuses keep a \
                  fault within the limit is what panel-unprotected looks at. Local code governs; work on battery is for qualified \
                  people with insulated tools and no jewellery.",
    source: Source::CommonPractice,
    example: Some(Example {
        failing: r"
fuse-panel pdf { positions 1 .. 10, current-max 0.9 A }
#                                   ^^^^^^^^^^^^^^^^^
",
        passing: r"
fuse-panel pdf { positions 1 .. 10, current-max 1.25 A }
power main -> pdf with 1.25 A, 6 awg, 5 m
power pdf fuse 1 -> m1 with 1.25 A, 14 awg, 6 m
",
    }),
    check: Check::Office(check),
};

/// Current limit of a panel, if the power of all its loads is stated.
pub(crate) fn compared(inspection: &Inspection<'_>, panel: ThingId) -> Result<Quantity, MissingFigure> {
    let limit = inspection.office.thing(panel).quantity(Key::CurrentMax);
    let (limit, _) = limit.ok_or(MissingFigure::PanelLimit)?;
    all_draw_from(inspection, panel).map(|()| limit)
}

fn check(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {
    let office = inspection.office;
    for (id, panel) in office.of_kind(KindId::FusePanel) {
        let Some((limit, _)) = panel.quantity(Key::CurrentMax) else {
            continue;
        };
        let draws = draws_from(inspection, id);
        let current = total(&draws);
        if !exceeds(current.amperes(), limit.si()) {
            continue;
        }
        let loads: Vec<_> = draws.iter().map(|draw| draw.load).collect();
        let draw = if loads.len() == 1 { "draws" } else { "together draw" };
        let message = format!(
            "{} {draw} {} from `{}` when the battery is nearly empty, but the panel may carry only {limit}",
            names(office, &loads),
            rounded(current, limit.unit),
            office.name(id)
        );
        let finding = sink.report(id, panel.place_of(Key::CurrentMax, office.file), message);
        finding.help("move a load to another panel, or feed it from a larger one");
        // It yields only if there is a result on the fuse of each of its loads.
        let mut loads = loads.into_iter().map(|load| [Subject::Thing(load)]);
        finding.about(loads.next().into_iter().flatten());
        for load in loads {
            finding.and_about(load);
        }
    }
}
