use drysheath_office::kinds::{Key, Stage, ThingStage};
use drysheath_office::{Fields, Thing};

use crate::finding::Sink;
use crate::lint::Inspection;
use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};

pub(crate) static RULE: Rule = Rule {
    id: RuleId::StageAhead,
    level: Level::Error,
    while_planned: None,
    yields_to: &[],
    family: Family::Records,
    summary: "A thing is further on than its office, or than the cable or pipe that it is on.",
    explanation: "A thing says its stage where it is not as far as the office: a sensor that is ordered, a monitor that was switched \
                  off. In an office that is planned nothing is installed, and on a cable that is planned or disused nothing \
                  works. What is left out of the checks because of such a stage would be missing for the \
                  thing. Correct the stage of one of the two.",
    source: Source::Language,
    example: Some(Example {
        failing: r#"
office elm-hollow {
    title "Elm Hollow", site "ELMH01", elevation 310 m, stage installed, coldest -25 degC
    air-minimum { underground 5 psi, buried 3 psi, aerial 1 psi }
}
block tb { pairs 25, stage in-service }
#                    ^^^^^^^^^^^^^^^^
"#,
        passing: r#"
office elm-hollow {
    title "Elm Hollow", site "ELMH01", elevation 310 m, stage in-service, coldest -25 degC
    air-minimum { underground 5 psi, buried 3 psi, aerial 1 psi }
}
block tb { pairs 25, stage installed }
"#,
    }),
    check: Check::Office(check),
};

/// Rank of a stage. Disused things rank lowest: an office of any stage may have them.
fn reached(stage: ThingStage) -> u32 {
    match stage {
        ThingStage::Planned | ThingStage::Disused => 0,
        ThingStage::Installed => 1,
        ThingStage::InService => 2,
    }
}

fn of_office(stage: Stage) -> u32 {
    match stage {
        Stage::Planned => 0,
        Stage::Installed => 1,
        Stage::InService => 2,
    }
}

fn check(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {
    let office = inspection.office;
    let itself = office
        .itself
        .map(|id| office.thing(id))
        .filter(|itself| !itself.damaged);
    let limit = itself.and_then(|itself| Some((itself, itself.choice::<Stage>(Key::Stage)?)));
    for (id, thing) in office.things() {
        let stage = thing.choice::<ThingStage>(Key::Stage);
        let place = |thing: &Thing| thing.place_of(Key::Stage, office.file);
        if let Some((stage, (itself, limit))) = stage.zip(limit)
            && reached(stage) > of_office(limit)
        {
            let message = format!(
                "`{}` is {}, and its office only {}",
                office.name(id),
                stage.word(),
                limit.word()
            );
            sink.report(id, place(thing), message)
                .related(office.place(place(itself)), "the stage of the office")
                .help("state the stage that the office has reached, or the one that this has");
            continue;
        }
        let host = office.host(id).and_then(|at| at.thing);
        if let Some((host, left_out)) = host.and_then(|host| Some((host, office.excluded.stage(host)?))) {
            let own = inspection.whole.thing(host);
            let name = office.name(host);
            let message = format!(
                "`{}` is located at `{name}`, which is {}",
                office.name(id),
                left_out.word()
            );
            sink.report(id, thing.place_of(Key::At, office.file), message)
                .related(office.place(place(own)), format!("the stage of `{name}`"))
                .help(format!(
                    "state the same stage of `{}`, or correct that of `{name}`",
                    office.name(id)
                ));
        }
    }
}
