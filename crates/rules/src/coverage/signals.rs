//! What was checked of sensors, of what was read from them, and of their loops.

use drysheath_office::Fields;
use drysheath_office::kinds::Key;
use drysheath_prediction::signal_paths;

use super::{Comparison, Lack, Survey};
use crate::lint::Inspection;
use crate::pairs::{loop_over_limit, signals_read_elsewhere};
use crate::records::newest;
use crate::spans::{leak_trips_no_limit, predicted_off_span, readings};

pub(super) fn survey(inspection: &Inspection<'_>, survey: &mut Survey) {
    sensors(inspection, survey);
    if leak_trips_no_limit::leak(inspection).is_some() {
        let is_unsure = leak_trips_no_limit::is_unsure(inspection);
        for route in inspection.prediction.air.routes() {
            let compared = leak_trips_no_limit::compared(inspection, route);
            let compared = if is_unsure { Err(Lack::Figure) } else { compared };
            survey.count(Comparison::LeakAlarm, &compared);
        }
    }
    for noted in newest::latest(inspection.office) {
        survey.count(Comparison::Readings, &newest::compared(inspection, noted));
    }
    loops(inspection, survey);
}

fn sensors(inspection: &Inspection<'_>, survey: &mut Survey) {
    let office = inspection.office;
    let itself = office.itself.map(|id| office.thing(id));
    // Without it no predicted reading is checked against a sensor.
    let has_elevation = itself.is_some_and(|itself| itself.has(Key::Elevation));
    for reading in readings(inspection) {
        let compared = predicted_off_span::compared(inspection, &reading);
        let compared = compared
            .map(|_| ())
            .and(if has_elevation { Ok(()) } else { Err(Lack::Elevation) });
        let limits = match (reading.fields.limits().next(), compared) {
            (None, _) => Err(Lack::Limit),
            // Without a span a limit is checked against what should be read there, where that is known.
            (Some(_), Err(Lack::Span)) if reading.expected(inspection).is_none() => Err(Lack::Figure),
            (Some(_), Err(Lack::Span)) => Ok(()),
            (Some(_), compared) => compared,
        };
        if !reading.is_switch {
            survey.count(Comparison::SensorSpan, &compared);
        }
        survey.count(Comparison::AlarmLimits, &limits);
    }
}

fn loops(inspection: &Inspection<'_>, survey: &mut Survey) {
    let Inspection {
        office,
        networks,
        prediction,
        ..
    } = *inspection;
    for one in &prediction.loops {
        let device = one.signal.thing;
        let compared = loop_over_limit::compared(one);
        survey.note(
            inspection,
            Comparison::LoopResistance,
            &compared,
            (device, office.thing(device).name),
        );
    }
    // A loop that is closed in another office is computed in neither.
    for _ in 0..signals_read_elsewhere(inspection) {
        survey.count(Comparison::LoopResistance, &Err::<(), _>(Lack::Figure));
    }
    for _ in prediction.loops.len()..signal_paths(office, &networks.wire).count() {
        survey.count(Comparison::LoopResistance, &Err::<(), _>(Lack::Figure));
    }
}
