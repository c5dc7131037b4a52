//! Locates a leak in a cable from a few pressure readings along it.
//!
//! Along a cable of one pneumatic resistance through which a steady flow passes, the *square* of the absolute pressure
//! is a straight line. A leak is where the line from the fed side meets the line from beyond. Straight lines in the
//! pressure itself, or in the square of the gauge pressure, meet hundreds of feet away from it. [`PressureReading`]
//! therefore only takes absolute pressures.

use core::fmt;

use crate::measure::{AbsolutePressure, Length, Pressure};

/// Half-width of the interval in standard deviations: it contains the leak in some 95 % of cases.
const COVERAGE: f64 = 2.0;
/// Minimum bend between the two lines, in its own standard deviations. Simulated, the interval holds 95 % of leaks
/// whose bend has eight or more, 94 % at six, and 87 % where the bend is just sufficient.
const SHARPNESS: f64 = 5.0;

/// A pressure reading at a point of a cable.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PressureReading {
    /// Distance along the cable, from a point common to all readings.
    pub distance: Length,
    /// Absolute pressure: reading of the sensor plus ambient pressure.
    pub pressure: AbsolutePressure,
    /// Standard deviation of the reading's error.
    pub deviation: Pressure,
}

impl PressureReading {
    /// A reading by a sensor with this step: its error is uniform within half a step, with a standard deviation of
    /// step/√12 \[derived\]. Errors of calibration and of the ambient pressure are not included.
    pub fn with_step(distance: Length, pressure: AbsolutePressure, step: Pressure) -> Self {
        let deviation = step * 12_f64.sqrt().recip();
        Self {
            distance,
            pressure,
            deviation,
        }
    }

    /// P = p² and its standard deviation 2·p·σ.
    fn square(self) -> (f64, f64) {
        let pascals = self.pressure.pascals();
        (pascals * pascals, 2.0 * pascals * self.deviation.pascals())
    }
}

/// Readings beyond the leak, as seen from the side that feeds the cable.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Beyond {
    /// No flow beyond the leak: the cable ends, so one reading anywhere beyond gives the pressure at the leak.
    DeadEnd(PressureReading),
    /// Air flows on, or comes from a second feed: two readings, the nearer one first.
    Through([PressureReading; 2]),
}

/// The place of the leak.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LeakPlace {
    /// The most likely place, on the scale of the readings' distances.
    pub distance: Length,
    /// Standard deviation of the distance, from those of the measured pressures.
    pub deviation: Length,
}

impl LeakPlace {
    /// The interval of two standard deviations on each side, which contains the leak in 95 % of cases.
    pub fn interval(self) -> [Length; 2] {
        let (middle, half) = (self.distance.metres(), COVERAGE * self.deviation.metres());
        [Length::from_metres(middle - half), Length::from_metres(middle + half)]
    }
}

/// Why the readings do not locate a leak.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum LeakError {
    /// A figure is NaN, an absolute pressure is not positive, or a deviation is negative.
    Unusable,
    /// The readings are not in the order of the flow.
    OutOfOrder,
    /// The bend between the two lines is within the errors of the sensors.
    NoBend,
    /// The lines meet at one of the readings nearest to the leak, within the errors. A leak on the other side of that
    /// reading, at any distance, would give the same readings.
    AtReading {
        /// The point where the two straight lines of squared pressure meet.
        place: LeakPlace,
        /// The distance of that reading.
        reading: Length,
    },
    /// The lines meet outside the stretch between the readings nearest to the leak: the cable is not uniform, it leaks
    /// in more than one place, or a reading is wrong.
    Outside {
        /// The point where the two straight lines of squared pressure meet.
        place: LeakPlace,
    },
}

impl fmt::Display for LeakError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            LeakError::Unusable => "a reading is not a pressure above vacuum, or its error is not a positive number",
            LeakError::OutOfOrder => "give the readings in the order in which the air passes them, each at its own place",
            LeakError::NoBend => {
                "the pressures lie on one straight line as near as the sensors can tell: there is no leak between the \
                 readings, or it is too small; take readings farther apart, or with a finer gauge"
            }
            LeakError::AtReading { .. } => {
                "the leak lies at one of the readings or on the other side of it, and these readings cannot tell which; \
                 take one more reading on that side"
            }
            LeakError::Outside { .. } => {
                "the lines meet outside the readings: the cable is not uniform, it leaks in more than one place, or a \
                 reading is wrong"
            }
        })
    }
}

impl core::error::Error for LeakError {}

/// A straight line P(x) = p² along the cable, with the points that contribute to its errors.
struct FittedLine {
    at: f64,
    height: f64,
    slope: f64,
    points: [(PressureReading, f64); 2],
}

impl FittedLine {
    fn through([first, second]: [PressureReading; 2]) -> Self {
        let (near, far) = (first.distance.metres(), second.distance.metres());
        let slope = (second.square().0 - first.square().0) / (far - near);
        Self {
            at: near,
            height: first.square().0,
            slope,
            points: [(first, far), (second, near)],
        }
    }

    fn level(reading: PressureReading) -> Self {
        let at = reading.distance.metres();
        Self {
            at,
            height: reading.square().0,
            slope: 0.0,
            points: [(reading, f64::INFINITY), (reading, f64::INFINITY)],
        }
    }

    /// Variance of the line's height at x. The weight of a point is (other − x)/(other − own); a level line has a
    /// single point with weight 1.
    fn variance(&self, x: f64) -> f64 {
        let [(only, other), _] = self.points;
        if other.is_infinite() {
            return only.square().1.powi(2);
        }
        let part = |(reading, other): (PressureReading, f64)| {
            let weight = (other - x) / (other - reading.distance.metres());
            (weight * reading.square().1).powi(2)
        };
        self.points.into_iter().map(part).sum()
    }

    /// Variance of its slope.
    fn steepness(&self) -> f64 {
        let part = |(reading, other): (PressureReading, f64)| {
            if other.is_infinite() {
                0.0
            } else {
                (reading.square().1 / (other - reading.distance.metres())).powi(2)
            }
        };
        self.points.into_iter().map(part).sum()
    }
}

/// Locates the leak of a cable: the two straight lines of squared absolute pressure, before the leak and beyond, meet
/// there \[derived\]. `before` are two readings on the fed side, the one nearest to the feed first.
///
/// Valid for a uniform cable (one k throughout), one leak, a steady and laminar flow, and one temperature. Three
/// readings are enough where the cable is dead-ended beyond the leak, four otherwise. Distributed small leaks bend the
/// lines and move the place.
///
/// The deviation is the readings' own, carried through to first order: σ² = Σ (wᵢ(x)·2·pᵢ·σᵢ)²/(b₁ − b₂)², with wᵢ the
/// weight of a reading in its line at x and b the slopes \[derived; simulations agree within 5 %\]. Errors of the
/// readings are assumed independent, so an error of the ambient pressure, which all share, is not included.
///
/// # Errors
///
/// [`LeakError`] if no place can be given; two of its variants give the point where the lines meet.
pub fn locate(before: [PressureReading; 2], beyond: Beyond) -> Result<LeakPlace, LeakError> {
    let [feed, last] = before;
    let (next, line) = match beyond {
        Beyond::DeadEnd(reading) => (reading, FittedLine::level(reading)),
        Beyond::Through([nearer, farther]) => (nearer, FittedLine::through([nearer, farther])),
    };
    let farthest = match beyond {
        Beyond::DeadEnd(_) => None,
        Beyond::Through([_, farther]) => Some(farther),
    };
    let readings = || [feed, last, next].into_iter().chain(farthest);
    let usable = |reading: PressureReading| {
        let (pressure, deviation) = (reading.pressure.pascals(), reading.deviation.pascals());
        let finite = pressure.is_finite() && deviation.is_finite() && reading.distance.metres().is_finite();
        finite && pressure > 0.0 && deviation >= 0.0
    };
    if !readings().all(usable) {
        return Err(LeakError::Unusable);
    }
    if !readings().is_sorted_by(|a, b| a.distance < b.distance) {
        return Err(LeakError::OutOfOrder);
    }
    let supplied = FittedLine::through(before);
    let bend = line.slope - supplied.slope;
    let doubt = (supplied.steepness() + line.steepness()).sqrt();
    if bend <= 0.0 || bend < SHARPNESS * doubt {
        return Err(LeakError::NoBend);
    }
    // At the leak both lines have the same height.
    let x = supplied.at + (supplied.height - line.height - line.slope * (supplied.at - line.at)) / bend;
    let place = LeakPlace {
        distance: Length::from_metres(x),
        deviation: Length::from_metres((supplied.variance(x) + line.variance(x)).sqrt() / bend),
    };
    let [nearest, farthest] = place.interval();
    for reading in [last.distance, next.distance] {
        if nearest <= reading && reading <= farthest {
            return Err(LeakError::AtReading { place, reading });
        }
    }
    if place.distance > last.distance && place.distance < next.distance {
        Ok(place)
    } else {
        Err(LeakError::Outside { place })
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]

    use super::*;
    use crate::atmosphere::SEA_LEVEL_PRESSURE;
    use crate::figures::psi;
    use crate::noise::Noise;
    use crate::units::find;

    const SEA_LEVEL: AbsolutePressure = AbsolutePressure::from_pascals(SEA_LEVEL_PRESSURE);

    fn kilofeet(figure: f64) -> Length {
        Length::from_metres(find("kft").unwrap().to_si(figure))
    }

    fn in_kilofeet(length: Length) -> f64 {
        find("kft").unwrap().from_si(length.metres())
    }

    fn reading(distance: f64, gauge: f64, deviation: f64) -> PressureReading {
        PressureReading {
            distance: kilofeet(distance),
            pressure: SEA_LEVEL + psi(gauge),
            deviation: psi(deviation),
        }
    }

    /// Gauge pressure of a uniform cable with 9.5 psig at the fed end: P falls by `before` per kft up to the leak and
    /// by `beyond` after it (psi²).
    fn gauge(x: f64, leak: f64, before: f64, beyond: f64) -> f64 {
        gauge_from(9.5, x, leak, before, beyond)
    }

    fn gauge_from(feed: f64, x: f64, leak: f64, before: f64, beyond: f64) -> f64 {
        let atmosphere = find("psi").unwrap().from_si(SEA_LEVEL_PRESSURE);
        let square = (feed + atmosphere).powi(2) - before * x.min(leak) - beyond * (x - leak).max(0.0);
        square.sqrt() - atmosphere
    }

    /// Worked example AIR-4 (derived), with the deviation of its readings.
    fn worked(deviation: f64) -> ([PressureReading; 2], Beyond) {
        let [feed, last, end] = [
            (0.0, 9.5),
            (4.0, 5.818_663_354_905_205),
            (10.0, 3.308_216_518_069_077_2),
        ]
        .map(|(distance, gauge)| reading(distance, gauge, deviation));
        ([feed, last], Beyond::DeadEnd(end))
    }

    #[test]
    fn a_leak_before_a_dead_end() {
        // Worked example AIR-4 (derived), tolerance 0.001 kft; deviation 5 %.
        let (before, beyond) = worked(0.05);
        let found = locate(before, beyond).unwrap();
        assert!((in_kilofeet(found.distance) - 6.35).abs() < 1e-9, "{found:?}");
        assert!(
            (in_kilofeet(found.deviation) / 0.097_214_677_571_050_87 - 1.0).abs() < 0.05,
            "{found:?}"
        );
        let step = |(distance, gauge): (f64, f64)| {
            PressureReading::with_step(kilofeet(distance), SEA_LEVEL + psi(gauge), psi(0.1))
        };
        let [feed, last, end] = [(0.0, 9.5), (4.0, 5.8), (10.0, 3.3)].map(step);
        let rounded = locate([feed, last], Beyond::DeadEnd(end)).unwrap();
        assert!(
            (in_kilofeet(rounded.distance) - 6.327_763_224_296_696).abs() < 1e-6,
            "{rounded:?}"
        );
        let [from, to] = rounded.interval();
        assert!(from < kilofeet(6.35) && kilofeet(6.35) < to, "{rounded:?}");
    }

    #[test]
    fn a_leak_that_air_passes() {
        // A cable that feeds another one beyond the leak, and one fed from both ends.
        for (leak, before, beyond) in [(6.35, 40.0, 12.0), (5.0, 30.0, -8.0)] {
            let [a, b, c, d] = [0.0, 4.0, 8.0, 10.0].map(|x| reading(x, gauge(x, leak, before, beyond), 0.01));
            let found = locate([a, b], Beyond::Through([c, d])).unwrap();
            assert!((in_kilofeet(found.distance) - leak).abs() < 1e-9, "{found:?}");
        }
    }

    /// The place, including one that comes with an error.
    fn place(found: Result<LeakPlace, LeakError>) -> Option<LeakPlace> {
        match found {
            Ok(place) | Err(LeakError::AtReading { place, .. } | LeakError::Outside { place }) => Some(place),
            Err(_) => None,
        }
    }

    /// Mean and standard deviation of the errors, each relative to the expected deviation, and the fraction within two
    /// deviations.
    fn spread(errors: impl Iterator<Item = f64>) -> (f64, f64, f64) {
        let (mut count, mut sum, mut squares, mut inside) = (0.0, 0.0, 0.0, 0.0);
        for error in errors {
            count += 1.0;
            sum += error;
            squares += error * error;
            inside += f64::from(u8::from(error.abs() < COVERAGE));
        }
        let mean = sum / count;
        (mean, (squares / count - mean * mean).sqrt(), inside / count)
    }

    #[test]
    fn simulated_noise_agrees_with_the_formula() {
        let mut noise = Noise(4);
        let [a, b, c, d] = [0.0, 4.0, 8.0, 10.0].map(|x| reading(x, gauge(x, 6.35, 40.0, 12.0), 0.02));
        // AIR-4, and a cable that continues.
        let (feed, end) = worked(0.05);
        for (before, beyond) in [(feed, end), ([a, b], Beyond::Through([c, d]))] {
            let expected = locate(before, beyond).unwrap();
            let mut shake = |reading: PressureReading| {
                let error = Pressure::from_pascals(noise.normal() * reading.deviation.pascals());
                PressureReading {
                    pressure: reading.pressure + error,
                    ..reading
                }
            };
            let errors = (0..20_000).map(|_| {
                let shaken = match beyond {
                    Beyond::DeadEnd(end) => Beyond::DeadEnd(shake(end)),
                    Beyond::Through(pair) => Beyond::Through(pair.map(&mut shake)),
                };
                let found = locate(before.map(&mut shake), shaken).unwrap();
                (found.distance.metres() - expected.distance.metres()) / expected.deviation.metres()
            });
            let (mean, deviation, inside) = spread(errors);
            assert!((deviation - 1.0).abs() < 0.05, "{deviation} times the formula's");
            assert!(mean.abs() < 0.05, "{mean}");
            assert!((inside - 0.954).abs() < 0.01, "{inside}");
        }
    }

    #[test]
    fn the_interval_of_a_small_leak_holds_it() {
        // Bends of 5, 6, 8 and 12 deviations: wherever a place is given, its interval contains the leak.
        let mut noise = Noise(6);
        for (fall, least) in [(4.0, 0.86), (5.0, 0.93), (7.0, 0.95), (10.0, 0.95)] {
            let errors = (0..20_000).filter_map(|_| {
                let [feed, last, end] =
                    [0.0, 4.0, 10.0].map(|x| reading(x, gauge(x, 6.35, fall, 0.0) + 0.05 * noise.normal(), 0.05));
                let found = place(locate([feed, last], Beyond::DeadEnd(end)))?;
                Some((in_kilofeet(found.distance) - 6.35) / in_kilofeet(found.deviation))
            });
            let (_, _, inside) = spread(errors);
            assert!(inside > least, "{fall}: {inside}");
        }
    }

    #[test]
    fn simulated_steps_agree_with_the_formula() {
        // Many leaks in many cables, read with sensors of step 0.1 psi.
        let mut noise = Noise(5);
        let errors = (0..20_000).map(|_| {
            let (leak, before, feed) = (5.0 + 4.0 * noise.even(), 25.0 + 15.0 * noise.even(), 9.0 + noise.even());
            let [feed, last, end] = [0.0, 4.0, 10.0].map(|x| {
                let shown = (gauge_from(feed, x, leak, before, 0.0) / 0.1).round() * 0.1;
                PressureReading::with_step(kilofeet(x), SEA_LEVEL + psi(shown), psi(0.1))
            });
            let found = locate([feed, last], Beyond::DeadEnd(end)).unwrap();
            (in_kilofeet(found.distance) - leak) / in_kilofeet(found.deviation)
        });
        let (mean, deviation, inside) = spread(errors);
        assert!((deviation - 1.0).abs() < 0.05, "{deviation} times the formula's");
        assert!(mean.abs() < 0.05, "{mean}");
        assert!((inside - 0.954).abs() < 0.02, "{inside}");
    }

    #[test]
    fn a_leak_on_the_other_side_of_a_reading_is_not_misplaced() {
        // With a leak before the second reading, or beyond the third, the lines meet at that reading.
        for leak in [1.0, 3.0] {
            let [a, b, c] = [0.0, 4.0, 10.0].map(|x| reading(x, gauge(x, leak, 40.0, 0.0), 0.03));
            let error = locate([a, b], Beyond::DeadEnd(c)).unwrap_err();
            assert!(
                matches!(error, LeakError::AtReading { reading, .. } if reading == b.distance),
                "{error:?}"
            );
            assert!(error.to_string().contains("on the other side"));
        }
        let [a, b, c] = [0.0, 4.0, 8.0].map(|x| reading(x, gauge(x, 9.0, 20.0, 0.0), 0.03));
        let error = locate([a, b], Beyond::DeadEnd(c)).unwrap_err();
        assert!(
            matches!(error, LeakError::AtReading { reading, .. } if reading == c.distance),
            "{error:?}"
        );
        let [a, b, c, d] = [0.0, 4.0, 8.0, 10.0].map(|x| reading(x, gauge(x, 2.0, 40.0, 12.0), 0.03));
        let error = locate([a, b], Beyond::Through([c, d])).unwrap_err();
        assert!(
            matches!(error, LeakError::AtReading { reading, .. } if reading == b.distance),
            "{error:?}"
        );
    }

    #[test]
    fn what_places_no_leak_says_why() {
        let three = |gauges: [f64; 3], deviation| {
            let [a, b, c] = gauges;
            let at = |x, gauge| reading(x, gauge, deviation);
            locate([at(0.0, a), at(4.0, b)], Beyond::DeadEnd(at(10.0, c)))
        };
        // No leak: all readings are equal, or differ by less than their errors.
        assert_eq!(three([9.5, 9.5, 9.5], 0.03), Err(LeakError::NoBend));
        assert_eq!(three([9.5, 9.4, 9.3], 0.03), Err(LeakError::NoBend));
        assert_eq!(three([9.5, 9.7, 9.5], 0.03), Err(LeakError::NoBend));
        // The last reading is higher than the second, or lower than the line is by then.
        assert!(matches!(three([9.5, 5.8, 7.5], 0.03), Err(LeakError::Outside { .. })));
        assert!(matches!(three([9.5, 8.5, 0.5], 0.03), Err(LeakError::Outside { .. })));
        assert_eq!(three([9.5, f64::NAN, 3.3], 0.03), Err(LeakError::Unusable));
        assert_eq!(three([9.5, -20.0, 3.3], 0.03), Err(LeakError::Unusable));
        assert_eq!(three([9.5, 5.8, 3.3], -0.03), Err(LeakError::Unusable));
        let ([feed, last], _) = worked(0.05);
        assert_eq!(
            locate([last, feed], Beyond::DeadEnd(reading(10.0, 3.3, 0.05))),
            Err(LeakError::OutOfOrder)
        );
        assert_eq!(
            locate([feed, feed], Beyond::DeadEnd(reading(10.0, 3.3, 0.05))),
            Err(LeakError::OutOfOrder)
        );
        // Four readings without a leak give a single straight line.
        let [a, b, c, d] = [0.0, 4.0, 8.0, 10.0].map(|x| reading(x, gauge(x, 20.0, 20.0, 0.0), 0.03));
        assert_eq!(locate([a, b], Beyond::Through([c, d])), Err(LeakError::NoBend));
    }
}
