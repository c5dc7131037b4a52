//! The most likely figures, from readings and from what was taken for the figures before.
//!
//! What is not known is a list of *factors*. Each counts in its own standard deviations from what was taken for it beforehand, and they
//! are independent of each other; a figure that has a part in common with others is a sum of several factors. A model says what
//! the readings should be. The most likely factors are those with the least
//!
//! χ² = Σ ((reading − model)/σ)² + Σ factor²
//!
//! They are found by Gauss and Newton's method, each step of which solves the model's tangent as if it were the model, and is cut short
//! until χ² falls. All is done with one row for each reading, of which there are few, and not one for each factor: with J the
//! slopes over σ, the step leads to `Jᵀ(JJᵀ + 1)⁻¹(r + J·factors)`, and what is left open is `1 − Jᵀ(JJᵀ + 1)⁻¹J`. That is the same as
//! the usual `(JᵀJ + 1)⁻¹Jᵀ` and `(JᵀJ + 1)⁻¹`.
//!
//! If the model is right and what was taken for the factors and the errors is too, the least χ² has as many degrees of freedom as there are
//! readings: in a linear model it is rᵀ(JJᵀ + 1)⁻¹r, with r the readings less the model before.
//!
//! Source: least squares with prior knowledge, any text on estimation, such as Tarantola, *Inverse Problem Theory* (2005), section 3.2 (from
//! memory).

use core::fmt;

use nalgebra::{Cholesky, DMatrix, DVector, Dyn, SymmetricEigen};

/// Steps after which a search is given up.
const STEPS: u32 = 60;
/// Times that a step is cut in half.
const HALVINGS: u32 = 12;
/// The search ends where a step would lessen χ² by less than this.
const LESSENED: f64 = 1e-9;
/// What part of the lessening that its tangent promises a step must bring.
const BROUGHT: f64 = 1e-4;

/// A reading and how well it is known.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Measurement {
    /// What was read.
    pub value: f64,
    /// The standard deviation of its error, in the same unit; above zero.
    pub deviation: f64,
}

/// What a model makes of some factors.
#[derive(Clone, Debug, PartialEq)]
pub struct Modelled {
    /// What each reading should be.
    pub readings: Vec<f64>,
    /// By how much each reading changes for each factor: a list of readings for each factor.
    pub slopes: Vec<Vec<f64>>,
}

/// A sum of factors, each by its number and with its weight.
pub type Combination = [(usize, f64)];

/// Why there is no estimate.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum EstimateError {
    /// The model says nothing of the factors to start from, or something that is not a number, or of other readings.
    NoModel,
    /// A reading is not a number, or its deviation is not above zero.
    Unusable,
    /// The search did not end.
    Unsettled,
}

impl fmt::Display for EstimateError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            EstimateError::NoModel => "the declared figures give no pressures to compare the readings with",
            EstimateError::Unusable => "a reading is not a number, or its error is not above zero",
            EstimateError::Unsettled => "the search for the most likely figures did not end",
        })
    }
}

impl core::error::Error for EstimateError {}

/// The most likely factors, and how well they are known.
#[derive(Clone, Debug)]
pub struct Estimate {
    /// The factors, in standard deviations from what was taken for them.
    pub factors: Vec<f64>,
    /// Each reading less what the model makes of the factors, in standard deviations.
    pub residuals: Vec<f64>,
    /// The least χ², which has as many degrees of freedom as there are readings.
    pub chi_squared: f64,
    tangent: Tangent,
}

/// The model near some factors.
#[derive(Clone, Debug)]
struct Tangent {
    factors: DVector<f64>,
    /// Readings less the model, in deviations.
    residuals: DVector<f64>,
    /// Slopes over deviations: a row for each reading, a column for each factor.
    slopes: DMatrix<f64>,
    chi_squared: f64,
}

impl Tangent {
    fn at(
        factors: DVector<f64>,
        measured: &[Measurement],
        model: &mut impl FnMut(&[f64]) -> Option<Modelled>,
    ) -> Option<Self> {
        let Modelled { readings, slopes } = model(factors.as_slice())?;
        let fits = readings.len() == measured.len()
            && slopes.len() == factors.len()
            && slopes.iter().all(|slopes| slopes.len() == measured.len());
        if !fits {
            return None;
        }
        let off = measured
            .iter()
            .zip(&readings)
            .map(|(read, modelled)| (read.value - modelled) / read.deviation);
        let residuals = DVector::from_iterator(measured.len(), off);
        let columns = slopes.iter().flat_map(|slopes| {
            let scaled = slopes.iter().zip(measured);
            scaled.map(|(slope, read)| slope / read.deviation)
        });
        let slopes = DMatrix::from_iterator(measured.len(), factors.len(), columns);
        let chi_squared = residuals.norm_squared() + factors.norm_squared();
        let is_finite = chi_squared.is_finite() && slopes.iter().all(|slope| slope.is_finite());
        is_finite.then_some(Self {
            factors,
            residuals,
            slopes,
            chi_squared,
        })
    }

    /// `JJᵀ + 1`, which is what the readings less the model before are spread by.
    fn spread(&self) -> Option<Cholesky<f64, Dyn>> {
        let mut spread = &self.slopes * self.slopes.transpose();
        spread
            .iter_mut()
            .step_by(self.residuals.len() + 1)
            .for_each(|own| *own += 1.0);
        Cholesky::new(spread)
    }

    /// Readings less what the tangent makes of all factors at zero.
    fn unexplained(&self) -> DVector<f64> {
        &self.residuals + &self.slopes * &self.factors
    }

    /// The most likely factors if the tangent were the model, and by how much χ² would lessen.
    fn best(&self) -> Option<(DVector<f64>, f64)> {
        let start = self.unexplained();
        let weights = self.spread()?.solve(&start);
        Some((self.slopes.tr_mul(&weights), self.chi_squared - start.dot(&weights)))
    }
}

/// The most likely factors of a model, from `measured` and from factors to `start` from. A model may say nothing of factors that are
/// impossible; the search then stays nearer.
///
/// # Errors
///
/// [`EstimateError`] where the readings are none, the start is impossible, or the search does not end.
pub fn estimate(
    measured: &[Measurement],
    start: &[f64],
    model: impl FnMut(&[f64]) -> Option<Modelled>,
) -> Result<Estimate, EstimateError> {
    within(measured, start, LESSENED, model)
}

/// The same, ended where a step would lessen χ² by less than `lessened`: for comparing one model with others by that.
///
/// # Errors
///
/// As [`estimate`].
pub fn within(
    measured: &[Measurement],
    start: &[f64],
    lessened: f64,
    mut model: impl FnMut(&[f64]) -> Option<Modelled>,
) -> Result<Estimate, EstimateError> {
    let is_usable = |read: &Measurement| read.value.is_finite() && read.deviation.is_finite() && read.deviation > 0.0;
    if !measured.iter().all(is_usable) {
        return Err(EstimateError::Unusable);
    }
    let start = DVector::from_column_slice(start);
    let mut here = Tangent::at(start, measured, &mut model).ok_or(EstimateError::NoModel)?;
    for _ in 0..STEPS {
        let (best, promised) = here.best().ok_or(EstimateError::Unsettled)?;
        if promised <= lessened.max(f64::EPSILON * here.chi_squared) {
            return Ok(Estimate::of(here));
        }
        let step = best - &here.factors;
        let mut part = 1.0;
        let mut next = None;
        for _ in 0..HALVINGS {
            let there = Tangent::at(&here.factors + &step * part, measured, &mut model);
            next = there.filter(|there| here.chi_squared - there.chi_squared >= BROUGHT * part * promised);
            if next.is_some() {
                break;
            }
            part /= 2.0;
        }
        match next {
            Some(next) => here = next,
            // Nothing better is near: rounding in the model, where little was promised.
            None if promised <= 1e-3 => return Ok(Estimate::of(here)),
            None => return Err(EstimateError::Unsettled),
        }
    }
    Err(EstimateError::Unsettled)
}

impl Estimate {
    fn of(tangent: Tangent) -> Self {
        Self {
            factors: tangent.factors.as_slice().to_vec(),
            residuals: tangent.residuals.as_slice().to_vec(),
            chi_squared: tangent.chi_squared,
            tangent,
        }
    }

    /// A sum of factors.
    pub fn value(&self, of: &Combination) -> f64 {
        of.iter()
            .map(|(factor, weight)| weight * self.factors.get(*factor).copied().unwrap_or(0.0))
            .sum()
    }

    /// What the readings leave open of some sums of factors: their covariances.
    pub fn covariances(&self, of: &[&Combination]) -> Vec<Vec<f64>> {
        let before = covariances(of);
        let Some(spread) = self.tangent.spread() else {
            return before;
        };
        let slopes: Vec<DVector<f64>> = of.iter().map(|of| self.slopes(of)).collect();
        let told: Vec<DVector<f64>> = slopes.iter().map(|slopes| spread.solve(slopes)).collect();
        let row = |(before, slopes): (&Vec<f64>, &DVector<f64>)| {
            let columns = before.iter().zip(&told);
            columns.map(|(before, told)| before - slopes.dot(told)).collect()
        };
        before.iter().zip(&slopes).map(row).collect()
    }

    /// How much of a sum of factors comes from each reading: together they are the sum.
    pub fn pulls(&self, of: &Combination) -> Vec<f64> {
        let Some(spread) = self.tangent.spread() else {
            return vec![0.0; self.residuals.len()];
        };
        let weights = spread.solve(&self.slopes(of));
        let start = self.tangent.unexplained();
        weights
            .iter()
            .zip(&start)
            .map(|(weight, start)| weight * start)
            .collect()
    }

    /// What the readings change by with a sum of factors, in deviations.
    fn slopes(&self, of: &Combination) -> DVector<f64> {
        let mut slopes = DVector::zeros(self.residuals.len());
        for (factor, weight) in of {
            if *factor < self.factors.len() {
                slopes += self.tangent.slopes.column(*factor) * *weight;
            }
        }
        slopes
    }
}

/// The covariances of some sums of factors before any reading.
pub fn covariances(of: &[&Combination]) -> Vec<Vec<f64>> {
    let covariance = |one: &Combination, other: &Combination| -> f64 {
        let of_both = |(factor, weight): &(usize, f64)| -> f64 {
            let same = other.iter().filter(|(same, _)| same == factor);
            same.map(|(_, other)| weight * other).sum()
        };
        one.iter().map(of_both).sum()
    };
    of.iter()
        .map(|one| of.iter().map(|other| covariance(one, other)).collect())
        .collect()
}

/// What readings leave open of some figures.
#[derive(Clone, Debug, PartialEq)]
pub struct Open {
    /// Of each figure, how much of what was open before still is, from 0 to 1.
    pub shares: Vec<f64>,
    /// Figures that the readings tell together and not one by one, each list by their numbers.
    pub together: Vec<Vec<usize>>,
}

/// What readings leave open of figures with these covariances before and after.
///
/// The readings' information is the inverse of the covariance after, less that before, each figure counted in its deviation before. Along an
/// eigenvector whose eigenvalue is below one, the readings say less than was known. The projection onto all of those says how much of each figure is
/// open, and where it joins two figures one of them can stand for the other.
///
/// None where a covariance is singular: a figure that was known beforehand.
pub fn open(before: &[Vec<f64>], after: &[Vec<f64>]) -> Option<Open> {
    /// Less than this in common, and two figures are told apart.
    const JOINED: f64 = 0.1;
    let count = before.len();
    let scales: Vec<f64> = before
        .iter()
        .enumerate()
        .map(|(own, row)| row.get(own).copied().unwrap_or(0.0).sqrt())
        .collect();
    let in_deviations = |matrix: &[Vec<f64>]| {
        let rows = matrix.iter().zip(&scales);
        let figures =
            rows.flat_map(|(row, own)| row.iter().zip(&scales).map(move |(figure, other)| figure / own / other));
        DMatrix::from_row_iterator(count, count, figures)
    };
    let is_square = |matrix: &[Vec<f64>]| matrix.len() == count && matrix.iter().all(|row| row.len() == count);
    if count == 0 || !is_square(before) || !is_square(after) {
        return None;
    }
    let information = Cholesky::new(in_deviations(after))?.inverse() - Cholesky::new(in_deviations(before))?.inverse();
    let SymmetricEigen {
        eigenvalues,
        eigenvectors,
    } = SymmetricEigen::new(information);
    let mut projection = DMatrix::zeros(count, count);
    for (value, vector) in eigenvalues.iter().zip(eigenvectors.column_iter()) {
        if *value < 1.0 {
            projection += vector * vector.transpose();
        }
    }
    let shares: Vec<f64> = projection.diagonal().iter().copied().collect();
    let mut together: Vec<Vec<usize>> = Vec::new();
    for figure in 0..count {
        let is_joined = |other: &usize| {
            projection
                .get((figure, *other))
                .is_some_and(|common: &f64| common.abs() >= JOINED)
        };
        let (mut joined, apart): (Vec<_>, Vec<_>) = together.into_iter().partition(|group| group.iter().any(is_joined));
        let mut group: Vec<usize> = joined.drain(..).flatten().collect();
        group.push(figure);
        together = apart;
        together.push(group);
    }
    together.retain(|group| group.len() > 1);
    for group in &mut together {
        group.sort_unstable();
    }
    together.sort();
    Some(Open { shares, together })
}

/// What χ² of this many degrees of freedom stays below nineteen times in twenty.
///
/// Source: Wilson and Hilferty, *The Distribution of Chi-Square*, 1931 (formula from memory; within 3 % of the published tables up to two
/// degrees of freedom and within 0.6 % from three on).
pub fn chi_squared_bound(degrees: usize) -> f64 {
    /// The normal deviate that is not exceeded nineteen times in twenty.
    const DEVIATE: f64 = 1.644_853_6;
    let degrees = f64::from(u32::try_from(degrees).unwrap_or(u32::MAX));
    let ninth = 2.0 / (9.0 * degrees.max(1.0));
    degrees * (1.0 - ninth + DEVIATE * ninth.sqrt()).powi(3)
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, clippy::indexing_slicing)]

    use super::*;
    use crate::noise::Noise;

    fn read(value: f64, deviation: f64) -> Measurement {
        Measurement { value, deviation }
    }

    /// Two readings of a sum of two factors, the second also of their product.
    fn curved(factors: &[f64]) -> Option<Modelled> {
        let &[one, other] = factors else { return None };
        Some(Modelled {
            readings: vec![one + other, one * other + 2.0 * one],
            slopes: vec![vec![1.0, other + 2.0], vec![1.0, one]],
        })
    }

    #[test]
    fn one_factor_is_the_weighted_mean_of_what_is_read_and_what_was_taken() {
        // By hand: the reading 3 ± 0.5 of a factor 0 ± 1 has four times its weight.
        let model = |factors: &[f64]| {
            Some(Modelled {
                readings: factors.to_vec(),
                slopes: vec![vec![1.0]],
            })
        };
        let found = estimate(&[read(3.0, 0.5)], &[0.0], model).unwrap();
        assert!((found.factors[0] - 2.4).abs() < 1e-12);
        assert!((found.covariances(&[&[(0, 1.0)]])[0][0] - 0.2).abs() < 1e-12);
        // 3²/(1 + 0.25).
        assert!((found.chi_squared - 7.2).abs() < 1e-12);
        assert!((found.pulls(&[(0, 2.0)])[0] - 4.8).abs() < 1e-12);
    }

    #[test]
    fn at_the_estimate_no_factor_lessens_the_sum_of_squares() {
        let measured = [read(1.5, 0.3), read(2.0, 0.2)];
        let found = estimate(&measured, &[0.0, 0.0], curved).unwrap();
        let sum = |factors: &[f64]| {
            let modelled = curved(factors).unwrap();
            let off = measured
                .iter()
                .zip(&modelled.readings)
                .map(|(read, own)| ((read.value - own) / read.deviation).powi(2));
            off.sum::<f64>() + factors.iter().map(|factor| factor * factor).sum::<f64>()
        };
        let least = sum(&found.factors);
        assert!((least - found.chi_squared).abs() < 1e-9);
        for step in [[1e-3, 0.0], [-1e-3, 0.0], [0.0, 1e-3], [0.0, -1e-3]] {
            let moved: Vec<f64> = found
                .factors
                .iter()
                .zip(step)
                .map(|(factor, step)| factor + step)
                .collect();
            assert!(sum(&moved) > least, "{step:?}");
        }
        // What comes from each reading adds up to the whole.
        let pulls = found.pulls(&[(0, 1.0)]);
        assert!(
            (pulls.iter().sum::<f64>() - found.factors[0]).abs() < 1e-4,
            "{pulls:?} {:?}",
            found.factors
        );
    }

    #[test]
    fn what_is_impossible_keeps_the_search_nearer() {
        let model = |factors: &[f64]| {
            let &[one] = factors else { return None };
            (one < 1.2).then(|| Modelled {
                readings: vec![one.exp()],
                slopes: vec![vec![one.exp()]],
            })
        };
        let found = estimate(&[read(3.0, 0.1)], &[0.0], model).unwrap();
        assert!((found.factors[0] - 3_f64.ln()).abs() < 0.01, "{found:?}");
        assert_eq!(
            estimate(&[read(3.0, 0.1)], &[2.0], model).unwrap_err(),
            EstimateError::NoModel
        );
        assert_eq!(
            estimate(&[read(3.0, 0.0)], &[0.0], model).unwrap_err(),
            EstimateError::Unusable
        );
    }

    #[test]
    fn chi_squared_is_that_of_as_many_degrees_as_readings() {
        // Readings of two factors as they were taken beforehand: its mean is their number and its variance twice that.
        let mut noise = Noise(7);
        let model = |factors: &[f64]| {
            let &[one, other] = factors else { return None };
            Some(Modelled {
                readings: vec![one + other, one - other, one],
                slopes: vec![vec![1.0, 1.0, 1.0], vec![1.0, -1.0, 0.0]],
            })
        };
        let (mut sum, mut squares, mut above) = (0.0, 0.0, 0.0);
        let count = 4_000;
        for _ in 0..count {
            let truth = [noise.normal(), noise.normal()];
            let all = model(&truth).unwrap().readings;
            let measured: Vec<Measurement> = all
                .iter()
                .map(|exact| read(exact + 0.4 * noise.normal(), 0.4))
                .collect();
            let found = estimate(&measured, &[0.0, 0.0], model).unwrap().chi_squared;
            sum += found;
            squares += found * found;
            above += f64::from(u8::from(found > chi_squared_bound(3)));
        }
        let mean = sum / f64::from(count);
        let variance = squares / f64::from(count) - mean * mean;
        assert!(
            (mean - 3.0).abs() < 0.15 && (variance - 6.0).abs() < 0.7,
            "{mean} {variance}"
        );
        assert!((above / f64::from(count) - 0.05).abs() < 0.012, "{above}");
    }

    #[test]
    fn bounds_are_those_of_the_published_table() {
        // Upper 5 % points: NIST/SEMATECH e-Handbook of Statistical Methods, section 1.3.6.7.4 (from memory).
        for (degrees, table) in [
            (1, 3.841),
            (2, 5.991),
            (3, 7.815),
            (5, 11.070),
            (10, 18.307),
            (30, 43.773),
            (100, 124.342),
        ] {
            let found = chi_squared_bound(degrees);
            let allowed = if degrees < 3 { 0.03 } else { 0.006 };
            assert!((found / table - 1.0).abs() < allowed, "{degrees}: {found}");
        }
    }

    #[test]
    fn what_only_a_sum_is_known_of_is_open_together() {
        // Three factors: of the first two the sum is read, the third is read by itself.
        let model = |factors: &[f64]| {
            let &[one, other, last, _] = factors else { return None };
            Some(Modelled {
                readings: vec![one + other, last],
                slopes: vec![vec![1.0, 0.0], vec![1.0, 0.0], vec![0.0, 1.0], vec![0.0, 0.0]],
            })
        };
        let found = estimate(&[read(1.0, 0.01), read(0.5, 0.01)], &[0.0; 4], model).unwrap();
        let each: [&Combination; 4] = [&[(0, 1.0)], &[(1, 1.0)], &[(2, 1.0)], &[(3, 1.0)]];
        let open = open(&covariances(&each), &found.covariances(&each)).unwrap();
        assert_eq!(open.together, [vec![0, 1]]);
        for (share, expected) in open.shares.iter().zip([0.5, 0.5, 0.0, 1.0]) {
            assert!((share - expected).abs() < 1e-6, "{open:?}");
        }
    }
}
