//! Display of results, rules and kinds.
//!
//! This crate knows what a result contains, but not how any rule finds it.

mod cautions;
mod compare;
mod document;
mod extent;
mod files;
mod matching;
mod page;
mod plural;
mod port_number;
mod prediction;
mod records;
mod reference;
mod results;
mod rule_page;
mod rule_records;
mod settings_schema;
mod terminal;
mod text_table;

pub use cautions::CAUTIONS;
pub use compare::record as comparison;
pub use compare::{
    BriefTable, ChangeRecord, Comparison, Deed, EarlierOffice, KnownFile, KnownFiles, Of, ResultGroup, Version,
    compare, compare_knowing, comparison_schema, earlier_offices,
};
pub use document::Listing;
pub use extent::Extent;
pub use files::Files;
pub use plural::several;
pub use prediction::{
    Explanation, FORM, FitRecord, OfficeRecord, OfficeView, Report, SizingRecord, how, line_as_asked, report_schema,
    tables,
};
pub use records::{
    Changed, Counts, CsvRow, CsvRows, Difference, EarlierRecord, FieldChange, InputRecord, MissingItem, Now, OfficeNow,
    OfficeRecords, RECORDS_FORM, RecordsFormat, RecordsReport, RecordsWriter, records_before, records_schema,
};
pub use reference::{
    conditions_table, editor_table, former_words_table, kinds_tables, practice_table, record_names, settings_sample,
    units_table,
};
pub use results::{
    Baseline, Results, Trouble, annotations, code_quality, counts, json, junit, markdown, results_schema, sarif,
};
pub use rule_page::{rule_list, rule_page};
pub use rule_records::{rule_records, rules_schema};
pub use settings_schema::settings_schema;
pub use terminal::write_finding;
