//! Where along a cable a leak is likely, from readings of one day.
//!
//! Two straight lines in the squared absolute pressure meet at a leak, if nothing else is used along the cable and its
//! resistance is the same everywhere. Neither holds of real cables, but both can be had: in laminar flow the squared
//! pressures of several usages add up, so what the declared usage takes away is known and is put back first; and distances
//! are counted by the resistance that lies before them \[derived\]. What remains is what the readings have that the record has not.

use drysheath_engineering::leak::{self, Beyond, LeakError, LeakPlace};
use drysheath_engineering::measure::{AbsolutePressure, Length, Pressure};
use drysheath_engineering::standard::Standard;
use drysheath_engineering::units::Dimension;
use drysheath_office::kinds::{Key, Kind, KindId, Role};
use drysheath_office::line::tap_position;
use drysheath_office::{Date, Fields, Link, ThingId};
use drysheath_prediction::{AirLocation, Line, PathElement, PathStep, distance_name, line_name, position_name};

use super::newest::Newest;
use crate::figures::names;
use crate::lint::Inspection;
use crate::spans::{Reading, readings};

/// The likely position of a leak on a cable whose pressure is too low, from the readings of one day, in a sentence for the
/// technician.
pub(super) fn advice(inspection: &Inspection<'_>, line: &Line, day: Date, newest: &[Newest<'_>]) -> Option<String> {
    let office = inspection.office;
    if !office.thing(line.thing).is(KindId::Cable) {
        return None;
    }
    let scale = Scale::new(inspection, line)?;
    let joints = Joints::new(inspection, line);
    let of_day = newest.iter().filter(|newest| newest.noted.date.value == day);
    let mut samples: Vec<Sample> = of_day.filter_map(|newest| scale.sample(inspection, newest)).collect();
    samples.sort_by(|one, other| one.at.total_cmp(&other.at));
    // Two sensors at one place are one reading.
    samples.dedup_by(|later, first| later.at - first.at < NEAR);
    let name = line_name(office, line);
    let needed = if joints.is_dead_ended { 3 } else { 4 };
    if samples.len() < needed {
        return Some(too_few(inspection, line, &samples, needed));
    }
    let ends = [samples.first()?.at, samples.last()?.at];
    if joints
        .inside
        .iter()
        .any(|metres| ends[0] < scale.at(*metres) && scale.at(*metres) < ends[1])
    {
        return Some(format!(
            "where a branch or another run joins {name} between the readings they do not tell the place of a leak: take \
             {needed} on a stretch without one"
        ));
    }
    Some(match locate(&samples, joints.is_dead_ended) {
        Ok(place) => {
            let [near, far] = place.interval().map(|length| scale.metres(length));
            // Rounded to a tenth of the uncertainty, or finer.
            let step = 10_f64.powf((far - near).log10().floor() - 1.0).max(NEAR);
            let [place, near, far] =
                [scale.metres(place.distance), near, far].map(|metres| (metres / step).round() * step);
            format!(
                "the readings of {day} put a leak {}, most likely between {} and {}: what the declared usage takes away is \
                 allowed for, one leak and steady flow are taken for granted; check on the place before anybody digs",
                position_name(office, line, place),
                distance_name(office, line, near),
                distance_name(office, line, far)
            )
        }
        Err(error) => format!("the readings of {day} do not place a leak on {name}: {error}"),
    })
}

/// Places nearer than this are one, m.
const NEAR: f64 = 0.5;

fn too_few(inspection: &Inspection<'_>, line: &Line, samples: &[Sample], needed: usize) -> String {
    let office = inspection.office;
    let is_on_line = |reading: &Reading<'_>| {
        let place = reading.place_on_line(inspection);
        reading.dimension == Dimension::Pressure && place.is_some_and(|(other, _)| std::ptr::eq(other, line))
    };
    let unread: Vec<ThingId> = readings(inspection)
        .filter(|reading| is_on_line(reading) && !samples.iter().any(|sample| sample.sensor == reading.id))
        .map(|reading| reading.id)
        .collect();
    let name = line_name(office, line);
    let start = format!("{needed} pressures along {name} of one day would tell where it leaks");
    let missing = needed - samples.len();
    if unread.len() >= missing {
        format!("{start}: read {} on the same day as the others", names(office, &unread))
    } else {
        let taken = match samples.len() {
            1 => "1 was".to_owned(),
            count => format!("{count} were"),
        };
        format!(
            "{start}, and {taken} taken: take {missing} more with a gauge at valves on the way, as far apart as can be"
        )
    }
}

/// A squared pressure that was read, with its standard deviation and distance.
struct Sample {
    sensor: ThingId,
    /// Along the line, in metres that count by resistance.
    at: f64,
    reading: leak::PressureReading,
}

/// Fits a leak between each pair of neighbouring readings, and returns the position with the least uncertainty.
fn locate(samples: &[Sample], is_dead_ended: bool) -> Result<LeakPlace, LeakError> {
    let mut best: Option<LeakPlace> = None;
    let mut worst = LeakError::NoBend;
    for last in 1..samples.len() {
        let reading = |at: usize| samples.get(at).map(|sample| sample.reading);
        let (Some(feed), Some(before), Some(next)) = (reading(0), reading(last), reading(last + 1)) else {
            break;
        };
        let beyond = match reading(last + 2) {
            _ if is_dead_ended => Beyond::DeadEnd(next),
            Some(farther) => Beyond::Through([next, farther]),
            None => break,
        };
        match leak::locate([feed, before], beyond) {
            Ok(place) => {
                if best.is_none_or(|best| place.deviation < best.deviation) {
                    best = Some(place);
                }
            }
            // A leak at the position of a reading is more informative than no leak in this stretch.
            Err(error) if !matches!(worst, LeakError::AtReading { .. }) => worst = error,
            Err(_) => {}
        }
    }
    best.ok_or(worst)
}

/// Distances along a line, counted by the resistance that lies before them.
struct Scale<'l> {
    line: &'l Line,
    /// Where each piece begins and ends, in metres, and the resistance before it.
    pieces: Vec<(f64, f64, f64)>,
    /// Resistance of the whole.
    total: f64,
    length: f64,
}

impl<'l> Scale<'l> {
    fn new(inspection: &Inspection<'_>, line: &'l Line) -> Option<Self> {
        let mut pieces = Vec::new();
        let mut total = 0.0;
        for (from, to, state) in inspection.prediction.air.segments(line) {
            pieces.push((from, to, total));
            total += state?.resistance?.pascal_seconds_per_m4() * (to - from);
        }
        let length = line.length()?;
        (total > 0.0 && length > 0.0).then_some(Self {
            line,
            pieces,
            total,
            length,
        })
    }

    /// The resistance before the end of a piece.
    fn behind(&self, number: usize) -> f64 {
        self.pieces.get(number + 1).map_or(self.total, |(.., before)| *before)
    }

    /// A distance, counted by resistance.
    fn at(&self, metres: f64) -> f64 {
        let number = self.pieces.partition_point(|(_, to, _)| *to < metres);
        let Some((from, to, before)) = self.pieces.get(number) else {
            return self.length;
        };
        let part = if to > from { (metres - from) / (to - from) } else { 0.0 };
        (before + part * (self.behind(number) - before)) / self.total * self.length
    }

    /// The distance that is counted so.
    fn metres(&self, at: Length) -> f64 {
        let resistance = (at.metres() / self.length).clamp(0.0, 1.0) * self.total;
        let number = (0..self.pieces.len()).find(|number| self.behind(*number) >= resistance);
        let Some((number, (from, to, before))) = number.and_then(|number| Some((number, *self.pieces.get(number)?)))
        else {
            return self.length;
        };
        let whole = self.behind(number) - before;
        let part = if whole > 0.0 {
            (resistance - before) / whole
        } else {
            0.0
        };
        from + part * (to - from)
    }

    /// A pressure that was read on the line or where its air comes from.
    fn sample(&self, inspection: &Inspection<'_>, newest: &Newest<'_>) -> Option<Sample> {
        let signal = &newest.signal;
        if signal.dimension != Dimension::Pressure {
            return None;
        }
        let at = match signal.place_on_line(inspection) {
            Some((line, metres)) => std::ptr::eq(line, self.line).then(|| self.at(metres))?,
            None => self.before_the_start(inspection, signal.id)?,
        };
        let air = &inspection.prediction.air;
        let ambient = air.conditions.ambient;
        let square = |figure: f64| (ambient + Pressure::from_pascals(figure)).pascals().powi(2);
        let read = newest.expected + newest.above;
        // Any atmospheric pressure would do as the reference, as long as all readings share it.
        let height = square(air.pressure_along(self.line, 0.0)?.pascals());
        let pressure = (height + square(read) - square(newest.expected)).max(0.0).sqrt();
        let size = |key| signal.size(key).map_or(0.0, |(size, _)| size);
        // Evenly spread within the error, and within half a step: a standard deviation of error/√3 and of step/√12.
        let deviation = (size(Key::Error).powi(2) / 3.0 + size(Key::Step).powi(2) / 12.0).sqrt();
        Some(Sample {
            sensor: signal.id,
            at,
            reading: leak::PressureReading {
                distance: Length::from_metres(at),
                pressure: AbsolutePressure::from_pascals(pressure),
                // So that the deviation of the square is what it was.
                deviation: Pressure::from_pascals(deviation * square(read).sqrt() / pressure),
            },
        })
    }

    /// How far before the line's start a sensor in the office is, counted by resistance: one that feels the air of a
    /// manifold or tee on the way to the line, through a tube in which nothing flows.
    fn before_the_start(&self, inspection: &Inspection<'_>, sensor: ThingId) -> Option<f64> {
        const STILL: f64 = 1e-9;
        let air = &inspection.prediction.air;
        let there = air.supply_path(&air.location_of(inspection.office, inspection.networks, sensor)?)?;
        let here = air.supply_path(&AirLocation::OnLine(self.line, 0.0))?;
        let same = |one: &PathStep<'_>, other: &PathStep<'_>| match (one.element, other.element) {
            (PathElement::Run(one), PathElement::Run(other)) => one == other,
            (PathElement::Thing(one), PathElement::Thing(other)) => one == other,
            _ => false,
        };
        let pairs = there.steps.iter().zip(&here.steps);
        let shared = pairs.take_while(|(one, other)| same(one, other)).count();
        let flow = |step: &PathStep<'_>| step.state.flow.cubic_metres_per_second();
        if there.source != here.source || there.steps.iter().skip(shared).any(|step| flow(step).abs() > STILL) {
            return None;
        }
        let mut before = 0.0;
        for step in here.steps.iter().skip(shared) {
            if step.state.regulator.is_some() || flow(step) <= STILL {
                return None;
            }
            let fall = 2.0 * step.state.mean.pascals() * step.state.drop.pascals();
            before += fall / (2.0 * Standard::BASE.pressure().pascals() * flow(step));
        }
        Some(-before / self.total * self.length)
    }
}

/// Where other air joins a line or leaves it.
struct Joints {
    /// Branches and runs along it, in metres.
    inside: Vec<f64>,
    /// Whether all its air comes in at its start, and none leaves but what the record knows of.
    is_dead_ended: bool,
}

impl Joints {
    fn new(inspection: &Inspection<'_>, line: &Line) -> Self {
        let office = inspection.office;
        if line.branch.is_some() {
            return Self {
                inside: Vec::new(),
                is_dead_ended: true,
            };
        }
        // A tube that ends at a sensor takes no air.
        let takes_air = |link: &&Link| {
            let kind = office.thing(link.to.thing).kind;
            !kind.is_some_and(|kind: &Kind| kind.is_sensor() && kind.id != KindId::FlowSensor)
        };
        let air = &inspection.networks.air;
        let leaving = || air.leaving(line.thing).filter(takes_air);
        let is_fed_elsewhere = air.leading_to(line.thing).any(|link| link.to.port.role != Role::Inlet);
        let mut inside: Vec<f64> = leaving()
            .filter_map(|link| Some(tap_position(office, link)?.metres))
            .collect();
        let branches = office.thing(line.thing).named(Key::Branch);
        inside.extend(branches.filter_map(|(.., fields)| Some(fields.quantity(Key::From)?.0.si())));
        Self {
            is_dead_ended: !is_fed_elsewhere && leaving().next().is_none(),
            inside,
        }
    }
}
