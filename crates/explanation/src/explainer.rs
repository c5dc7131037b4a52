use drysheath_office::{Networks, Office};
use drysheath_prediction::{DefaultMinimums, Prediction};

/// An office and what is computed of it: the source of all facts about its figures.
#[derive(Clone, Copy)]
pub struct Explainer<'a> {
    /// The office that is explained.
    pub office: &'a Office,
    /// How its things are joined.
    pub networks: &'a Networks,
    /// What is computed of it.
    pub prediction: &'a Prediction,
    /// The minimum pressures that the repository's settings declare.
    pub minimums: DefaultMinimums,
}
