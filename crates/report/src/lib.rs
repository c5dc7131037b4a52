//! How results, rules and kinds are shown to people.
//!
//! This room knows what a result holds, and nothing of how any rule finds it.

mod count;
mod files;
mod prediction;
mod reference;
mod results;
mod rule_page;
mod terminal;

pub use count::Count;
pub use files::Files;
pub use prediction::{Asked, FORM, OfficeRecord, Report, View, how, report_schema, tables};
pub use reference::{editor_table, kinds_tables, practice_table, units_table};
pub use results::{Baseline, Results, json, junit, markdown, results_schema, sarif};
pub use rule_page::{rule_list, rule_page};
pub use terminal::write_finding;
