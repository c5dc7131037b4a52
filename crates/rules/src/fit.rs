//! What the readings of one day make of the declared figures: how much air each section loses, its resistance, and what regulators and
//! dryers hold.
//!
//! The declared figures are what is known beforehand, within the settings `usage-estimate-within`, `resistance-within` and `set-within` and
//! the temperatures that the office states; each reading is known within its sensor's error and step. Nothing is written: a figure that the readings
//! do not tell is shown as such.

mod observed;

use drysheath_engineering::estimate::{Open, chi_squared_bound};
use drysheath_engineering::units::{Dimension, Quantity};
use drysheath_office::kinds::Key;
use drysheath_office::{Date, Fields, ThingId};
use drysheath_prediction::{FigureOf, Fit, Fitted, Line, SystemId};
use drysheath_text::Place;

pub(crate) use observed::{Observed, bounds, gauge_deviation, gauge_place, observed};

use crate::lint::Inspection;
use crate::records::of_day::on_day;

/// A figure is told by readings that leave less than this of its standard deviation.
pub const TOLD: f64 = 0.5;
/// A figure may stand for others where this part of it lies in directions that the readings leave open.
const JOINED: f64 = 0.25;

/// What the readings of a day make of an office.
#[derive(Clone, Debug)]
pub struct DayFit {
    /// The day.
    pub day: Date,
    /// Each air system of which something was read.
    pub systems: Vec<SystemFit>,
    /// The readings of that day that do not count, each with the reason.
    pub unused: Vec<Unused>,
}

/// A reading that does not count.
#[derive(Clone, Debug)]
pub struct Unused {
    /// What was read: "`ps1`".
    pub name: String,
    /// The statement.
    pub place: Place,
    /// Why it does not count.
    pub why: &'static str,
}

/// What the readings of a day make of an air system.
#[derive(Clone, Debug)]
pub struct SystemFit {
    /// The readings.
    pub readings: Vec<ReadingFit>,
    /// The figures, or why there are none.
    pub figures: Result<Vec<FigureFit>, String>,
    /// Names of figures that the readings tell only together.
    pub together: Vec<Vec<String>>,
    /// What readings and figures are off by, each as a square of its standard deviation, in sum.
    pub chi_squared: f64,
    /// What that stays below nineteen times in twenty, where nothing but the figures' uncertainty and the sensors' errors is behind it.
    pub chi_squared_most: f64,
}

/// A reading beside what is computed for it; figures as [`drysheath_office::Office::figure`] gives them.
#[derive(Clone, Debug)]
pub struct ReadingFit {
    /// What was read: "`ps1`".
    pub name: String,
    /// The statement.
    pub place: Place,
    /// As it is written.
    pub read: Quantity,
    /// What it was.
    pub figure: f64,
    /// Its standard deviation.
    pub deviation: f64,
    /// What follows from the declared figures.
    pub declared: f64,
    /// What follows from the fitted ones.
    pub fitted: f64,
}

/// A declared figure beside what the readings make of it.
#[derive(Clone, Debug)]
pub struct FigureFit {
    /// Whose: "c101 section s1", "r1".
    pub of: String,
    /// Which field it is.
    pub key: Key,
    /// Its thing.
    pub thing: ThingId,
    /// As it is declared, for its unit, and where; none where it is a default.
    pub stated: Option<(Quantity, Place)>,
    /// As it is declared, as [`drysheath_office::Office::figure`] gives it.
    pub declared: f64,
    /// The most likely.
    pub fitted: f64,
    /// Two standard deviations below and above.
    pub between: (f64, f64),
    /// The standard deviation as a part of the one before the readings.
    pub left_open: f64,
    /// Whether the readings tell it only together with other figures, any of which may stand for it.
    pub is_joined: bool,
    /// The reading that pulls it most, and by how much; none where nothing does.
    pub pulled: Option<(String, f64)>,
}

/// What a figure is, in words.
fn words(key: Key) -> &'static str {
    match key {
        Key::Usage => "usage",
        Key::Resistance => "resistance",
        Key::Set => "set pressure",
        _ => "pressure",
    }
}

impl FigureFit {
    /// Whether the readings tell it: they leave less than half of what was open, and tell it apart from other figures.
    pub fn is_told(&self) -> bool {
        self.left_open < TOLD && !self.is_joined
    }

    /// What it is, in words.
    pub fn what(&self) -> &'static str {
        words(self.key)
    }

    /// The unit that its figures count in.
    pub fn dimension(&self) -> Dimension {
        match self.key {
            Key::Usage => Dimension::Flow,
            Key::Resistance => Dimension::PneumaticResistance,
            _ => Dimension::Pressure,
        }
    }
}

impl SystemFit {
    /// Whether the uncertainty of figures and sensors explains the readings.
    pub fn is_explained(&self) -> bool {
        self.chi_squared <= self.chi_squared_most
    }
}

/// What the readings of a day make of an office, at the temperatures in cable that were read with them. None where nothing of the air was read
/// on that day.
pub fn fit(inspection: &Inspection<'_>, day: Date) -> Option<DayFit> {
    on_day(inspection, day, |inspection| fit_as_it_was(inspection, day))
}

fn fit_as_it_was(inspection: &Inspection<'_>, day: Date) -> Option<DayFit> {
    let (observed, unused) = observed(inspection, day);
    if observed.is_empty() && unused.is_empty() {
        return None;
    }
    let mut systems: Vec<SystemId> = observed.iter().map(|observed| observed.system).collect();
    systems.sort_unstable();
    systems.dedup();
    let of_system = |system: SystemId| {
        let own: Vec<&Observed<'_>> = observed.iter().filter(|observed| observed.system == system).collect();
        fit_system(inspection, system, &own)
    };
    Some(DayFit {
        day,
        systems: systems.into_iter().map(of_system).collect(),
        unused,
    })
}

/// The latest day on which something of the air was read.
pub fn latest_day(inspection: &Inspection<'_>) -> Option<Date> {
    let days = inspection
        .office
        .readings
        .iter()
        .filter(|noted| observed::is_of_air(noted));
    days.map(|noted| noted.date.value).max()
}

fn fit_system(inspection: &Inspection<'_>, system: SystemId, own: &[&Observed<'_>]) -> SystemFit {
    let observations: Vec<_> = own.iter().map(|observed| observed.observation).collect();
    let air = &inspection.prediction.air;
    let found = air.readings(system, &bounds(inspection), &observations);
    let found = match found.as_ref().map(drysheath_prediction::Readings::fit) {
        Some(Ok(found)) => Ok(found),
        Some(Err(why)) => Err(why.to_string()),
        None => Err("the declared figures give no pressures to compare the readings with".to_owned()),
    };
    let beside = found
        .as_ref()
        .map(|found| found.readings.as_slice())
        .unwrap_or_default();
    let reading = |(number, observed): (usize, &&Observed<'_>)| ReadingFit {
        name: observed.name.clone(),
        place: observed.place,
        read: observed.read,
        figure: observed.figure(),
        deviation: observed.observation.deviation,
        declared: beside.get(number).map_or(f64::NAN, |beside| beside.declared),
        fitted: beside.get(number).map_or(f64::NAN, |beside| beside.fitted),
    };
    let readings: Vec<ReadingFit> = own.iter().enumerate().map(reading).collect();
    let chi_squared = found.as_ref().map_or(f64::NAN, |found| found.chi_squared);
    let figures = found.as_ref().map_err(Clone::clone).map(|found| {
        let figures = found.figures.iter().enumerate();
        // How much of a figure lies in what the readings leave to several together.
        let joined = |number: usize| {
            let share = found.open.as_ref().and_then(|open| open.shares.get(number));
            share.is_some_and(|share| *share >= JOINED)
        };
        figures
            .filter_map(|(number, fitted)| figure(inspection, fitted, joined(number), &readings))
            .collect()
    });
    SystemFit {
        together: found.as_ref().map_or(Vec::new(), |found| together(inspection, found)),
        chi_squared_most: chi_squared_bound(readings.len()),
        readings,
        figures,
        chi_squared,
    }
}

/// The names of a figure, and where it is stated.
struct Named {
    of: String,
    key: Key,
    thing: ThingId,
    stated: Option<(Quantity, Place)>,
}

fn named(inspection: &Inspection<'_>, of: FigureOf) -> Option<Named> {
    let office = inspection.office;
    let of_thing = |thing: ThingId, key| Named {
        of: office.name(thing).to_owned(),
        key,
        thing,
        stated: office.thing(thing).quantity(key),
    };
    let of_section = |line: usize, section: usize, key| {
        let line: &Line = inspection.prediction.air.lines().get(line)?;
        let section = line.sections.get(section)?;
        let name = office.name(line.thing);
        let branch = line
            .branch_name(office)
            .map_or(String::new(), |branch| format!(" branch {branch}"));
        Some(match line.section(office, section) {
            Some((own, fields)) => Named {
                of: format!("{name}{branch} section {own}"),
                key,
                thing: line.thing,
                stated: fields.quantity(key),
            },
            None => of_thing(line.thing, key),
        })
    };
    match of {
        FigureOf::Usage(line, section) => of_section(line, section, Key::Usage),
        FigureOf::Resistance(line, section) => of_section(line, section, Key::Resistance),
        FigureOf::Set(thing) => Some(of_thing(thing, Key::Set)),
        FigureOf::Delivers(thing) => Some(of_thing(thing, Key::Delivers)),
    }
}

fn figure(inspection: &Inspection<'_>, fitted: &Fitted, is_joined: bool, readings: &[ReadingFit]) -> Option<FigureFit> {
    /// Less than this part of a figure is no pull.
    const NO_PULL: f64 = 5e-4;
    let Named { of, key, thing, stated } = named(inspection, fitted.of)?;
    let is_part = matches!(fitted.of, FigureOf::Usage(..) | FigureOf::Resistance(..));
    // How much the logarithm is pulled is how much the figure is, as far as that goes.
    let scale = if is_part { fitted.declared } else { 1.0 };
    let pulls = readings.iter().zip(&fitted.pulls);
    let most = pulls.max_by(|(_, one), (_, other)| one.abs().total_cmp(&other.abs()));
    Some(FigureFit {
        of,
        key,
        thing,
        stated,
        declared: fitted.declared,
        fitted: fitted.fitted,
        between: fitted.between,
        left_open: fitted.left_open,
        is_joined,
        pulled: most
            .map(|(reading, pull)| (reading.name.clone(), pull * scale))
            .filter(|(_, pull)| pull.abs() > NO_PULL * fitted.declared.abs()),
    })
}

fn together(inspection: &Inspection<'_>, found: &Fit) -> Vec<Vec<String>> {
    let Some(Open { together, .. }) = &found.open else {
        return Vec::new();
    };
    let name = |number: &usize| {
        let fitted = found.figures.get(*number)?;
        let Named { of, key, .. } = named(inspection, fitted.of)?;
        let what = words(key);
        Some(format!("{what} of {of}"))
    };
    together
        .iter()
        .map(|group| group.iter().filter_map(name).collect())
        .collect()
}
