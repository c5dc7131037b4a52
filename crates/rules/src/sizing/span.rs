//! The span of a pressure or flow sensor, and the part that has it.
//!
//! The normal reading belongs in the middle half of the span, the leak worth a visit must be on scale, and limits must
//! be farther from both ends than the sensor's error. The proof pressure must withstand the highest pressure that can
//! reach the sensor.

use std::sync::Arc;

use drysheath_engineering::measure::Flow;
use drysheath_engineering::units::{Dimension, Quantity};
use drysheath_office::kinds::Key;
use drysheath_office::{Field, Fields, Part, ThingId};
use drysheath_text::Place;

use super::offer::{Verdict, ancestry, reaches};
use super::with_leak::{MOST_WITH_LEAK, with_leak};
use super::{
    Bound, Choice, FigureFormatter, Input, PartOffer, SizedFigure, SizedQuantity, Sizing, normal_readings, own_size,
    plain, practice, signal, stated,
};
use crate::figures::below;
use crate::lint::Inspection;
use crate::settings::PracticeKey;
use crate::spans::Reading;
use crate::supply::StatedPressure;

/// Sizes the span of a signal, with its candidate parts. `None` where the sensor has no such signal.
pub(super) fn size(
    inspection: &Inspection<'_>,
    formatter: &FigureFormatter<'_>,
    parts: &[Arc<Part>],
    id: ThingId,
    word: &str,
) -> Option<Sizing> {
    let office = inspection.office;
    let reading = Reading::of(inspection, id, signal(office, id, word)?.port)?;
    let demand = SpanRequirements::of(inspection, formatter, &reading);
    let own = reading.fields.range(Key::Span);
    let is_same_kind = |part: &&Arc<Part>| office.thing(id).is(part.kind.id);
    let mut of_kind = parts.iter().filter(is_same_kind);
    let is_some_lossy = of_kind.any(|part| ancestry(parts, part).iter().any(|part| part.has(Key::Loss)));
    let mut parts = demand.offers(parts, id, &reading);
    let chosen = choose(&mut parts);
    let bottom_of_span = demand.bottom_of_span();
    let kept = own.filter(|(bottom, ..)| bottom_of_span.holds(office.figure(*bottom)));
    let bottom = match kept {
        Some((bottom, ..)) => office.figure(bottom),
        None => bottom_of_span.at_most().map_or(0.0, |most| most.amount.si.min(0.0)),
    };
    let mut figures = vec![bottom_of_span, demand.top_of_span(bottom)];
    if let Some((from, to, place)) = own {
        for (figure, quantity) in figures.iter_mut().zip([from, to]) {
            figure.stated = Some((formatter.written(quantity), place));
        }
    }
    if chosen.is_none()
        && let Some(top) = figures.last_mut()
    {
        top.choice = demand.wanted_top(top, bottom);
    }
    let mut proof = demand.proof();
    let proof_now = office.thing(id).quantity(Key::Proof);
    proof.stated = proof_now.map(|(proof, place)| (formatter.written(proof), place));
    figures.push(proof);
    figures.iter_mut().for_each(SizedFigure::sort);
    let from = match kept {
        Some((bottom, ..)) => format!("the bounds of the top hold for a span that begins at {bottom}, as now"),
        None => format!(
            "the bounds of the top hold for a span that begins at {}",
            formatter.show(reading.dimension, bottom)
        ),
    };
    let mut notes = vec![from];
    if parts.len() <= 1 {
        notes.push(format!(
            "no part of this kind is within reach: declare those that you can get as `part {} NAME`",
            office.thing(id).kind.map_or("", |kind| kind.word())
        ));
    } else if chosen.is_none() {
        notes.push("none of the parts within reach is known to do all of this".to_owned());
    }
    if is_some_lossy {
        notes.push("what it reads with the leak is computed with the loss that it has now: with a part that loses more it reads less".to_owned());
    }
    notes.push(
        "air under pressure can kill: let it off before a sensor is changed; the maker's sheet and local codes govern"
            .to_owned(),
    );
    Some(Sizing {
        of: plain(&reading.name()),
        figures,
        parts: parts.into_iter().map(|candidate| candidate.offer).collect(),
        notes,
    })
}

/// Requirements of a span.
struct SpanRequirements<'i, 'o> {
    inspection: &'i Inspection<'o>,
    formatter: &'i FigureFormatter<'i>,
    dimension: Dimension,
    /// The normal readings: declared and computed.
    well: Vec<(f64, Input)>,
    /// Reading with the leak that is worth a visit.
    with_leak: Option<(f64, Vec<Input>)>,
    /// Limits of the sensor: value and source.
    limits: Vec<(f64, Input)>,
    /// The stated error of the sensor.
    error: Option<(f64, Input)>,
    /// Highest pressure that can reach the sensor.
    reaches: Option<StatedPressure>,
    missing: Vec<String>,
}

/// A part or the thing itself, with the sort keys of those that fit.
struct Candidate {
    offer: PartOffer,
    width: f64,
    error: f64,
}

impl<'i, 'o> SpanRequirements<'i, 'o> {
    fn of(inspection: &'i Inspection<'o>, formatter: &'i FigureFormatter<'i>, reading: &Reading<'_>) -> Self {
        let office = inspection.office;
        let dimension = reading.dimension;
        let name = plain(&reading.name());
        let mut missing = Vec::new();
        let well = normal_readings(inspection, formatter, reading);
        if well.is_empty() {
            missing.push(format!(
                "what {name} reads when all is well: neither `normal` nor what it is computed from is stated"
            ));
        }
        let limits = reading.fields.limits().map(|(limit, place)| {
            let what = format!("{} limit", limit.level.word());
            (office.figure(limit.value), stated(what, limit.value, place))
        });
        let error = own_size(reading, Key::Error);
        let mut demand = Self {
            inspection,
            formatter,
            dimension,
            with_leak: None,
            limits: limits.collect(),
            error,
            reaches: reaches(inspection, reading.id),
            well,
            missing,
        };
        demand.with_leak = demand.reading_with_leak(reading);
        if demand.with_leak.is_none() && demand.is_leak_wanted() {
            demand
                .missing
                .push(format!("what {name} reads with the leak of the setting `leak-size`"));
        }
        demand
    }

    /// Whether the settings want an alarm for a leak of some size.
    fn is_leak_wanted(&self) -> bool {
        self.inspection.settings.quantity(PracticeKey::LeakSize).is_some() && !self.well.is_empty()
    }

    /// What the sensor reads with the leak that is worth a visit: a flow with it where it shows most, a pressure with it at its own place.
    fn reading_with_leak(&self, reading: &Reading<'_>) -> Option<(f64, Vec<Input>)> {
        let leak = self.inspection.settings.quantity(PracticeKey::LeakSize)?;
        let size = practice(self.inspection, PracticeKey::LeakSize);
        let Some(left) = with_leak(self.inspection, reading, Flow::of(leak)?) else {
            // A leak adds no more to a flow than it loses.
            let (well, input) = self.well.iter().max_by(|one, other| one.0.total_cmp(&other.0))?;
            let is_flow = self.dimension == Dimension::Flow;
            return is_flow.then(|| (well + leak.si(), vec![input.clone(), size]));
        };
        let what = match self.dimension {
            Dimension::Flow => MOST_WITH_LEAK,
            _ => "reading with that leak at its place",
        };
        Some((left, vec![size, self.formatter.of_state(what, self.dimension, left)]))
    }

    /// The part of the span for a normal reading, from the settings.
    fn middle(&self) -> [(f64, Input); 2] {
        [PracticeKey::NormalFrom, PracticeKey::NormalTo]
            .map(|key| (self.inspection.settings.fraction(key), practice(self.inspection, key)))
    }

    fn error(&self) -> f64 {
        self.error.as_ref().map_or(0.0, |(error, _)| *error)
    }

    fn bound(&self, si: f64, why: &str, inputs: Vec<Input>) -> Bound {
        self.formatter.bound(self.dimension, si, why, inputs)
    }

    fn figure(&self, what: SizedQuantity) -> SizedFigure {
        let mut figure = SizedFigure::new(what, self.dimension);
        figure.missing.clone_from(&self.missing);
        if self.error.is_none() && !self.limits.is_empty() {
            figure
                .missing
                .push("the sensor's `error`: the limits are only kept within the span".to_owned());
        }
        figure
    }

    fn bottom_of_span(&self) -> SizedFigure {
        let mut figure = self.figure(SizedQuantity::BottomOfSpan);
        for (limit, input) in &self.limits {
            figure.most.push(self.bound(
                limit - self.error(),
                "a limit must be farther from the end than the sensor may err",
                self.with_error(input),
            ));
        }
        if let Some((left, inputs)) = self
            .with_leak
            .as_ref()
            .filter(|_| self.dimension == Dimension::Pressure)
        {
            figure.most.push(self.bound(
                *left,
                "the reading with the leak worth a visit is on scale",
                inputs.clone(),
            ));
        }
        for (well, input) in &self.well {
            figure
                .most
                .push(self.bound(*well, "the reading when all is well is on scale", vec![input.clone()]));
        }
        figure
    }

    fn with_error(&self, input: &Input) -> Vec<Input> {
        let error = self.error.as_ref().map(|(_, error)| error.clone());
        std::iter::once(input.clone()).chain(error).collect()
    }

    fn top_of_span(&self, bottom: f64) -> SizedFigure {
        let mut figure = self.figure(SizedQuantity::TopOfSpan);
        let [(from, from_input), (to, to_input)] = self.middle();
        for (well, input) in &self.well {
            let above = well - bottom;
            if to > 0.0 {
                figure.least.push(self.bound(
                    bottom + above / to,
                    "the reading when all is well is not in the upper part of the span",
                    vec![input.clone(), to_input.clone()],
                ));
            }
            if from > 0.0 && above > 0.0 {
                figure.most.push(self.bound(
                    bottom + above / from,
                    "the reading when all is well is not in the lower part of the span",
                    vec![input.clone(), from_input.clone()],
                ));
            }
        }
        for (limit, input) in &self.limits {
            figure.least.push(self.bound(
                limit + self.error(),
                "a limit must be farther from the end than the sensor may err",
                self.with_error(input),
            ));
        }
        if let Some((reading, inputs)) = self.with_leak.as_ref().filter(|_| self.dimension == Dimension::Flow) {
            figure.least.push(self.bound(
                *reading,
                "the reading with the leak worth a visit is on scale",
                inputs.clone(),
            ));
        }
        figure
    }

    /// The top that places the normal reading in the middle, as near as the bounds allow.
    fn wanted_top(&self, top: &SizedFigure, bottom: f64) -> Option<Choice> {
        let [(from, _), (to, _)] = self.middle();
        let (well, _) = self.well.last()?;
        let middle = bottom + (well - bottom) / f64::midpoint(from, to);
        let least = top.at_least()?.amount.si;
        let wanted = top
            .at_most()
            .map_or(middle, |most| middle.min(most.amount.si))
            .max(least);
        let is_middle = !below(wanted, middle) && !below(middle, wanted);
        (wanted.is_finite() && top.holds(wanted)).then(|| Choice {
            amount: self.formatter.choice(top, wanted),
            why: if is_middle {
                "it has the reading when all is well in its middle".to_owned()
            } else {
                "it has the reading when all is well as near to its middle as the bounds allow".to_owned()
            },
        })
    }

    fn proof(&self) -> SizedFigure {
        let mut figure = SizedFigure::new(SizedQuantity::ProofPressure, Dimension::Pressure);
        match &self.reaches {
            Some(reaches) => {
                let name = self.inspection.office.name(reaches.thing);
                figure.least.push(Bound {
                    amount: self.formatter.written(reaches.quantity),
                    why: "it must bear the highest pressure that can reach it, such as when a regulator sticks open"
                        .to_owned(),
                    inputs: vec![stated(
                        format!("most that {name} lets through"),
                        reaches.quantity,
                        reaches.place,
                    )],
                });
            }
            None => figure
                .missing
                .push("the pressure that can reach it: no source or regulator states it".to_owned()),
        }
        figure
    }

    /// The thing as it is, and the parts of its kind.
    fn offers(&self, parts: &[Arc<Part>], id: ThingId, reading: &Reading<'_>) -> Vec<Candidate> {
        let office = self.inspection.office;
        let thing = office.thing(id);
        let mut offers = Vec::new();
        let now = format!("{} as it is", office.name(id));
        let declared = office.place(thing.name);
        offers.extend(self.judge(
            now,
            declared,
            reading.fields,
            thing.quantity(Key::Proof).map(|(proof, _)| proof),
        ));
        let is_second = !std::ptr::eq(reading.fields.as_ptr(), thing.fields.as_ptr());
        for part in parts.iter().filter(|part| thing.is(part.kind.id)) {
            let chain = ancestry(parts, part);
            let fields: Vec<_> = chain
                .iter()
                .filter_map(|part| {
                    if is_second {
                        part.group(Key::Pressure)
                    } else {
                        Some(part.fields())
                    }
                })
                .collect();
            let proof = chain.iter().find_map(|part| Some(part.quantity(Key::Proof)?.0));
            // Fields that a part inherits from its base part.
            let all: Vec<_> = fields.iter().flat_map(|fields| fields.iter().cloned()).collect();
            offers.extend(self.judge(part.name.to_string(), part.place, &all, proof));
        }
        offers
    }

    /// Judges a sensor with these fields. `None` without a span: then each thing states its own.
    fn judge(&self, name: String, place: Place, fields: &[Field], proof: Option<Quantity>) -> Option<Candidate> {
        let (office, formatter) = (self.inspection.office, self.formatter);
        let (from, to, _) = fields
            .range(Key::Span)
            .filter(|(from, ..)| from.dimension() == self.dimension)?;
        let (bottom, top) = (office.figure(from), office.figure(to));
        let error = fields.quantity(Key::Error).map(|(error, _)| error);
        let error = error.filter(|error| error.difference() > 0.0);
        let show = |si| formatter.show(self.dimension, si);
        let mut verdict = Verdict::default();
        if self.well.is_empty() {
            verdict.missing.push("what it reads when all is well".to_owned());
        }
        let [(least, _), (most, _)] = self.middle();
        let is_span = below(bottom, top);
        if !is_span {
            verdict
                .faults
                .push("its span does not end above where it begins".to_owned());
        }
        for (well, input) in self.well.iter().filter(|_| is_span) {
            let part = (well - bottom) / (top - bottom);
            verdict.judge(
                !below(part, least) && !below(most, part),
                format!("{} {} at {:.0} % of the span", input.what, input.shown, part * 100.0),
                &format!("outside {:.0} to {:.0} %", least * 100.0, most * 100.0),
            );
        }
        if let Some((reading, _)) = &self.with_leak {
            verdict.judge(
                !below(*reading, bottom) && !below(top, *reading),
                format!("the leak worth a visit reads {}", show(*reading)),
                "off scale",
            );
        } else if self.is_leak_wanted() {
            verdict
                .missing
                .push("what it reads with the leak worth a visit".to_owned());
        }
        let margin = error.map(Quantity::difference);
        for (limit, input) in &self.limits {
            let room = (limit - bottom).min(top - limit);
            match margin {
                Some(margin) => verdict.judge(
                    !below(room, margin),
                    format!("{} {}", input.what, input.shown),
                    "nearer to an end than its error, or off scale",
                ),
                None if below(room, 0.0) => {
                    verdict
                        .faults
                        .push(format!("{} {} is off scale", input.what, input.shown));
                }
                None => {}
            }
        }
        if margin.is_none() && !self.limits.is_empty() {
            verdict.missing.push("its `error`".to_owned());
        }
        match (proof, &self.reaches) {
            (Some(proof), Some(reaches)) => verdict.judge(
                !below(office.figure(proof), reaches.figure),
                format!("proof {proof} against {} that can reach it", reaches.quantity),
                "too weak",
            ),
            (None, _) => verdict.missing.push("its `proof`".to_owned()),
            (_, None) => verdict.missing.push("the pressure that can reach it".to_owned()),
        }
        let figures = match error {
            Some(error) => format!("span {from} .. {to}, error {error}"),
            None => format!("span {from} .. {to}"),
        };
        Some(Candidate {
            width: top - bottom,
            error: margin.unwrap_or(f64::INFINITY),
            offer: verdict.offer(name, place, figures),
        })
    }
}

/// Marks the recommended part among those that meet all requirements: the narrowest span, then the least error.
fn choose(candidates: &mut [Candidate]) -> Option<()> {
    let fitting = candidates
        .iter_mut()
        .filter(|candidate| candidate.offer.fits == Some(true));
    let best = fitting.min_by(|one, other| {
        let by_width = one.width.total_cmp(&other.width);
        by_width.then(one.error.total_cmp(&other.error))
    })?;
    best.offer.is_chosen = true;
    Some(())
}
