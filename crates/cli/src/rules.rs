use std::io;

use drysheath_office::nearest;
use drysheath_report::{rule_list, rule_page};
use drysheath_rules::{RULES, find};

use crate::arguments::RulesArguments;
use crate::outcome::Outcome;
use crate::standard_streams::{print, print_error};

/// Lists the rules, or explains one.
pub(crate) fn run(arguments: &RulesArguments) -> io::Result<Outcome> {
    let Some(name) = &arguments.name else {
        print(rule_list().as_bytes())?;
        return Ok(Outcome::Clean);
    };
    if let Some(rule) = find(name) {
        print(rule_page(rule).as_bytes())?;
        return Ok(Outcome::Clean);
    }
    match nearest(name, RULES.iter().map(|rule| rule.name())) {
        Some(near) => print_error(format_args!("unknown rule `{name}`; is `{near}` meant?")),
        None => print_error(format_args!("unknown rule `{name}`; `drysheath rules` lists them")),
    }
    Ok(Outcome::Failed)
}
