//! The minimum pressure that is declared for a place on a cable or pipe.

use drysheath_engineering::units::Quantity;
use drysheath_office::kinds::{Key, SURROUNDINGS};
use drysheath_office::{Fields, Office};
use drysheath_text::Place;

use crate::line::{Line, LineSection};

/// The minimum pressures that the repository declares, in the order of [`SURROUNDINGS`].
pub type DefaultMinimums = [Option<Quantity>; 3];

/// Where a minimum pressure is declared.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum DeclaredBy {
    /// In the section or pipe itself.
    Itself,
    /// In the office, for all sections in such surroundings.
    Office,
    /// In the settings of the repository, for all its offices.
    Settings,
}

/// The minimum pressure of a section or pipe.
#[derive(Clone, Copy, Debug)]
pub struct MinimumPressure {
    /// The pressure as it is written.
    pub quantity: Quantity,
    /// Where the pressure is declared.
    pub by: DeclaredBy,
    /// Place in an office's file or in a file of parts. `None` for settings.
    pub place: Option<Place>,
}

/// The minimum pressure that is declared for a section or pipe: by itself, by the office for its surroundings, or by
/// the repository. `None` where there is none.
pub fn minimum_pressure(
    office: &Office,
    practice: &DefaultMinimums,
    line: &Line,
    section: &LineSection,
) -> Option<MinimumPressure> {
    let own = match section.surroundings {
        None => office.thing(line.thing).quantity(Key::Minimum),
        Some(_) => line.section(office, section)?.1.quantity(Key::Minimum),
    };
    let said = |by| {
        move |(quantity, place): (Quantity, Place)| MinimumPressure {
            quantity,
            by,
            place: Some(place),
        }
    };
    if let Some(own) = own {
        return Some(said(DeclaredBy::Itself)(own));
    }
    let key = section.surroundings?;
    let of_office = office.itself.and_then(|id| office.thing(id).group(Key::AirMinimum));
    if let Some(found) = of_office.and_then(|minimums| minimums.quantity(key)) {
        return Some(said(DeclaredBy::Office)(found));
    }
    let at = SURROUNDINGS.iter().position(|other| *other == key)?;
    Some(MinimumPressure {
        quantity: (*practice.get(at)?)?,
        by: DeclaredBy::Settings,
        place: None,
    })
}
