//! Standard conditions of gas volumes: how much air a standard cubic foot contains.
//!
//! Internally a [`Flow`] is always at 101 325 Pa (14.696 psia) and 60 °F. Figures of a repository or maker with other
//! conditions are converted once on input, and once on output.

use crate::atmosphere::{GAS_CONSTANT, SEA_LEVEL_PRESSURE};
use crate::measure::{AbsolutePressure, Density, Flow, MassFlow, Temperature};

/// Standard conditions of a volume of dry air.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct StandardConditions {
    pressure: AbsolutePressure,
    temperature: Temperature,
}

/// Standard conditions in use, with their users.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct NamedStandardConditions {
    /// Name of the conditions.
    pub name: &'static str,
    /// Pressure and temperature of a standard volume.
    pub standard: StandardConditions,
    /// Source of the conditions.
    pub source: &'static str,
    /// Source note of units at these conditions.
    pub counted: &'static str,
}

macro_rules! known {
    ($name:literal, $pascals:expr, $kelvins:expr, $source:literal $(,)?) => {
        known(
            $name,
            $pascals,
            $kelvins,
            $source,
            concat!("NIST SP 811 for the volume; counted at ", $name, " by the settings"),
        )
    };
}

const fn known(
    name: &'static str,
    pascals: f64,
    kelvins: f64,
    source: &'static str,
    counted: &'static str,
) -> NamedStandardConditions {
    let standard = StandardConditions {
        pressure: AbsolutePressure::from_pascals(pascals),
        temperature: Temperature::from_kelvins(kelvins),
    };
    NamedStandardConditions {
        name,
        standard,
        source,
        counted,
    }
}

const fn fahrenheit(degrees: f64) -> f64 {
    (degrees + 459.67) * 5.0 / 9.0
}

/// The pressure of the US gas base, 14.73 psia, in Pa.
const GAS_BASE_PRESSURE: f64 = 14.73 * (0.453_592_37 * crate::atmosphere::GRAVITY / (0.025_4 * 0.025_4));

/// Known conditions. The first one is used internally; from the smallest to the largest amount of air the difference is
/// 9 %.
pub static STANDARDS: [NamedStandardConditions; 7] = [
    known!(
        "14.696 psia, 60 °F",
        SEA_LEVEL_PRESSURE,
        fahrenheit(60.0),
        "the default of this house [common practice]",
    ),
    known!(
        "101.325 kPa, 15 °C",
        SEA_LEVEL_PRESSURE,
        288.15,
        "ISO 13443, ISO 2533 [secondary source]",
    ),
    known!(
        "14.73 psia, 60 °F",
        GAS_BASE_PRESSURE,
        fahrenheit(60.0),
        "US natural gas [from memory]",
    ),
    known!(
        "14.696 psia, 68 °F",
        SEA_LEVEL_PRESSURE,
        fahrenheit(68.0),
        "ASME displacement compressors [secondary source]",
    ),
    known!(
        "14.696 psia, 70 °F",
        SEA_LEVEL_PRESSURE,
        fahrenheit(70.0),
        "US compressed air [common practice]",
    ),
    known!(
        "100 kPa, 20 °C",
        100_000.0,
        293.15,
        "ISO 1217 annex, CAGI [from memory]",
    ),
    known!(
        "101.325 kPa, 0 °C",
        SEA_LEVEL_PRESSURE,
        273.15,
        "normal conditions, DIN 1343 [from memory]",
    ),
];

impl NamedStandardConditions {
    /// The internal conditions, which are also the default of repositories.
    pub const fn base() -> &'static Self {
        &STANDARDS[0]
    }

    /// The conditions as written in settings: `14.696 psia, 60 degF`.
    pub fn written(&self) -> String {
        let name = self.name.replace("kPa", "kPa-abs");
        name.replace("°F", "degF").replace("°C", "degC")
    }

    /// The known conditions that match a pressure and temperature, within a tenth of a percent of air since both are
    /// often rounded; no two of [`STANDARDS`] are that close. `None` if none matches.
    pub fn meant(standard: StandardConditions) -> Option<&'static Self> {
        const NEAR: f64 = 0.001;
        let is_near = |own: f64, other: f64| (own / other - 1.0).abs() <= NEAR;
        STANDARDS.iter().find(|known| {
            let known = known.standard;
            is_near(known.pressure.pascals(), standard.pressure.pascals())
                && is_near(known.temperature.kelvins(), standard.temperature.kelvins())
        })
    }
}

impl StandardConditions {
    /// The conditions of a [`Flow`]: 101 325 Pa and 60 °F.
    pub const BASE: Self = Self {
        pressure: AbsolutePressure::from_pascals(SEA_LEVEL_PRESSURE),
        temperature: Temperature::from_kelvins(fahrenheit(60.0)),
    };

    /// Creates conditions. `None` unless pressure and temperature are positive.
    pub fn new(pressure: AbsolutePressure, temperature: Temperature) -> Option<Self> {
        let positive = |figure: f64| figure.is_finite() && figure > 0.0;
        (positive(pressure.pascals()) && positive(temperature.kelvins())).then_some(Self { pressure, temperature })
    }

    /// Absolute pressure of the standard conditions.
    pub const fn pressure(self) -> AbsolutePressure {
        self.pressure
    }

    /// Temperature of the standard conditions.
    pub const fn temperature(self) -> Temperature {
        self.temperature
    }

    /// Density of dry air at these conditions, ρ = p/(R·T) with R = 287.052 87 J/(kg·K), ISO 2533 \[from memory\]. An ideal
    /// gas: real air is 0.04 to 0.06 % denser at the conditions of [`STANDARDS`] (checked against `CoolProp`).
    ///
    /// The ASME compressor test counts moist air, 36 %RH at 68 °F; 0.8 % of its pressure is vapour \[derived\], which is
    /// not taken off here.
    pub fn density(self) -> Density {
        Density::from_kilograms_per_cubic_metre(self.pressure.pascals() / (GAS_CONSTANT * self.temperature.kelvins()))
    }

    /// Ratio of the air in a cubic foot at these conditions to that in one at 101 325 Pa and 60 °F: (p/p₀)·(T₀/T)
    /// \[derived\].
    pub fn factor(self) -> f64 {
        (self.pressure.pascals() / Self::BASE.pressure.pascals())
            * (Self::BASE.temperature.kelvins() / self.temperature.kelvins())
    }

    /// Converts a figure at these conditions, read as if at 60 °F, to a true flow. For a rating of 20 scfh at 68 °F,
    /// `written` is 20 scfh and the result 19.70 scfh. Not for `nl/min` and `nm3/h`, which have their conditions in
    /// their name.
    pub fn flow(self, written: Flow) -> Flow {
        written * self.factor()
    }

    /// Converts a true flow to a figure at these conditions: the inverse of [`StandardConditions::flow`].
    pub fn written(self, flow: Flow) -> Flow {
        flow * self.factor().recip()
    }
}

/// The mass of dry air in a flow, ṁ = ρ·Q at the conditions of a [`Flow`] \[derived\]; within 0.06 % of a real gas.
pub fn mass_flow(flow: Flow) -> MassFlow {
    let density = StandardConditions::BASE.density().kilograms_per_cubic_metre();
    MassFlow::from_kilograms_per_second(density * flow.cubic_metres_per_second())
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]

    use super::*;
    use crate::figures::scfh;

    #[test]
    fn air_in_a_standard_cubic_foot() {
        // Worked example STD-1 (ISO 13443, ISO 2533, ASME, ISO 1217, the US gas base), tolerance 0.1 %; ours is the same
        // formula and agrees closer. In the order of STANDARDS: mg/s in one scfh, and times that at 60 °F.
        let expected = [
            (9.617_052_019_650_927, 1.0),
            (9.635_593_774_561_857, 1.001_928_008_174_754_8),
            (9.639_335_194_573_638, 1.002_317_048_392_498_8),
            (9.471_247_982_739_207, 0.984_839_009_229_253_2),
            (9.435_485_156_893_911, 0.981_120_320_199_369_5),
            (9.347_394_999_002_427, 0.971_960_532_177_896_2),
            (10.164_731_269_046_309, 1.056_948_766_449_041_3),
        ];
        for (known, (milligrams, factor)) in STANDARDS.iter().zip(expected) {
            let found = mass_flow(known.standard.flow(scfh(1.0))).kilograms_per_second() * 1e6;
            assert!((found / milligrams - 1.0).abs() < 1e-9, "{}: {found} mg/s", known.name);
            assert!((known.standard.factor() / factor - 1.0).abs() < 1e-9, "{}", known.name);
        }
        assert_eq!(
            STANDARDS.first().map(|known| known.standard),
            Some(StandardConditions::BASE)
        );
    }

    #[test]
    fn ratings_convert_there_and_back() {
        // By hand, ideal gas: ratings at 14.696 psia 68 °F and 100 kPa 20 °C lie 1.5 and 2.8 % below the default.
        let rating = |known: &NamedStandardConditions| known.standard.flow(scfh(20.0)).cubic_metres_per_second();
        for (place, below) in [(3, 0.015), (5, 0.028)] {
            let known = STANDARDS.get(place).unwrap();
            let ratio = rating(known) / scfh(20.0).cubic_metres_per_second();
            assert!((1.0 - ratio - below).abs() < 0.000_5, "{}: {ratio}", known.name);
            let back = known.standard.written(known.standard.flow(scfh(20.0)));
            assert!((back.cubic_metres_per_second() / scfh(20.0).cubic_metres_per_second() - 1.0).abs() < 1e-12);
        }
    }

    #[test]
    fn conditions_are_positive() {
        let new = |pascals, kelvins| {
            StandardConditions::new(
                AbsolutePressure::from_pascals(pascals),
                Temperature::from_kelvins(kelvins),
            )
        };
        assert!(new(101_325.0, 288.15).is_some());
        for (pascals, kelvins) in [
            (0.0, 288.15),
            (101_325.0, 0.0),
            (-1.0, 288.15),
            (f64::NAN, 1.0),
            (1.0, f64::INFINITY),
        ] {
            assert_eq!(new(pascals, kelvins), None);
        }
    }
}
