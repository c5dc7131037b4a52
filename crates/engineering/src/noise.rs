//! Reproducible noise for simulations in tests.

use core::f64::consts::TAU;

/// A generator of pseudo-random numbers, `SplitMix64` (Steele, Lea, Flood 2014; constants from memory, and the
/// simulations only need uniformity).
pub(crate) struct Noise(pub(crate) u64);

impl Noise {
    /// Uniform between 0 and 1, excluding both.
    pub(crate) fn even(&mut self) -> f64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut bits = self.0;
        bits = (bits ^ (bits >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        bits = (bits ^ (bits >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        bits ^= bits >> 31;
        (f64::from((bits >> 32) as u32) + 0.5) / (f64::from(u32::MAX) + 1.0)
    }

    /// Normally distributed about 0 with a standard deviation of 1 (Box and Muller).
    pub(crate) fn normal(&mut self) -> f64 {
        let radius = (-2.0 * self.even().ln()).sqrt();
        radius * (TAU * self.even()).cos()
    }
}

#[test]
fn noise_has_the_moments_that_it_should() {
    const COUNT: u32 = 100_000;
    let mut noise = Noise(1);
    let moments = |next: &mut dyn FnMut() -> f64| {
        let (sum, squares) = (0..COUNT).fold((0.0, 0.0), |(sum, squares), _| {
            let figure = next();
            (sum + figure, squares + figure * figure)
        });
        let mean = sum / f64::from(COUNT);
        (mean, (squares / f64::from(COUNT) - mean * mean).sqrt())
    };
    let (mean, deviation) = moments(&mut || noise.even());
    assert!(
        (mean - 0.5).abs() < 0.005 && (deviation - 1.0 / 12_f64.sqrt()).abs() < 0.005,
        "{mean}, {deviation}"
    );
    let (mean, deviation) = moments(&mut || noise.normal());
    assert!(
        mean.abs() < 0.015 && (deviation - 1.0).abs() < 0.015,
        "{mean}, {deviation}"
    );
}
