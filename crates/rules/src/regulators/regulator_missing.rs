use drysheath_office::kinds::{Compressor, Key};
use drysheath_office::{Fields, ThingId};

use super::unregulated::unregulated;
use crate::figures::names;
use crate::finding::Sink;
use crate::lint::Inspection;
use crate::precedence::{Scope, Subject};
use crate::registry::RuleId;
use crate::reliability::air_system;
use crate::rule::{Check, Example, Family, Level, Rule, Source};

pub(crate) static RULE: Rule = Rule {
    id: RuleId::RegulatorMissing,
    level: Level::Error,
    while_planned: None,
    yields_to: &[(Scope::Thing, &[RuleId::RegulatorAfterSensor])],
    family: Family::Regulators,
    summary: "A piston or diaphragm compressor feeds a flow sensor with no regulator between.",
    explanation: "Pistons and diaphragms deliver in strokes, and the flow sensor reads the strokes instead of what the cables \
                  use: its alarms come and go without a leak. A regulator between the dryer and the sensor holds the pressure \
                  steady. One result is given for each dryer, whatever number of sensors it feeds so. Vent the air slowly \
                  before a line is opened to put one in.",
    source: Source::CommonPractice,
    example: Some(Example {
        failing: r"
dryer d1 { compressor piston, delivers 10 psi, capacity 100 scfh, dew-point -40 degC, contact humidity { healthy closed } }
#     ^^
air d1 -> f1 -> mf with 3/8 in tube, 1/4 in bore, 4 m
# without regulator r1
",
        passing: r"
dryer d1 { compressor scroll, delivers 10 psi, capacity 100 scfh, dew-point -40 degC, contact humidity { healthy closed } }
air d1 -> f1 -> mf with 3/8 in tube, 1/4 in bore, 4 m
# without regulator r1
",
    }),
    check: Check::Office(check),
};

fn check(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {
    let mut fed: Vec<(ThingId, ThingId)> = unregulated(inspection)
        .flat_map(|(sensor, dryers)| dryers.into_iter().map(move |dryer| (dryer, sensor)))
        .collect();
    fed.sort_unstable();
    for sensors in fed.chunk_by(|one, other| one.0 == other.0) {
        let Some((dryer, _)) = sensors.first() else { continue };
        let sensors: Vec<_> = sensors.iter().map(|(_, sensor)| *sensor).collect();
        report(inspection, *dryer, &sensors, sink);
    }
}

fn report(inspection: &Inspection<'_>, dryer: ThingId, sensors: &[ThingId], sink: &mut Sink<'_>) {
    const SHOWN: usize = 6;
    let office = inspection.office;
    let thing = office.thing(dryer);
    let noun = if sensors.len() == 1 {
        "flow sensor"
    } else {
        "flow sensors"
    };
    let message = format!(
        "`{}` has a {} compressor and feeds the {noun} {} with no regulator between",
        office.name(dryer),
        thing.choice(Key::Compressor).map_or("pulsing", Compressor::word),
        names(office, sensors)
    );
    let finding = sink.report(dryer, thing.name, message);
    let mut sensors_fed = sensors.iter().copied().map(Subject::Thing);
    finding
        .about([Subject::Supply(dryer)])
        .about(air_system(inspection, dryer));
    finding.about(sensors_fed.next());
    for sensor in sensors_fed {
        finding.and_about([sensor]);
    }
    for sensor in sensors.iter().map(|id| office.thing(*id)).take(SHOWN) {
        finding.related(office.place(sensor.name), "the flow sensor");
    }
    finding.help("put a regulator in the air run between the dryer and the flow sensor");
}
