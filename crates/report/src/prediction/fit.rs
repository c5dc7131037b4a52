//! The declared figures fitted to the readings of one day, as a record and as text.

use std::fmt::Write as _;

use drysheath_engineering::units::Dimension;
use drysheath_office::kinds::Key;
use drysheath_office::{Date, Fields, UnitPreferences};
use drysheath_rules::Inspection;
use drysheath_rules::fit::{DayFit, FigureFit, ReadingFit, SystemFit, fit};
use drysheath_text::safe::terminal;

use super::compose::OfficeView;
use super::record::{FitFigureRecord, FitReadingRecord, FitRecord, FitSystemRecord, FitUnusedRecord, si_unit};
use crate::cautions::CAUTIONS;
use crate::text_table::{CellAlignment, text_table};

impl OfficeView<'_> {
    /// Fits the declared figures to the readings of a day. `None` where no pressure or flow was read on that day.
    pub fn fit(&self, day: Date) -> Option<FitRecord> {
        let inspection = Inspection::new(self.office, self.networks, self.prediction, self.settings);
        let DayFit { day, systems, unused } = fit(&inspection, day)?;
        Some(FitRecord {
            day: day.to_string(),
            systems: systems.iter().map(|system| self.fit_system(system)).collect(),
            unused: unused
                .iter()
                .map(|unused| FitUnusedRecord {
                    name: plain(&unused.name),
                    place: self.place(unused.place),
                    why: unused.why.to_owned(),
                })
                .collect(),
        })
    }

    /// Formats a fit as text.
    pub fn fit_text(&self, fit: &FitRecord) -> String {
        let office = self.office;
        let units = UnitPreferences::of(office);
        let itself = office.itself.map(|id| office.thing(id));
        let name = office.itself.map_or("", |id| office.name(id));
        let name = itself.and_then(|itself| itself.text(Key::Title)).unwrap_or(name);
        let mut out = String::new();
        let _ = writeln!(
            out,
            "{name} ({}): readings of {}",
            self.files.path(office.file),
            fit.day
        );
        for system in &fit.systems {
            readings(system, &units, &mut out);
            figures(system, &units, &mut out);
            verdict(system, &mut out);
        }
        for unused in &fit.unused {
            let (file, line) = (&unused.place.file, unused.place.line);
            let _ = writeln!(out, "not used: {} ({file}:{line}): {}", unused.name, unused.why);
        }
        self.tell_unread(&mut out);
        let _ = write!(out, "\nThese figures are estimated from readings. {CAUTIONS}");
        terminal(&out).into_owned()
    }

    fn fit_system(&self, system: &SystemFit) -> FitSystemRecord {
        let (figures, not_computed) = match &system.figures {
            Ok(figures) => (figures.as_slice(), None),
            Err(why) => (&[][..], Some(why.clone())),
        };
        FitSystemRecord {
            readings: system
                .readings
                .iter()
                .map(|reading| self.fit_reading(reading))
                .collect(),
            figures: figures.iter().map(|figure| self.fit_figure(figure)).collect(),
            not_computed,
            together: system.together.clone(),
            chi_squared: finite(system.chi_squared),
            degrees_of_freedom: system.readings.len(),
            chi_squared_most: system.chi_squared_most,
        }
    }

    fn fit_reading(&self, reading: &ReadingFit) -> FitReadingRecord {
        FitReadingRecord {
            name: plain(&reading.name),
            place: self.place(reading.place),
            unit: si_unit(reading.read.dimension()).to_owned(),
            read: reading.figure,
            deviation: reading.deviation,
            declared: finite(reading.declared),
            fitted: finite(reading.fitted),
        }
    }

    fn fit_figure(&self, figure: &FigureFit) -> FitFigureRecord {
        let pulled = figure.pulled.as_ref();
        FitFigureRecord {
            of: figure.of.clone(),
            what: figure.what().to_owned(),
            unit: si_unit(figure.dimension()).to_owned(),
            place: figure.stated.as_ref().map(|(_, place)| self.place(*place)),
            declared: figure.declared,
            fitted: figure.fitted,
            least: figure.between.0,
            most: figure.between.1,
            left_open: figure.left_open,
            told: figure.is_told(),
            pulled_by: pulled.map(|(name, _)| plain(name)),
            pull: pulled.map(|(_, pull)| *pull),
        }
    }
}

/// A name without backticks.
fn plain(name: &str) -> String {
    name.replace('`', "")
}

fn finite(figure: f64) -> Option<f64> {
    figure.is_finite().then_some(figure)
}

/// Dimension of a record's figures.
fn dimension(unit: &str) -> Dimension {
    match unit {
        "Pa" => Dimension::Pressure,
        "m3/s" => Dimension::Flow,
        _ => Dimension::PneumaticResistance,
    }
}

const LEFT: CellAlignment = CellAlignment::Left;
const RIGHT: CellAlignment = CellAlignment::Right;

fn readings(system: &FitSystemRecord, units: &UnitPreferences, out: &mut String) {
    let rows = system.readings.iter().map(|reading| {
        let show = |figure: Option<f64>| units.show_or_dash(dimension(&reading.unit), figure);
        let off = reading.fitted.map(|fitted| (reading.read - fitted) / reading.deviation);
        vec![
            reading.name.clone(),
            show(Some(reading.read)),
            show(reading.declared),
            show(reading.fitted),
            off.map_or("-".to_owned(), |off| format!("{off:+.1}")),
        ]
    });
    let columns = [
        ("reading", LEFT),
        ("read", RIGHT),
        ("from declared", RIGHT),
        ("from fitted", RIGHT),
        ("off, deviations", RIGHT),
    ];
    text_table(out, "readings", &columns, &rows.collect::<Vec<_>>());
}

fn figures(system: &FitSystemRecord, units: &UnitPreferences, out: &mut String) {
    if let Some(why) = &system.not_computed {
        let _ = writeln!(out, "not computed: {why}");
        return;
    }
    let rows = system.figures.iter().map(|figure| {
        let show = |si: f64| units.show(dimension(&figure.unit), si);
        let pulled = figure.pulled_by.as_ref().zip(figure.pull);
        vec![
            format!("{} {}", figure.of, figure.what),
            show(figure.declared),
            show(figure.fitted),
            show(figure.least),
            show(figure.most),
            if figure.told { "yes" } else { "no" }.to_owned(),
            pulled.map_or("-".to_owned(), |(name, pull)| {
                let by = 100.0 * pull / figure.declared;
                format!("{name} {by:+.1} %")
            }),
        ]
    });
    let columns = [
        ("figure", LEFT),
        ("declared", RIGHT),
        ("fitted", RIGHT),
        ("-2 deviations", RIGHT),
        ("+2 deviations", RIGHT),
        ("determined", LEFT),
        ("pulled most by", LEFT),
    ];
    text_table(out, "figures", &columns, &rows.collect::<Vec<_>>());
}

fn verdict(system: &FitSystemRecord, out: &mut String) {
    for group in &system.together {
        let _ = writeln!(out, "not told apart by these readings: {}", group.join(", "));
    }
    let Some(chi_squared) = system.chi_squared else { return };
    let most = system.chi_squared_most;
    let count = system.degrees_of_freedom;
    let verdict = if chi_squared <= most {
        "the declared uncertainties and the sensors' errors explain the readings"
    } else {
        "the declared uncertainties and the sensors' errors do not explain the readings: look for a leak, a wrong record or a bad \
         sensor before you take over a figure"
    };
    let _ = writeln!(
        out,
        "chi-squared {chi_squared:.1} with {count} degrees of freedom, at most {most:.1} nineteen times in twenty: {verdict}"
    );
}
