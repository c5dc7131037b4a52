//! Checks of sensors, their readings, and their loops.

use drysheath_office::Fields;
use drysheath_office::kinds::Key;
use drysheath_prediction::signal_paths;

use super::{Comparison, CoverageSurvey, MissingFigure};
use crate::lint::Inspection;
use crate::pairs::{loop_over_limit, reported_loops, signals_lost_elsewhere, speaks_for};
use crate::records::latest_readings;
use crate::spans::{self, predicted_off_span, readings};

pub(super) fn survey(inspection: &Inspection<'_>, survey: &mut CoverageSurvey) {
    sensors(inspection, survey);
    let is_unsure = spans::is_unsure(inspection);
    for route in inspection.prediction.air.lines().iter().enumerate() {
        let compared = spans::compared(inspection, route);
        let compared = if is_unsure {
            Err(MissingFigure::Figure)
        } else {
            compared
        };
        survey.count(Comparison::LeakAlarm, &compared);
    }
    for noted in latest_readings::latest(inspection.office) {
        survey.count(Comparison::Readings, &latest_readings::compared(inspection, noted));
    }
    loops(inspection, survey);
}

fn sensors(inspection: &Inspection<'_>, survey: &mut CoverageSurvey) {
    let office = inspection.office;
    let itself = office.itself.map(|id| office.thing(id));
    // Without an elevation no predicted reading is checked against a sensor.
    let has_elevation = itself.is_some_and(|itself| itself.has(Key::Elevation));
    for reading in readings(inspection) {
        let compared = predicted_off_span::compared(inspection, &reading);
        let compared = compared.map(|_| ()).and(if has_elevation {
            Ok(())
        } else {
            Err(MissingFigure::Elevation)
        });
        let limits = match (reading.fields.limits().next(), compared) {
            (None, _) => Err(MissingFigure::Limit),
            // Without a span, a limit is checked against the expected reading, if known.
            (Some(_), Err(MissingFigure::Span)) if reading.expected(inspection).is_none() => Err(MissingFigure::Figure),
            (Some(_), Err(MissingFigure::Span)) => Ok(()),
            (Some(_), compared) => compared,
        };
        if !reading.is_switch {
            survey.count(Comparison::SensorSpan, &compared);
        }
        survey.count(Comparison::AlarmLimits, &limits);
    }
}

fn loops(inspection: &Inspection<'_>, survey: &mut CoverageSurvey) {
    let all = inspection.networks.merged(inspection.office).office;
    let loops = reported_loops(inspection);
    let mut known = 0;
    for one in loops {
        known += 1;
        let (device, monitor) = (one.signal.thing, one.input.thing);
        let on = if inspection.office.has(device) { device } else { monitor };
        let compared = loop_over_limit::compared(one);
        survey.note(
            inspection,
            Comparison::LoopResistance,
            &compared,
            (on, all.thing(on).name),
        );
    }
    // The end of a wire in an office that is left out is not known.
    for _ in 0..signals_lost_elsewhere(inspection) {
        survey.count(Comparison::LoopResistance, &Err::<(), _>(MissingFigure::Figure));
    }
    let paths = signal_paths(inspection.office, inspection.networks);
    let paths = paths.filter(|path| speaks_for(inspection, path.input.thing)).count();
    for _ in known..paths {
        survey.count(Comparison::LoopResistance, &Err::<(), _>(MissingFigure::Figure));
    }
}
