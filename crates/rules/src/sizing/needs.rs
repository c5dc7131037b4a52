//! Required pressures of sections of cables and pipes.

use drysheath_engineering::measure::Pressure;
use drysheath_engineering::units::Dimension;
use drysheath_prediction::DeclaredBy;

use super::{FigureFormatter, Input, Origin, stated};
use crate::lint::Inspection;
use crate::sections::SectionState;

/// A required pressure of a section.
pub(super) struct Need {
    pub least: Pressure,
    /// Name of the requirement: "the minimum pressure".
    pub why: &'static str,
    /// Where it is stated.
    pub input: Input,
}

/// The required pressures of a section at its point of lowest pressure.
pub(super) fn needed(
    inspection: &Inspection<'_>,
    formatter: &FigureFormatter<'_>,
    section: &SectionState<'_>,
) -> Vec<Need> {
    let office = inspection.office;
    let minimum = section.figures.minimum.map(|minimum| {
        let from = match (minimum.place, minimum.by) {
            (Some(place), _) => Origin::Stated(place),
            (None, DeclaredBy::Settings) => {
                let file = section
                    .reach
                    .surroundings
                    .and_then(|key| inspection.settings.minimum_file(key));
                Origin::Practice(file.map(str::to_owned), "setting".to_owned())
            }
            (None, _) => Origin::Published("default"),
        };
        let input = Input {
            what: "minimum pressure".to_owned(),
            shown: minimum.quantity.to_string(),
            from,
        };
        let least = Pressure::from_pascals(office.figure(minimum.quantity));
        Need {
            least,
            why: "the minimum pressure",
            input,
        }
    });
    let water = section.figures.water.map(|water| {
        let mut input = stated("depth", water.depth, water.place);
        let head = formatter.show(Dimension::Pressure, water.head.pascals());
        input.what = format!("head of water {head} [NIST SP 811, from memory] at a depth of");
        Need {
            least: water.head,
            why: "the head of the water that may stand",
            input,
        }
    });
    minimum.into_iter().chain(water).collect()
}
