//! Maximum-likelihood estimation of figures from readings and prior knowledge.
//!
//! The unknowns are a list of *factors*. Each is counted in its own standard deviations from its prior value, and they
//! are independent of each other; a figure with an error in common with others is a sum of several factors. A model
//! predicts the readings. The most likely factors minimize
//!
//! χ² = Σ ((reading − model)/σ)² + Σ factor²
//!
//! They are found by the Gauss-Newton method: each step solves the linearized model, and is shortened until χ²
//! decreases. The linear algebra has one row for each reading, of which there are few, not one for each factor: with J
//! the derivatives over σ, the step leads to `Jᵀ(JJᵀ + 1)⁻¹(r + J·factors)`, and the posterior covariance is `1 −
//! Jᵀ(JJᵀ + 1)⁻¹J`. That equals the usual `(JᵀJ + 1)⁻¹Jᵀ` and `(JᵀJ + 1)⁻¹`.
//!
//! If the model and the assumed distributions of factors and errors are correct, the least χ² has as many degrees of
//! freedom as there are readings: in a linear model it is rᵀ(JJᵀ + 1)⁻¹r, with r the readings less the prior
//! prediction.
//!
//! Source: least squares with prior knowledge, any text on estimation, such as Tarantola, *Inverse Problem Theory*
//! (2005), section 3.2 (from memory).

use core::fmt;

use nalgebra::{Cholesky, DMatrix, DVector, Dyn, SymmetricEigen};

/// Maximum number of steps.
const STEPS: u32 = 60;
/// Limit of halvings of a step.
const HALVINGS: u32 = 12;
/// The search ends when a step would decrease χ² by less than this.
const LESSENED: f64 = 1e-9;
/// Least decrease of χ² by a step, as a fraction of that predicted by the linearized model.
const LEAST_GAIN_RATIO: f64 = 1e-4;

/// A reading and its uncertainty.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Measurement {
    /// The value that was read.
    pub value: f64,
    /// Standard deviation of its error in the same unit; positive.
    pub deviation: f64,
}

/// Prediction of a model for some factors.
#[derive(Clone, Debug, PartialEq)]
pub struct ModelPrediction {
    /// Readings that the model predicts for the factors.
    pub readings: Vec<f64>,
    /// Derivatives of the readings: for each factor a list with one entry for each reading.
    pub slopes: Vec<Vec<f64>>,
}

/// A weighted sum of factors, given by their indices and weights.
pub type Combination = [(usize, f64)];

/// Why an estimation failed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum EstimateError {
    /// The model gives no prediction at the start, or one with NaN or with another number of readings.
    NoModel,
    /// A reading is NaN, or its deviation is not positive.
    Unusable,
    /// The search did not converge.
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

/// The most likely factors, and their uncertainty.
#[derive(Clone, Debug)]
pub struct Estimate {
    /// The factors, in standard deviations from their prior values.
    pub factors: Vec<f64>,
    /// Readings minus predictions, in standard deviations.
    pub residuals: Vec<f64>,
    /// The minimum of χ², which has as many degrees of freedom as there are readings.
    pub chi_squared: f64,
    tangent: Tangent,
}

/// The linearized model near some factors.
#[derive(Clone, Debug)]
struct Tangent {
    factors: DVector<f64>,
    /// Readings minus predictions, in standard deviations.
    residuals: DVector<f64>,
    /// Derivatives over deviations: a row for each reading, a column for each factor.
    slopes: DMatrix<f64>,
    chi_squared: f64,
}

impl Tangent {
    fn at(
        factors: DVector<f64>,
        measured: &[Measurement],
        model: &mut impl FnMut(&[f64]) -> Option<ModelPrediction>,
    ) -> Option<Self> {
        let ModelPrediction { readings, slopes } = model(factors.as_slice())?;
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

    /// `JJᵀ + 1`: the covariance of the readings minus the prior prediction.
    fn spread(&self) -> Option<Cholesky<f64, Dyn>> {
        let mut spread = &self.slopes * self.slopes.transpose();
        spread
            .iter_mut()
            .step_by(self.residuals.len() + 1)
            .for_each(|own| *own += 1.0);
        Cholesky::new(spread)
    }

    /// Readings minus the linearized prediction for all factors at zero.
    fn unexplained(&self) -> DVector<f64> {
        &self.residuals + &self.slopes * &self.factors
    }

    /// The most likely factors of the linearized model, and the decrease of χ².
    fn best(&self) -> Option<(DVector<f64>, f64)> {
        let start = self.unexplained();
        let weights = self.spread()?.solve(&start);
        Some((self.slopes.tr_mul(&weights), self.chi_squared - start.dot(&weights)))
    }
}

/// Finds the most likely factors of a model, given the readings `measured` and factors to `start` from. The model may
/// return `None` for impossible factors; the step is then shortened.
///
/// # Errors
///
/// [`EstimateError`] if a reading is unusable, the start is impossible, or the search does not converge.
pub fn estimate(
    measured: &[Measurement],
    start: &[f64],
    model: impl FnMut(&[f64]) -> Option<ModelPrediction>,
) -> Result<Estimate, EstimateError> {
    within(measured, start, LESSENED, model)
}

/// As [`estimate`], but ends when a step would decrease χ² by less than `lessened`, for comparing models by their χ².
///
/// # Errors
///
/// As [`estimate`].
pub fn within(
    measured: &[Measurement],
    start: &[f64],
    lessened: f64,
    mut model: impl FnMut(&[f64]) -> Option<ModelPrediction>,
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
            next = there.filter(|there| here.chi_squared - there.chi_squared >= LEAST_GAIN_RATIO * part * promised);
            if next.is_some() {
                break;
            }
            part /= 2.0;
        }
        match next {
            Some(next) => here = next,
            // No better point is near: the remaining decrease is within the rounding of the model.
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

    /// Value of a sum of factors.
    pub fn value(&self, of: &Combination) -> f64 {
        of.iter()
            .map(|(factor, weight)| weight * self.factors.get(*factor).copied().unwrap_or(0.0))
            .sum()
    }

    /// Posterior covariances of sums of factors.
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

    /// Contribution of each reading to a sum of factors: they add up to the sum.
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

    /// Change of the readings with a sum of factors, in standard deviations.
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

/// Prior covariances of sums of factors.
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

/// What readings leave undetermined of some figures.
#[derive(Clone, Debug, PartialEq)]
pub struct Undetermined {
    /// For each figure, the fraction of its prior uncertainty that remains, from 0 to 1.
    pub shares: Vec<f64>,
    /// Groups of figures that the readings determine only in combination, as indices.
    pub together: Vec<Vec<usize>>,
}

/// What readings leave undetermined of figures with these covariances before and after.
///
/// The information in the readings is the inverse of the posterior covariance minus that of the prior one, with each
/// figure scaled by its prior deviation. Along an eigenvector with an eigenvalue below one, the readings tell less than
/// was known before. The projection onto all of these shows how much of each figure remains open; where it couples two
/// figures, one of them can stand for the other.
///
/// `None` if a covariance is singular: a figure that was known exactly.
pub fn undetermined(before: &[Vec<f64>], after: &[Vec<f64>]) -> Option<Undetermined> {
    /// Figures with a smaller coupling count as separate.
    const LEAST_COUPLING: f64 = 0.1;
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
                .is_some_and(|common: &f64| common.abs() >= LEAST_COUPLING)
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
    Some(Undetermined { shares, together })
}

/// 95 % quantile of χ² with this many degrees of freedom.
///
/// Source: Wilson and Hilferty, *The Distribution of Chi-Square*, 1931 (formula from memory; within 3 % of the
/// published tables up to two degrees of freedom and within 0.6 % from three on).
pub fn chi_squared_bound(degrees: usize) -> f64 {
    /// 95 % quantile of the normal distribution.
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

    /// Two readings: a sum of two factors, and one that also depends on their product.
    fn curved(factors: &[f64]) -> Option<ModelPrediction> {
        let &[one, other] = factors else { return None };
        Some(ModelPrediction {
            readings: vec![one + other, one * other + 2.0 * one],
            slopes: vec![vec![1.0, other + 2.0], vec![1.0, one]],
        })
    }

    #[test]
    fn one_factor_is_the_weighted_mean_of_what_is_read_and_what_was_taken() {
        // By hand: the reading 3 ± 0.5 of a factor 0 ± 1 has four times its weight.
        let model = |factors: &[f64]| {
            Some(ModelPrediction {
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
        // The contributions of the readings add up to the whole.
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
            (one < 1.2).then(|| ModelPrediction {
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
        // With factors at their prior values, the mean of χ² is the number of readings and its variance twice that.
        let mut noise = Noise(7);
        let model = |factors: &[f64]| {
            let &[one, other] = factors else { return None };
            Some(ModelPrediction {
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
        // Three factors: the sum of the first two is read, the third is read alone.
        let model = |factors: &[f64]| {
            let &[one, other, last, _] = factors else { return None };
            Some(ModelPrediction {
                readings: vec![one + other, last],
                slopes: vec![vec![1.0, 0.0], vec![1.0, 0.0], vec![0.0, 1.0], vec![0.0, 0.0]],
            })
        };
        let found = estimate(&[read(1.0, 0.01), read(0.5, 0.01)], &[0.0; 4], model).unwrap();
        let each: [&Combination; 4] = [&[(0, 1.0)], &[(1, 1.0)], &[(2, 1.0)], &[(3, 1.0)]];
        let open = undetermined(&covariances(&each), &found.covariances(&each)).unwrap();
        assert_eq!(open.together, [vec![0, 1]]);
        for (share, expected) in open.shares.iter().zip([0.5, 0.5, 0.0, 1.0]) {
            assert!((share - expected).abs() < 1e-6, "{open:?}");
        }
    }
}
