use drysheath_office::{Networks, Office};
use drysheath_prediction::{DefaultMinimums, Prediction};

/// An office and its computed figures: the source of all explanations.
#[derive(Clone, Copy)]
pub struct Explainer<'a> {
    /// The office whose figures are explained.
    pub office: &'a Office,
    /// The connections of its things.
    pub networks: &'a Networks,
    /// Computed figures of the office.
    pub prediction: &'a Prediction,
    /// The minimum pressures that the repository's settings declare.
    pub minimums: DefaultMinimums,
}
