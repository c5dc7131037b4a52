use drysheath_office::Fields;
use drysheath_office::kinds::{Key, ThingStage};

use crate::finding::Sink;
use crate::lint::Inspection;
use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};

pub(crate) static RULE: Rule = Rule {
    id: RuleId::ReadingsWhilePlanned,
    level: Level::Warning,
    while_planned: None,
    yields_to: &[],
    family: Family::Records,
    summary: "An office or a thing that is only planned has readings.",
    explanation: "While an office is planned, what is not wired, fed or grounded yet is only a note. Nobody takes readings in an \
                  office that exists on paper only: it has been built, and the same gaps are faults now. State the stage that \
                  the office has reached, or delete the readings if they were copied from another office.",
    source: Source::CommonPractice,
    example: Some(Example {
        failing: r#"
office elm-hollow {
    title "Elm Hollow", site "ELMH01", elevation 310 m, stage planned, coldest -25 degC
#                                                       ^^^^^^^^^^^^^
    air-minimum { underground 5 psi, buried 3 psi, aerial 1 psi }
}
reading 2026-05-12 f1 7.1 scfh
"#,
        passing: r#"
office elm-hollow {
    title "Elm Hollow", site "ELMH01", elevation 310 m, stage in-service, coldest -25 degC
    air-minimum { underground 5 psi, buried 3 psi, aerial 1 psi }
}
reading 2026-05-12 f1 7.1 scfh
"#,
    }),
    check: Check::Office(check),
};

fn check(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {
    let office = inspection.office;
    of_things(inspection, sink);
    let newest = office.readings.iter().max_by_key(|reading| reading.date.value);
    let itself = office.itself.map(|id| (id, office.thing(id)));
    let planned = itself.filter(|(_, itself)| office.is_planned() && itself.has(Key::Stage) && !itself.damaged);
    let Some(((id, itself), newest)) = planned.zip(newest) else {
        return;
    };
    let message = format!(
        "office `{}` is planned, but has a reading of {}",
        office.name(id),
        newest.date.value
    );
    sink.report(id, itself.place_of(Key::Stage, office.file), message)
        .related(office.place(newest.range), "the newest reading")
        .help("state the stage that it has reached: `stage installed` or `stage in-service`");
}

/// Reports readings of things that are only planned. Disused things may have been read.
fn of_things(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {
    let (office, excluded) = (inspection.office, &inspection.office.excluded);
    for (id, _) in excluded
        .things
        .iter()
        .filter(|(_, stage)| *stage == ThingStage::Planned)
    {
        let own = excluded.readings.iter().filter(|reading| reading.of.thing == Some(*id));
        let Some(newest) = own.max_by_key(|reading| reading.date.value) else {
            continue;
        };
        let (name, date) = (office.name(*id), newest.date.value);
        let stated = inspection.whole.thing(*id).place_of(Key::Stage, office.file);
        sink.report(*id, stated, format!("`{name}` is planned, but has a reading of {date}"))
            .related(office.place(newest.range), "the newest reading")
            .help("state the stage that it has reached: `stage installed` or `stage in-service`");
    }
}
