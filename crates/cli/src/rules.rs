use std::io;

use drysheath_office::nearest;
use drysheath_report::{rule_list, rule_page, rule_records};
use drysheath_rules::{RULES, find};

use crate::arguments::{RulesArguments, RulesForm};
use crate::outcome::Outcome;
use crate::standard_streams::{print, print_error};

/// Lists the rules, or explains one.
pub(crate) fn run(arguments: &RulesArguments) -> io::Result<Outcome> {
    let rule = match &arguments.name {
        None => None,
        Some(name) => match find(name) {
            Some(rule) => Some(rule),
            None => {
                unknown(name);
                return Ok(Outcome::Failed);
            }
        },
    };
    let told = match (arguments.output, rule) {
        (RulesForm::Json, rule) => rule_records(rule),
        (RulesForm::Text, Some(rule)) => rule_page(rule),
        (RulesForm::Text, None) => rule_list(),
    };
    print(told.as_bytes())?;
    Ok(Outcome::Clean)
}

fn unknown(name: &str) {
    match nearest(name, RULES.iter().map(|rule| rule.name())) {
        Some(near) => print_error(format_args!("unknown rule `{name}`; is `{near}` meant?")),
        None => print_error(format_args!("unknown rule `{name}`; `drysheath rules` lists them")),
    }
}
