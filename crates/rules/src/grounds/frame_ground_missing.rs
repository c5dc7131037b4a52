use drysheath_office::kinds::{Compressor, Key, KindId, Role};
use drysheath_office::{Fields, Thing};
use drysheath_syntax::Medium;

use super::ends::conductors_to_bars;
use crate::finding::Sink;
use crate::lint::Inspection;
use crate::precedence::Scope;
use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};

pub(crate) static RULE: Rule = Rule {
    id: RuleId::FrameGroundMissing,
    level: Level::Error,
    while_planned: Some(Level::Warning),
    yields_to: &[(
        Scope::Thing,
        &[RuleId::GroundThroughChassis, RuleId::GroundSharedWithReturn],
    )],
    family: Family::Grounds,
    summary: "A chassis that must be grounded has no frame ground.",
    explanation: "Without a frame ground a chassis takes whatever voltage a fault or lightning on a pair gives it, and somebody touches \
                  it. Each monitor, fuse panel and dryer needs a conductor of its own from its frame to a ground bar. A dryer with \
                  `compressor none` is cylinders or the air of another plant: it has no frame here that could become live, and is \
                  not asked for one. Local code and licensed practice govern how it is made.",
    source: Source::FromMemory("TIA-607; ETSI EN 300 253"),
    example: Some(Example {
        failing: r#"
# without ground m1 frame
monitor m1 { sensors 8, contacts 4, draws 40 W, window -40.5 V .. -57 V, link lan "192.0.2.11" }
#       ^^
"#,
        passing: r"
ground m1 -> ogb with 6 awg, 3 m
# without ground m1 frame
",
    }),
    check: Check::Office(check),
};

fn check(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {
    let office = inspection.office;
    if office.unsure.about(Medium::Ground) {
        return;
    }
    for (id, thing) in office.things() {
        let Some(kind) = thing.kind.filter(|_| needs_ground(thing) && !thing.damaged) else {
            continue;
        };
        if conductors_to_bars(inspection.networks, id, Role::Frame)
            .next()
            .is_none()
        {
            let name = office.name(id);
            sink.report(
                id,
                thing.name,
                format!("the {} `{name}` has no frame ground", kind.word().replace('-', " ")),
            )
            .help(format!(
                "ground its frame to the office's ground bar: `ground {name} frame -> …` with its size and length"
            ));
        }
    }
}

/// Whether the frame of a thing must be grounded.
pub(crate) fn needs_ground(thing: &Thing) -> bool {
    thing.is(KindId::Monitor) || thing.is(KindId::FusePanel) || (thing.is(KindId::Dryer) && has_compressor(thing))
}

/// Whether a dryer is a machine in this office, rather than cylinders or a supply from another plant.
fn has_compressor(dryer: &Thing) -> bool {
    dryer.choice(Key::Compressor) != Some(Compressor::None)
}
