//! Water vapour in air: saturation, dew point and frost point, and the effect of compression on them.
//!
//! Vapour pressure is an absolute pressure. Below 0 °C saturation over ice and over supercooled water differ (at −40 °C
//! by a third), so every figure here states its reference surface.

use crate::measure::{AbsolutePressure, RelativeHumidity, Temperature};

/// Reference surface of a saturation figure.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Surface {
    /// Liquid water, supercooled below 0 °C: a dew point.
    Water,
    /// Ice: a frost point.
    Ice,
}

/// Saturation vapour pressure at 0 °C, Pa, over water and over ice. WMO-No. 8.
const AT_ZERO: f64 = 611.2;
/// Range of temperatures for the formula, °C.
const COLDEST: f64 = -100.0;
const HOTTEST: f64 = 100.0;

impl Surface {
    /// The two constants of the Magnus formula; the second in °C. WMO-No. 8: over water \[secondary source\], over ice
    /// \[from memory\].
    const fn magnus(self) -> (f64, f64) {
        match self {
            Surface::Water => (17.62, 243.12),
            Surface::Ice => (22.46, 272.62),
        }
    }

    /// The surface that forms when air with this vapour pressure is cooled slowly: ice below 0 °C. On a clean mirror or
    /// with fast cooling, supercooled water may form instead.
    fn settled(vapour: AbsolutePressure) -> Self {
        if vapour.pascals() < AT_ZERO {
            Surface::Ice
        } else {
            Surface::Water
        }
    }

    /// Name in messages: "over water", "over ice".
    pub const fn name(self) -> &'static str {
        match self {
            Surface::Water => "over water",
            Surface::Ice => "over ice",
        }
    }
}

/// The temperature at which vapour is saturated, with its reference surface: a dew point or a frost point.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SaturationPoint {
    /// The dew point or frost point.
    pub temperature: Temperature,
    /// Over water it is a dew point, over ice a frost point.
    pub surface: Surface,
}

/// Saturation vapour pressure, Magnus form of WMO-No. 8: e = 6.112 hPa × exp(17.62·t/(243.12 + t)) over water
/// \[secondary source\], exp(22.46·t/(272.62 + t)) over ice \[from memory\], t in °C.
///
/// Valid over water from −45 to 60 °C within 0.8 %, above 0 °C within 0.3 %; over ice from −65 to 0 °C within 0.25 %
/// (checked against the forms of Hyland-Wexler and Murphy-Koop; the limits themselves are WMO's \[from memory\]). It is
/// extrapolated down to −100 °C, where ice is 3 % low (0.14 °C of frost point), and up to 100 °C, where water is 2.4 %
/// high; other temperatures are clamped to that range. The increase of 0.5 % in the presence of air at atmospheric
/// pressure \[from memory\] is left out.
pub fn saturation_pressure(temperature: Temperature, surface: Surface) -> AbsolutePressure {
    let celsius = temperature.celsius().clamp(COLDEST, HOTTEST);
    let (slope, offset) = surface.magnus();
    AbsolutePressure::from_pascals(AT_ZERO * (slope * celsius / (offset + celsius)).exp())
}

/// Relative humidity of air with this vapour pressure and temperature. It is relative to water at every temperature, as
/// WMO-No. 8 defines it \[from memory\] and as sensors report it, with the validity of [`saturation_pressure`]. Above 1
/// for supersaturated air.
pub fn relative_humidity(vapour: AbsolutePressure, temperature: Temperature) -> RelativeHumidity {
    RelativeHumidity::from_fraction(vapour.pascals() / saturation_pressure(temperature, Surface::Water).pascals())
}

impl SaturationPoint {
    /// Temperature at which vapour of this pressure is saturated over `surface`: [`saturation_pressure`] solved for t.
    /// `None` for zero vapour pressure, and outside −100 to 100 °C.
    pub fn over(vapour: AbsolutePressure, surface: Surface) -> Option<Self> {
        let (slope, offset) = surface.magnus();
        let height = (vapour.pascals() / AT_ZERO).ln();
        let celsius = offset * height / (slope - height);
        // At 100 °C and above `height` nears `slope` and the temperature passes through infinity; it comes back below −243.
        (COLDEST..=HOTTEST).contains(&celsius).then_some(Self {
            temperature: Temperature::from_celsius(celsius),
            surface,
        })
    }

    /// Saturation point of vapour of this pressure: frost below 0 °C, dew above. `None` as in
    /// [`SaturationPoint::over`].
    pub fn of(vapour: AbsolutePressure) -> Option<Self> {
        Self::over(vapour, Surface::settled(vapour))
    }

    /// The vapour pressure at this point.
    pub fn vapour(self) -> AbsolutePressure {
        saturation_pressure(self.temperature, self.surface)
    }

    /// The same vapour relative to the other surface: a frost point as the dew point that some instruments show, or the
    /// reverse.
    pub fn restated(self, surface: Surface) -> Option<Self> {
        Self::over(self.vapour(), surface)
    }

    /// Name in messages: "dew point over water", "frost point over ice".
    pub const fn name(self) -> &'static str {
        match self.surface {
            Surface::Water => "dew point over water",
            Surface::Ice => "frost point over ice",
        }
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]

    use super::*;
    use crate::units::find;

    fn humidity_at(percent: f64, fahrenheit: f64) -> AbsolutePressure {
        let temperature = Temperature::from_kelvins(find("degF").unwrap().to_si(fahrenheit));
        saturation_pressure(temperature, Surface::Water) * (percent / 100.0)
    }

    #[test]
    fn saturation_over_ice_and_water() {
        // Worked example MOI-1 (WMO-No. 8, ice from memory), hPa; the same formula, so far closer than its 0.3 %.
        let cases = [
            (-40.0, Surface::Ice, 0.128_498_425_006_335_68),
            (-20.0, Surface::Ice, 1.032_609_629_913_464_6),
            (0.0, Surface::Ice, 6.112),
            (0.0, Surface::Water, 6.112),
            (20.0, Surface::Water, 23.325_960_220_978_07),
            (40.0, Surface::Water, 73.674_580_762_504_85),
        ];
        for (celsius, surface, expected) in cases {
            let found = saturation_pressure(Temperature::from_celsius(celsius), surface).pascals() / 100.0;
            assert!(
                (found / expected - 1.0).abs() < 1e-9,
                "{celsius} degC {}: {found}",
                surface.name()
            );
        }
    }

    #[test]
    fn dry_air_in_a_warm_office() {
        // Worked example MOI-2, tolerance 0.1 °C; CoolProp gives −27.322, PsychroLib −27.319.
        let vapour = humidity_at(2.0, 70.0);
        let point = SaturationPoint::of(vapour).unwrap();
        assert_eq!(point.name(), "frost point over ice");
        assert!(
            (point.temperature.celsius() + 27.347_439_154_8).abs() < 1e-6,
            "{point:?}"
        );
        assert!((point.temperature.celsius() + 27.318_852_459_9).abs() < 0.1);
        let dew = point.restated(Surface::Water).unwrap();
        assert_eq!(dew.name(), "dew point over water");
        assert!((dew.temperature.celsius() + 30.253_697_709_75).abs() < 1e-6, "{dew:?}");
        let back = relative_humidity(
            dew.vapour(),
            Temperature::from_kelvins(find("degF").unwrap().to_si(70.0)),
        );
        assert!((back.fraction() - 0.02).abs() < 1e-9, "{back:?}");
    }

    #[test]
    fn there_and_back() {
        for celsius in -99..=99 {
            for surface in [Surface::Water, Surface::Ice] {
                let temperature = Temperature::from_celsius(f64::from(celsius));
                let back = SaturationPoint::over(saturation_pressure(temperature, surface), surface).unwrap();
                assert!(
                    (back.temperature.celsius() - f64::from(celsius)).abs() < 1e-9,
                    "{celsius}"
                );
            }
        }
    }

    #[test]
    fn stays_a_number_far_outside() {
        for celsius in [-1e9, -243.12, -272.62, 1e9] {
            let found = saturation_pressure(Temperature::from_celsius(celsius), Surface::Water).pascals();
            assert!(found > 0.0 && found < 200_000.0, "{celsius}: {found}");
        }
        for pascals in [0.0, -5.0, 1e-9, 1e8, 1e12, f64::NAN, f64::INFINITY] {
            assert_eq!(
                SaturationPoint::of(AbsolutePressure::from_pascals(pascals)),
                None,
                "{pascals} Pa"
            );
        }
        assert_eq!(SaturationPoint::of(humidity_at(0.0, 70.0)), None);
    }
}
