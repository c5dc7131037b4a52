use std::io::{self, Write};

use drysheath_office::nearest;
use drysheath_report::{rule_list, rule_page};
use drysheath_rules::{RULES, find};

use crate::arguments::RulesArguments;
use crate::outcome::Outcome;

/// Lists the rules, or explains one.
pub(crate) fn run(arguments: &RulesArguments) -> io::Result<Outcome> {
    let mut out = io::stdout().lock();
    let Some(name) = &arguments.name else {
        out.write_all(rule_list().as_bytes())?;
        return Ok(Outcome::Clean);
    };
    if let Some(rule) = find(name) {
        out.write_all(rule_page(rule).as_bytes())?;
        return Ok(Outcome::Clean);
    }
    match nearest(name, RULES.iter().map(|rule| rule.name())) {
        Some(near) => eprintln!("drysheath: there is no rule `{name}`; is `{near}` meant?"),
        None => eprintln!("drysheath: there is no rule `{name}`; `drysheath rules` lists them"),
    }
    Ok(Outcome::Failed)
}
