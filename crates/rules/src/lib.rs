//! The rules for offices: one registry, and one file for each rule with its level, explanation, source, and two
//! examples: one that violates it, and one that narrowly does not.
//!
//! The rules depend on the office and its networks. They do not know how results are displayed.

mod acceptance;
mod air_losses;
mod coverage;
mod drawing_results;
pub mod example;
mod figures;
mod finding;
pub mod fit;
mod lint;
mod listed;
mod precedence;
mod registry;
mod reliability;
mod result_count;
mod rule;
mod runs;
mod sections;
mod settings;
pub mod sizing;
mod supply;

mod air;
mod grounds;
mod hand_over;
mod language;
mod pairs;
mod power;
mod records;
mod regulators;
mod spans;
mod spare;

pub use coverage::{Comparison, ComparisonCount, Coverage, MissingFigure};
pub use finding::{Accepted, Finding, Sink};
pub use grounds::frame_ground_size;
pub use lint::{
    Inspection, RepositoryInspection, hand_over, inspect, is_wide, judge, judge_all, lint, lint_repository, of_problem,
    of_problems,
};
pub use precedence::{Scope, YieldsTo};
pub use registry::{RULES, RuleId, find, renamed};
pub use result_count::ResultCount;
pub use rule::{Check, Example, Family, Level, Rule, Source};
pub use settings::{
    CONDITIONS, EditorKey, LANGUAGE_KEY, PRACTICES, Practice, PracticeKey, RECORD_NAMES, SWITCHES, Settings,
    SettingsProblem, Switch,
};
