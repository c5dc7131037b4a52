//! The rules as JSON for programs.

use drysheath_rules::{Check, RULES, Rule};
use schemars::JsonSchema;
use serde::Serialize;

use crate::document;

/// Value of [`RulesRecord::form`].
const FORM: u32 = 1;

/// Every rule of the registry, as `drysheath rules --output json` lists them.
#[derive(JsonSchema, Serialize)]
struct RulesRecord {
    /// The form of this document; it grows when a field is taken away or changes its meaning.
    form: u32,
    /// The rules, family by family.
    rules: Vec<RuleRecord>,
}

/// A rule with the texts of its page.
#[derive(JsonSchema, Serialize)]
struct RuleRecord {
    /// The name in settings, acceptances and results.
    name: &'static str,
    /// "language", "pairs", "air" …
    family: &'static str,
    /// "error", "warning" or "note".
    level: &'static str,
    /// The level while an office is planned, where that is another.
    level_while_planned: Option<&'static str>,
    /// What it reports, in a sentence.
    summary: &'static str,
    /// Why that is wrong and what to do.
    explanation: String,
    /// Where it comes from.
    source: String,
    /// What asks it: "file", "office", "repository", or "records" where only they do.
    checked_on: &'static str,
    /// Whether a single result of it can be accepted.
    can_be_accepted: bool,
    /// Whether a repository can switch it off.
    can_be_switched_off: bool,
    /// Whether `lint --fix` makes its fixes: they change only how something is written.
    is_fixed_for_certain: bool,
}

fn record(rule: &'static Rule) -> RuleRecord {
    RuleRecord {
        name: rule.name(),
        family: rule.family.word(),
        level: rule.level.word(),
        level_while_planned: rule.while_planned.map(drysheath_rules::Level::word),
        summary: rule.summary,
        explanation: rule.explanation.split_whitespace().collect::<Vec<_>>().join(" "),
        source: rule.source.to_string(),
        checked_on: match rule.check {
            Check::WhileReading => "file",
            Check::Office(_) | Check::OfficeOn(_) => "office",
            Check::HandOver(_) => "records",
            Check::Repository(_) => "repository",
        },
        can_be_accepted: rule.can_be_accepted(),
        can_be_switched_off: rule.can_be_switched_off(),
        is_fixed_for_certain: rule.is_fixed_for_certain(),
    }
}

/// The rules as a JSON document: all of them, or a single one.
pub fn rule_records(one: Option<&'static Rule>) -> String {
    let rules = match one {
        Some(rule) => vec![record(rule)],
        None => RULES.into_iter().map(record).collect(),
    };
    document::json(&RulesRecord { form: FORM, rules })
}

/// The JSON Schema of [`rule_records`].
pub fn rules_schema() -> String {
    document::schema::<RulesRecord>()
}
