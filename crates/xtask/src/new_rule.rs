//! The skeleton of a new rule.

use std::path::Path;
use std::{fs, io};

/// Writes the file of a rule with the parts that have to be filled in, and lists it in its family.
///
/// # Errors
///
/// If the family has no file, the rule exists, or a file cannot be written.
pub fn new_rule(root: &Path, family: &str, name: &str) -> io::Result<()> {
    let rules = root.join("crates/rules/src");
    let module = name.replace('-', "_");
    let list = rules.join(family).with_extension("rs");
    let file = rules.join(family).join(&module).with_extension("rs");
    let listed = fs::read_to_string(&list)?;
    if file.exists() {
        return Err(io::Error::other(format!("{} exists already", file.display())));
    }
    let with_entry = listed
        .find("\nuse ")
        .map(|at| {
            format!(
                "{}mod {module};\n{}",
                listed.get(..at).unwrap_or_default().trim_end_matches('\n').to_owned() + "\n",
                listed.get(at..).unwrap_or_default()
            )
        })
        .and_then(|text| {
            text.rfind("\n];").map(|at| {
                format!(
                    "{}\n    &{module}::RULE,{}",
                    text.get(..at).unwrap_or_default(),
                    text.get(at..).unwrap_or_default()
                )
            })
        });
    let Some(with_entry) = with_entry else {
        return Err(io::Error::other(format!(
            "{} does not look like a family's list",
            list.display()
        )));
    };
    fs::write(&file, scaffold(family, name))?;
    fs::write(&list, with_entry)?;
    println!("wrote {}; now fill it in", file.display());
    Ok(())
}

fn scaffold(family: &str, name: &str) -> String {
    let mut variant = family.to_owned();
    if let Some(first) = variant.get_mut(..1) {
        first.make_ascii_uppercase();
    }
    format!(
        r##"use crate::finding::Sink;
use crate::lint::Inspection;
use crate::rule::{{Check, Example, Family, Level, Rule, Source}};

pub(super) static RULE: Rule = Rule {{
    name: "{name}",
    level: Level::Error,
    while_planned: None,
    family: Family::{variant},
    summary: "",
    explanation: "",
    source: Source::CommonPractice,
    example: Some(Example {{
        failing: r#"
"#,
        passing: r#"
"#,
    }}),
    check: Check::Office(check),
}};

fn check(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {{
    let office = inspection.office;
    let _ = (office, sink);
}}
"##
    )
}
