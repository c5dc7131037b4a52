//! Units of standard air under a repository's standard conditions: one scfh at 70 °F is less air than at 60 °F, and so
//! another unit.

use std::sync::LazyLock;

use super::{Dimension, Scale, UNITS, Unit};
use crate::standard::{NamedStandardConditions, STANDARDS};

/// The units for each of [`STANDARDS`] except the first, whose units are those of the table.
static ELSEWHERE: LazyLock<Vec<Vec<Unit>>> = LazyLock::new(|| {
    let of = |known| UNITS.iter().filter_map(|unit| at(unit, known)).collect();
    STANDARDS.iter().skip(1).map(of).collect()
});

/// The unit with the name of `unit` under the conditions `standard`. Most units are the same under all conditions.
pub fn counted(unit: &'static Unit, standard: &'static NamedStandardConditions) -> &'static Unit {
    // Called for every figure that is read.
    if power(unit).is_none() || std::ptr::eq(standard, NamedStandardConditions::base()) {
        return unit;
    }
    let at = STANDARDS.iter().skip(1).position(|known| known == standard);
    let units = at.and_then(|at| ELSEWHERE.get(at)).into_iter().flatten();
    units.into_iter().find(|own| own.name == unit.name).unwrap_or(unit)
}

/// Exponent of standard volume in the unit, -1 if it is divided by one. `None` if the unit contains no standard volume,
/// or has fixed conditions of its own.
fn power(unit: &Unit) -> Option<i32> {
    match unit.dimension {
        Dimension::Flow | Dimension::StandardVolume if unit.counts_at_its_own() => None,
        Dimension::Flow | Dimension::StandardVolume => Some(1),
        Dimension::PneumaticResistance | Dimension::Droop => Some(-1),
        _ => None,
    }
}

fn at(unit: &Unit, known: &NamedStandardConditions) -> Option<Unit> {
    let (power, Scale::Factor(factor)) = (power(unit)?, unit.scale) else {
        return None;
    };
    Some(Unit {
        name: unit.name,
        aliases: unit.aliases,
        dimension: unit.dimension,
        absolute: unit.absolute,
        scale: Scale::Factor(factor * known.standard.factor().powi(power)),
        source: match unit.dimension {
            Dimension::Flow | Dimension::StandardVolume => known.counted,
            _ => unit.source,
        },
    })
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]

    use super::super::find;
    use super::*;

    #[test]
    fn a_standard_volume_is_another_amount_of_air_at_other_conditions() {
        // By hand, ideal gas: 60 °F is 519.67 °R and 70 °F 529.67 °R, so that a cubic foot at 70 °F has 0.981 120 of the air.
        let warm = STANDARDS
            .iter()
            .find(|known| known.name == "14.696 psia, 70 °F")
            .unwrap();
        let ratio = 519.67 / 529.67;
        for (name, expected) in [
            ("scfh", ratio),
            ("scfm", ratio),
            ("scfd", ratio),
            ("sl/min", ratio),
            ("sl/h", ratio),
            ("sm3/h", ratio),
            ("psi/scfh/kft", 1.0 / ratio),
            ("kPa/slpm/km", 1.0 / ratio),
            ("psi/scfm", 1.0 / ratio),
            ("scf", ratio),
            ("sm3", ratio),
            ("nm3", 1.0),
            ("nl/min", 1.0),
            ("nm3/h", 1.0),
            ("psi", 1.0),
        ] {
            let unit = find(name).unwrap();
            let own = counted(unit, warm);
            assert!(
                (own.to_si(1.0) / unit.to_si(1.0) / expected - 1.0).abs() < 1e-6,
                "{name}"
            );
            assert!(std::ptr::eq(counted(own, warm), own), "{name}");
            assert!(
                std::ptr::eq(counted(unit, NamedStandardConditions::base()), unit),
                "{name}"
            );
        }
        assert!(counted(find("scfh").unwrap(), warm).source.contains("70 °F"));
    }
}
