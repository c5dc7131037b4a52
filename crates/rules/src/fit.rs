//! Fits the declared figures to the readings of one day: usage and resistance of each section, and set pressures of
//! regulators and dryers.
//!
//! Before the readings, the declared figures are known within the settings `usage-estimate-within`, `resistance-within`
//! and `set-within` and the temperatures that the office states; each reading is known within its sensor's error and
//! step. Files are not changed. A figure that the readings do not determine is shown as such.

mod observed;

use std::sync::Arc;

use drysheath_engineering::estimate::{Undetermined, chi_squared_bound};
use drysheath_engineering::units::{Dimension, Quantity};
use drysheath_office::kinds::Key;
use drysheath_office::{Date, Fields, Office, Part, ThingId};
use drysheath_prediction::{Fit, FitParameter, Fitted, Line, SystemId};
use drysheath_text::Place;

pub(crate) use observed::{Observed, bounds, gauge_deviation, gauge_place, observed};

use crate::lint::Inspection;
use crate::records::of_day::on_day;

/// A figure counts as determined if the readings leave less than this fraction of its standard deviation.
pub const TOLD: f64 = 0.5;
/// A figure is confounded with others if at least this fraction of it lies in directions that the readings leave open.
const JOINED: f64 = 0.25;

/// An office fitted to the readings of one day.
#[derive(Clone, Debug)]
pub struct DayFit {
    /// The day of the readings.
    pub day: Date,
    /// The air systems with readings.
    pub systems: Vec<SystemFit>,
    /// Readings of that day that are not used, with the reasons.
    pub unused: Vec<Unused>,
}

/// A reading that is not used.
#[derive(Clone, Debug)]
pub struct Unused {
    /// Sensor or gauge: "`ps1`".
    pub name: String,
    /// The statement in the file.
    pub place: Place,
    /// The reason why it is not used.
    pub why: &'static str,
}

/// An air system fitted to the readings of a day.
#[derive(Clone, Debug)]
pub struct SystemFit {
    /// The readings and their computed values.
    pub readings: Vec<ReadingFit>,
    /// The fitted figures, or an error message.
    pub figures: Result<Vec<FigureFit>, String>,
    /// Names of figures that the readings determine only in combination.
    pub together: Vec<Vec<String>>,
    /// Sum of squared deviations of readings and figures, each in its standard deviation.
    pub chi_squared: f64,
    /// The 95 % quantile of `chi_squared`, if only the uncertainty of figures and the errors of sensors contribute.
    pub chi_squared_most: f64,
}

/// A reading and its computed values; figures as [`drysheath_office::Office::figure`] returns them.
#[derive(Clone, Debug)]
pub struct ReadingFit {
    /// Sensor or gauge: "`ps1`".
    pub name: String,
    /// The statement in the file.
    pub place: Place,
    /// The quantity as written.
    pub read: Quantity,
    /// The reading as a figure.
    pub figure: f64,
    /// Standard deviation of its error.
    pub deviation: f64,
    /// Computed with the declared figures.
    pub declared: f64,
    /// Computed with the fitted figures.
    pub fitted: f64,
}

/// A declared figure and its fitted value.
#[derive(Clone, Debug)]
pub struct FigureFit {
    /// Name of its section or thing: "c101 section s1", "r1".
    pub of: String,
    /// Field of the fitted figure.
    pub key: Key,
    /// The thing that declares it.
    pub thing: ThingId,
    /// The quantity as declared, which sets the unit, and its place. `None` for a default.
    pub stated: Option<(Quantity, Place)>,
    /// Declared value, as [`drysheath_office::Office::figure`] returns it.
    pub declared: f64,
    /// Most likely value given the readings.
    pub fitted: f64,
    /// Two standard deviations below and above `fitted`.
    pub between: (f64, f64),
    /// Standard deviation after the fit, as a fraction of that before the readings.
    pub left_open: f64,
    /// Whether the readings determine it only in combination with other figures.
    pub is_joined: bool,
    /// The reading with the strongest pull on it, and the change that it causes. `None` where no reading pulls it.
    pub pulled: Option<(String, f64)>,
}

/// Name of a figure in messages.
fn words(key: Key) -> &'static str {
    match key {
        Key::Usage => "usage",
        Key::Resistance => "resistance",
        Key::Set => "set pressure",
        _ => "pressure",
    }
}

impl FigureFit {
    /// Whether the readings determine it: they leave less than half of its standard deviation, and separate it from
    /// other figures.
    pub fn is_told(&self) -> bool {
        self.left_open < TOLD && !self.is_joined
    }

    /// Name of the figure in messages.
    pub fn what(&self) -> &'static str {
        words(self.key)
    }

    /// The part that states it for its thing, and for others that are of the part.
    pub fn part<'o>(&self, office: &'o Office) -> Option<&'o Part> {
        let (_, place) = self.stated?;
        let thing = office.thing(self.thing);
        let states = |part: &&Arc<Part>| {
            let mut fields = part.fields.iter().map(|field| field.place);
            fields.any(|field| field.file == place.file && field.range.contains(place.range))
        };
        let mut parts = thing.part.iter().chain(&thing.base);
        parts.find(states).map(Arc::as_ref)
    }

    /// Dimension of its values.
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

/// Fits an office to the readings of a day, at the cable temperatures that were read with them. `None` where no
/// pressure or flow was read on that day.
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

/// The latest day with a reading of the air.
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
    let found = match found.as_ref().map(drysheath_prediction::FitProblem::fit) {
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
    let figures: Result<Vec<FigureFit>, String> = found.as_ref().map_err(Clone::clone).map(|found| {
        let figures = found.figures.iter().enumerate();
        // The share of a figure that lies in combinations left open by the readings.
        let joined = |number: usize| {
            let share = found.open.as_ref().and_then(|open| open.shares.get(number));
            share.is_some_and(|share| *share >= JOINED)
        };
        figures
            .filter_map(|(number, fitted)| figure(inspection, fitted, joined(number), &readings))
            .collect()
    });
    SystemFit {
        together: match (&found, &figures) {
            (Ok(found), Ok(figures)) => together(inspection, found, figures),
            _ => Vec::new(),
        },
        chi_squared_most: chi_squared_bound(readings.len()),
        readings,
        figures,
        chi_squared,
    }
}

/// Name of a figure, and where it is stated.
struct NamedFigure {
    of: String,
    key: Key,
    thing: ThingId,
    stated: Option<(Quantity, Place)>,
}

fn named(inspection: &Inspection<'_>, of: FitParameter) -> Option<NamedFigure> {
    let office = inspection.office;
    let of_thing = |thing: ThingId, key| NamedFigure {
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
            Some((own, fields)) => NamedFigure {
                of: format!("{name}{branch} section {own}"),
                key,
                thing: line.thing,
                stated: fields.quantity(key),
            },
            None => of_thing(line.thing, key),
        })
    };
    match of {
        FitParameter::Usage(line, section) => of_section(line, section, Key::Usage),
        FitParameter::Resistance(line, section) => of_section(line, section, Key::Resistance),
        FitParameter::Set(thing) => Some(of_thing(thing, Key::Set)),
        FitParameter::Delivers(thing) => Some(of_thing(thing, Key::Delivers)),
    }
}

fn figure(inspection: &Inspection<'_>, fitted: &Fitted, is_joined: bool, readings: &[ReadingFit]) -> Option<FigureFit> {
    /// Pulls below this fraction of a figure are ignored.
    const NO_PULL: f64 = 5e-4;
    let NamedFigure { of, key, thing, stated } = named(inspection, fitted.of)?;
    let is_part = matches!(fitted.of, FitParameter::Usage(..) | FitParameter::Resistance(..));
    // For small changes, a change of the logarithm is the relative change of the figure.
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

/// The names of figures that the readings determine only in combination; without those that they determine by themselves all the same.
fn together(inspection: &Inspection<'_>, found: &Fit, figures: &[FigureFit]) -> Vec<Vec<String>> {
    let Some(Undetermined { together, .. }) = &found.open else {
        return Vec::new();
    };
    let name = |number: &usize| {
        let fitted = found.figures.get(*number)?;
        let NamedFigure { of, key, .. } = named(inspection, fitted.of)?;
        let mut told = figures.iter().filter(|figure| figure.is_told());
        let is_told = told.any(|figure| figure.of == of && figure.key == key);
        (!is_told).then(|| format!("{} of {of}", words(key)))
    };
    let groups = together.iter();
    let groups = groups.map(|group| group.iter().filter_map(name).collect::<Vec<_>>());
    groups.filter(|group| group.len() > 1).collect()
}
