use drysheath_office::kinds::KindId;

use super::setting::{TooLow, supply_too_low};
use crate::figures::{in_unit_of, report_said};
use crate::finding::Sink;
use crate::lint::Inspection;
use crate::precedence::{Scope, Subject};
use crate::registry::RuleId;
use crate::reliability::air_system;
use crate::rule::{Check, Example, Family, Level, Rule, Source};

pub(crate) static RULE: Rule = Rule {
    id: RuleId::RegulatorSetAboveSupply,
    level: Level::Error,
    while_planned: None,
    yields_to: &[(
        Scope::Thing,
        &[RuleId::RegulatorSetAboveRating, RuleId::RegulatorsSameSet],
    )],
    family: Family::Regulators,
    summary: "A regulator is set to more than its supply lets it hold.",
    explanation: "A regulator holds its set pressure only while its supply exceeds it by the regulator's differential. \
                  Set higher, it is wide open and regulates nothing: the cables follow the dryer up and down, and so do \
                  the readings. Set it lower, or raise the supply. Where several dryers or regulators supply it, the lowest \
                  counts, because it may be the only one that runs: with or without check valves, not past a valve that \
                  stands closed. Bottles beside a compressor stand by, and `standby-too-low` judges them.",
    source: Source::Derived("supply less differential"),
    example: Some(Example {
        failing: r"
dryer d1 { compressor piston, delivers 14 psi, capacity 100 scfh, dew-point -40 degC, contact humidity { healthy closed } }
regulator r1 {
    set 10 psi
#   ^^^^^^^^^^
    differential 5 psi
    inlet-max 60 psi
    relief 15 psi
}
",
        passing: r"
dryer d1 { compressor piston, delivers 15.1 psi, capacity 100 scfh, dew-point -40 degC, contact humidity { healthy closed } }
",
    }),
    check: Check::Office(check),
};

fn check(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {
    for (id, _) in inspection.office.of_kind(KindId::Regulator) {
        if let Some(found) = supply_too_low(inspection, id) {
            report(inspection, &found, sink);
        }
    }
}

fn report(inspection: &Inspection<'_>, found: &TooLow, sink: &mut Sink<'_>) {
    let office = inspection.office;
    let TooLow {
        set,
        supply,
        needed,
        most,
    } = found;
    let (name, from) = (office.name(set.thing), office.name(supply.thing));
    let start = format!(
        "`{name}` is set to {}, and its supply from `{from}` is {}",
        set.quantity, supply.quantity
    );
    let message = match needed {
        Some(needed) => {
            let most = in_unit_of(set.quantity, *most, office);
            format!(
                "{start}: less the {} that it needs between them, it holds {most} at most",
                needed.quantity
            )
        }
        None => start,
    };
    let finding = report_said(sink, office, set.thing, set.place, message);
    finding.about([set.subject(), Subject::Supply(set.thing)]);
    finding.about(air_system(inspection, set.thing));
    finding.related(supply.place, "the supply");
    if let Some(needed) = needed {
        finding.related(needed.place, "its differential");
    }
    finding.help("set it lower, or raise the supply");
}
