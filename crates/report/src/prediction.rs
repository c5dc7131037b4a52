//! What is computed of an office, as a record for programs, as tables for people and as pictures.

mod compose;
mod electric;
mod how;
mod picture;
mod record;
mod states;
mod tables;

use drysheath_office::UnitPreferences;
use drysheath_prediction::Line;

use crate::document;

pub use compose::View;
pub use how::{Asked, how};
pub use record::{FORM, LeftOutRecord, OfficeRecord, Report};
pub use tables::tables;

/// How many parts the curve of a picture has.
const STEPS: u32 = 120;

impl View<'_> {
    /// The picture of each line of which something is known: a name for its file, and the picture as SVG.
    pub fn pictures(&self, record: &OfficeRecord, units: &UnitPreferences) -> Vec<(String, String)> {
        let lines = self.prediction.air.lines().iter().zip(&record.lines);
        lines
            .filter_map(|(line, shown)| {
                let svg = picture::picture(record, shown, &self.profile(line)?, units)?;
                let name = match &shown.branch {
                    Some(branch) => format!("{}-{branch}", shown.name),
                    None => shown.name.clone(),
                };
                Some((name, svg))
            })
            .collect()
    }

    /// The computed pressure along a line, as far out as it is known.
    fn profile(&self, line: &Line) -> Option<picture::Profile> {
        let length = line.length()?;
        let places = (0..=STEPS).map(|step| length * f64::from(step) / f64::from(STEPS));
        let mut points: Vec<f64> = places.chain(line.sections.iter().map(|reach| reach.to)).collect();
        points.sort_by(f64::total_cmp);
        points.dedup();
        let known = points
            .into_iter()
            .filter_map(|metres| Some((metres, self.prediction.air.pressure_along(line, metres)?.pascals())));
        Some(known.collect())
    }
}

impl Report {
    /// The predictions as a JSON document.
    pub fn json(&self) -> String {
        document::json(self)
    }
}

/// The JSON Schema of [`Report`].
pub fn report_schema() -> String {
    document::schema::<Report>()
}
