//! Sizing of a limit of a pressure or flow sensor and its deadband: between the worst acceptable state and the normal
//! reading.

use drysheath_engineering::deadband::least_deadband;
use drysheath_engineering::measure::{Flow, Pressure};
use drysheath_engineering::units::{Dimension, Quantity};
use drysheath_office::kinds::Key;
use drysheath_office::{Fields, LimitLevel, ThingId, rounded_to_step};

use super::with_leak::{MOST_WITH_LEAK, smallest_leak, with_leak};
use super::{
    Amount, Choice, FigureFormatter, Input, Origin, SizedFigure, Sizing, normal_readings, own_size, plain, practice,
    signal, stated,
};
use crate::figures::below;
use crate::lint::Inspection;
use crate::settings::PracticeKey;
use crate::spans::Reading;
use crate::spans::high_limit_above_rating::weakest;
use crate::spans::low_limit_under_minimum::floor;

/// Sizes a limit of a signal and its deadband. `None` where the sensor has no such signal.
pub(super) fn size(
    inspection: &Inspection<'_>,
    formatter: &FigureFormatter<'_>,
    id: ThingId,
    word: &str,
    level: LimitLevel,
) -> Option<Sizing> {
    let office = inspection.office;
    let reading = Reading::of(inspection, id, signal(office, id, word)?.port)?;
    let demand = LimitRequirements::of(inspection, formatter, reading, level);
    let mut limit = demand.limit();
    limit.sort();
    let (deadband, choice) = demand.choose(&limit);
    limit.choice = choice.map(|si| demand.chosen(&limit, si));
    let mut notes = Vec::new();
    if let Some(choice) = &limit.choice {
        notes.extend(demand.catches(choice.amount.si));
    }
    notes.push(
        "what it reads when all is well counts as exact: leave more room where it changes with the seasons".to_owned(),
    );
    Some(Sizing {
        of: format!("{} {}", plain(&demand.reading.name()), level.word()),
        figures: vec![limit, deadband],
        parts: Vec::new(),
        notes,
    })
}

/// Requirements of a limit.
struct LimitRequirements<'i, 'o> {
    inspection: &'i Inspection<'o>,
    formatter: &'i FigureFormatter<'i>,
    reading: Reading<'i>,
    level: LimitLevel,
    /// The normal readings: declared and computed.
    normal: Vec<(f64, Input)>,
    /// Tolerance of a reading: the sensor's error plus half its step.
    tolerance: f64,
    /// Error and step as inputs.
    sizes: Vec<Input>,
    step: Option<(f64, Input)>,
    missing: Vec<String>,
}

impl<'i, 'o> LimitRequirements<'i, 'o> {
    fn of(
        inspection: &'i Inspection<'o>,
        formatter: &'i FigureFormatter<'i>,
        reading: Reading<'i>,
        level: LimitLevel,
    ) -> Self {
        let normal = normal_readings(inspection, formatter, &reading);
        let (error, step) = (own_size(&reading, Key::Error), own_size(&reading, Key::Step));
        let mut missing = Vec::new();
        if normal.is_empty() {
            missing.push(
                "what it reads when all is well: neither `normal` nor what it is computed from is stated".to_owned(),
            );
        }
        for (key, size) in [(Key::Error, &error), (Key::Step, &step)] {
            if size.is_none() {
                missing.push(format!("the sensor's `{}`, which counts as none", key.word()));
            }
        }
        let size = |size: &Option<(f64, Input)>| size.as_ref().map_or(0.0, |(size, _)| *size);
        Self {
            inspection,
            formatter,
            reading,
            level,
            normal,
            tolerance: size(&error) + size(&step) / 2.0,
            sizes: [&error, &step]
                .into_iter()
                .filter_map(|size| Some(size.as_ref()?.1.clone()))
                .collect(),
            step,
            missing,
        }
    }

    /// Direction of a fault: 1 for a high limit, −1 for a low one.
    fn side(&self) -> f64 {
        if self.level.is_low() { -1.0 } else { 1.0 }
    }

    /// The normal reading that is nearest to the limit.
    fn nearest_well(&self) -> Option<&(f64, Input)> {
        let side = self.side();
        self.normal
            .iter()
            .max_by(|one, other| (side * one.0).total_cmp(&(side * other.0)))
    }

    fn limit(&self) -> SizedFigure {
        let dimension = self.reading.dimension;
        let mut figure = SizedFigure::new("limit", dimension);
        figure.missing.clone_from(&self.missing);
        let own = self
            .reading
            .fields
            .limits()
            .find(|(limit, _)| limit.level == self.level);
        figure.stated = own.map(|(limit, place)| (self.formatter.written(limit.value), place));
        let side = self.side();
        // Beyond the normal reading's tolerance, and short of the worst state's.
        if let Some((normal, input)) = self.nearest_well() {
            let bound = self.formatter.bound(
                dimension,
                normal + side * self.tolerance,
                "what it reads when all is well, with the error and half a step, trips nothing",
                self.with_sizes([input.clone()]),
            );
            self.inner(&mut figure).push(bound);
        }
        if let Some((state, why, inputs)) = self.worst() {
            let bound = self.formatter.bound(
                dimension,
                state - side * self.tolerance,
                format!("{why} surely trips it, with the error and half a step"),
                self.with_sizes(inputs),
            );
            self.outer(&mut figure).push(bound);
        } else if matches!(self.level, LimitLevel::Low | LimitLevel::High) {
            figure
                .missing
                .push(format!("the worst state that is acceptable: {}", self.lacks()));
        }
        self.among_limits(&mut figure);
        self.within_span(&mut figure);
        figure
    }

    /// Bounds on the side of the normal reading.
    fn inner<'f>(&self, figure: &'f mut SizedFigure) -> &'f mut Vec<super::Bound> {
        if self.level.is_low() {
            &mut figure.most
        } else {
            &mut figure.least
        }
    }

    /// Bounds on the other side.
    fn outer<'f>(&self, figure: &'f mut SizedFigure) -> &'f mut Vec<super::Bound> {
        if self.level.is_low() {
            &mut figure.least
        } else {
            &mut figure.most
        }
    }

    fn with_sizes(&self, inputs: impl IntoIterator<Item = Input>) -> Vec<Input> {
        inputs.into_iter().chain(self.sizes.iter().cloned()).collect()
    }

    /// Reading in the worst acceptable state, and a description of that state.
    fn worst(&self) -> Option<(f64, String, Vec<Input>)> {
        let (inspection, office) = (self.inspection, self.inspection.office);
        match (self.reading.dimension, self.level.is_low()) {
            (Dimension::Pressure, true) => {
                let floor = floor(inspection, &self.reading)?;
                let what = floor.label().to_owned();
                let shown = self.formatter.show(Dimension::Pressure, floor.figure);
                let from = floor.place.map_or_else(
                    || Origin::Practice(None, "minimum pressure of the settings".to_owned()),
                    Origin::Stated,
                );
                let why = format!("a pressure of {shown}, {},", floor.purpose());
                Some((floor.figure, why, vec![Input { what, shown, from }]))
            }
            (Dimension::Pressure, false) => {
                let weakest = weakest(inspection, &self.reading)?;
                let name = office.name(weakest.thing);
                let input = stated(format!("rating of {name}"), weakest.quantity, weakest.place);
                Some((weakest.figure, format!("the rating of {name}"), vec![input]))
            }
            // Of two high limits the first one has to report the leak.
            (Dimension::Flow, false) if self.level == LimitLevel::High => {
                let leak = inspection.settings.quantity(PracticeKey::LeakSize)?;
                let most = with_leak(inspection, &self.reading, Flow::of(leak)?)?;
                let inputs = vec![
                    practice(inspection, PracticeKey::LeakSize),
                    self.formatter.of_state(MOST_WITH_LEAK, Dimension::Flow, most),
                ];
                Some((most, "the leak worth a visit where it shows most".to_owned(), inputs))
            }
            _ => None,
        }
    }

    /// What the file or the settings lack for the worst acceptable state.
    fn lacks(&self) -> &'static str {
        match (self.reading.dimension, self.level.is_low()) {
            (Dimension::Pressure, true) => "no minimum pressure and no depth is stated for what it watches",
            (Dimension::Pressure, false) => "nothing that it watches states a rating",
            (_, true) => "no practice says which flow is too low",
            (_, false) => "what it reads with the leak of the setting `leak-size`",
        }
    }

    /// Adds a bound from the other limit on the same side: the outer one trips second.
    fn among_limits(&self, figure: &mut SizedFigure) {
        let other = match self.level {
            LimitLevel::LowLow => LimitLevel::Low,
            LimitLevel::Low => LimitLevel::LowLow,
            LimitLevel::High => LimitLevel::HighHigh,
            LimitLevel::HighHigh => LimitLevel::High,
        };
        let Some((limit, place)) = self.reading.fields.limits().find(|(limit, _)| limit.level == other) else {
            return;
        };
        let is_outer = matches!(self.level, LimitLevel::LowLow | LimitLevel::HighHigh);
        let step = self.step.as_ref().map_or(0.0, |(step, _)| *step);
        let away = if is_outer { self.side() } else { -self.side() };
        let bound = self.formatter.bound(
            self.reading.dimension,
            self.inspection.office.figure(limit.value) + away * step,
            format!("the {} limit comes at another step", other.word()),
            vec![stated(format!("{} limit", other.word()), limit.value, place)],
        );
        let bounds = if is_outer {
            self.inner(figure)
        } else {
            self.outer(figure)
        };
        bounds.push(bound);
    }

    fn within_span(&self, figure: &mut SizedFigure) {
        let Some((bottom, top, place)) = self.reading.fields.range(Key::Span) else {
            figure.missing.push("the sensor's `span`".to_owned());
            return;
        };
        let office = self.inspection.office;
        let error = own_size(&self.reading, Key::Error);
        let size = error.as_ref().map_or(0.0, |(size, _)| *size);
        let ends = [
            (&mut figure.least, bottom, size, "bottom of the span"),
            (&mut figure.most, top, -size, "top of the span"),
        ];
        for (bounds, end, inwards, what) in ends {
            let inputs = std::iter::once(stated(what, end, place)).chain(error.iter().map(|(_, error)| error.clone()));
            bounds.push(self.formatter.bound(
                self.reading.dimension,
                office.figure(end) + inwards,
                "a limit must be farther from the end of the span than the sensor may err",
                inputs.collect(),
            ));
        }
    }

    /// Sizes the deadband, and chooses the limit. The deadband belongs to that limit, so the one stated for another
    /// limit is not checked against its bounds.
    fn choose(&self, limit: &SizedFigure) -> (SizedFigure, Option<f64>) {
        let dimension = self.reading.dimension;
        let mut deadband = SizedFigure::new("deadband", dimension);
        let step = self.step.as_ref().map(|(step, _)| *step);
        let least = step.map(|step| in_measure(dimension, step));
        if let (Some(least), Some((_, input))) = (least, &self.step) {
            deadband.least.push(self.formatter.bound(
                dimension,
                least,
                "two steps, so that a reading that flickers ends no alarm; 4 standard deviations of its noise where that is more \
                 [ISA-18.2 asks for a deadband and leaves its size open]",
                vec![input.clone()],
            ));
        } else {
            deadband.missing.push("the sensor's `step`".to_owned());
        }
        deadband
            .missing
            .push("the noise of its readings: it is measured, not computed".to_owned());
        let choice = self.choice(limit, least.unwrap_or(0.0));
        if let (Some(choice), Some((normal, input))) = (choice, self.nearest_well()) {
            deadband.most.push(self.formatter.bound(
                dimension,
                (normal - choice).abs() - self.tolerance,
                "the alarm at the limit to take ends when all is well, with the error and half a step",
                self.with_sizes([input.clone()]),
            ));
        }
        deadband.choice = least.filter(|least| deadband.holds(*least)).map(|least| Choice {
            amount: self.formatter.choice(&deadband, least),
            why: "the least: an alarm should end soon after its cause".to_owned(),
        });
        (deadband, choice)
    }

    /// The limit nearest to the normal reading that leaves room for the deadband, at a whole step.
    fn choice(&self, limit: &SizedFigure, deadband: f64) -> Option<f64> {
        let (low, high) = (limit.at_least()?.amount.si, limit.at_most()?.amount.si);
        self.nearest_well()?;
        if below(high, low) {
            return None;
        }
        let side = self.side();
        let (inner, outer) = if side < 0.0 { (high, low) } else { (low, high) };
        let steps = |figure: f64| {
            const ROUNDING: f64 = 1e-6;
            let Some((step, _)) = self.step else { return figure };
            let part = side * figure / step;
            side * (part - ROUNDING).ceil() * step
        };
        let wanted = [
            steps(inner + side * deadband),
            steps(inner),
            inner + side * deadband,
            outer,
        ];
        wanted.into_iter().find(|figure| limit.holds(*figure))
    }

    /// A limit rounded to the sensor's resolution, if that is within the bounds.
    fn written(&self, limit: &SizedFigure, si: f64) -> Amount {
        let unit = self.formatter.units.unit(self.reading.dimension);
        let step = self.step.as_ref().map(|(step, _)| *step);
        let fine = step.zip(unit).map(|(step, unit)| {
            let value = unit.from_si(si);
            rounded_to_step(step, Quantity { value, unit })
        });
        match fine.filter(|fine| limit.holds(fine.si())) {
            Some(fine) => self.formatter.written(fine),
            None => self.formatter.choice(limit, si),
        }
    }

    fn chosen(&self, limit: &SizedFigure, si: f64) -> Choice {
        Choice {
            amount: self.written(limit, si),
            why: "the nearest to what it reads when all is well that leaves room for the deadband: it tells the smallest leak"
                .to_owned(),
        }
    }

    /// The smallest leak that the limit reports for certain.
    fn catches(&self, limit: f64) -> Option<String> {
        let trips = limit + self.side() * self.tolerance;
        match (self.reading.dimension, self.level.is_low()) {
            (Dimension::Flow, false) => {
                let (normal, _) = self.normal.iter().min_by(|one, other| one.0.total_cmp(&other.0))?;
                let leak = self.formatter.show(Dimension::Flow, trips - normal);
                Some(format!(
                    "it surely tells {leak} more than normal through this sensor, with the error and half a step; a leak loses a little more \
                     than that, since the sections lose less at the lower pressure"
                ))
            }
            (Dimension::Pressure, true) => {
                let leak = smallest_leak(self.inspection, &self.reading, Pressure::from_pascals(trips))?;
                let leak = self.formatter.show(Dimension::Flow, leak.cubic_metres_per_second());
                Some(format!(
                    "it surely tells a leak of {leak} or more at its own place, with the error and half a step: elsewhere it takes more"
                ))
            }
            _ => None,
        }
    }
}

/// Least deadband for a step, where the noise is not known.
fn in_measure(dimension: Dimension, step: f64) -> f64 {
    if dimension == Dimension::Flow {
        let none = Flow::from_cubic_metres_per_second(0.0);
        least_deadband(none, Flow::from_cubic_metres_per_second(step)).cubic_metres_per_second()
    } else {
        least_deadband(Pressure::from_pascals(0.0), Pressure::from_pascals(step)).pascals()
    }
}
