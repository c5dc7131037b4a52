//! Generates the skeleton of a new rule.

use std::path::Path;
use std::{fs, io};

/// Writes the file of a rule with placeholders, and adds it to its family and to the registry.
///
/// # Errors
///
/// If the family has no file, the rule exists, or a file cannot be written.
pub fn new_rule(root: &Path, family: &str, name: &str) -> io::Result<()> {
    let rules = root.join("crates/rules/src");
    let [family, module] = [family, name].map(|name| name.replace('-', "_"));
    let file = rules.join(&family).join(&module).with_extension("rs");
    if file.exists() {
        return Err(io::Error::other(format!("{} exists already", file.display())));
    }
    let of_family = rules.join(&family).with_extension("rs");
    let registry = rules.join("registry.rs");
    let with_module = insert(&of_family, "", "mod ", &format!("pub(crate) mod {module};\n"))?;
    let entry = format!("        {}: {module},\n", camel_case(name));
    let with_entry = insert(&registry, &format!("    {family} {{\n"), "    }\n", &entry)?;
    fs::write(&file, scaffold(&family, name))?;
    fs::write(&of_family, with_module)?;
    fs::write(&registry, with_entry)?;
    println!("wrote {}; now fill it in", file.display());
    Ok(())
}

/// Text of the file with `line` inserted before the first line after `after` that starts with `before`.
fn insert(path: &Path, after: &str, before: &str, line: &str) -> io::Result<String> {
    let mut text = fs::read_to_string(path)?;
    let start = text.find(after).map(|at| at + after.len());
    let at = start.and_then(|start| Some(start + line_starting_with(text.get(start..)?, before)?));
    match at {
        Some(at) => {
            text.insert_str(at, line);
            Ok(text)
        }
        None => Err(io::Error::other(format!("no place for a rule in {}", path.display()))),
    }
}

fn line_starting_with(text: &str, start: &str) -> Option<usize> {
    let mut at = 0;
    text.split_inclusive('\n').find_map(|line| {
        let own = at;
        at += line.len();
        line.trim_start_matches("pub(crate) ").starts_with(start).then_some(own)
    })
}

fn camel_case(name: &str) -> String {
    name.split(['-', '_']).map(capitalised).collect()
}

fn capitalised(word: &str) -> String {
    let mut word = word.to_owned();
    if let Some(first) = word.get_mut(..1) {
        first.make_ascii_uppercase();
    }
    word
}

fn scaffold(family: &str, name: &str) -> String {
    let (id, of_family) = (camel_case(name), camel_case(family));
    format!(
        r##"use crate::finding::Sink;
use crate::lint::Inspection;
use crate::registry::RuleId;
use crate::rule::{{Check, Example, Family, Level, Rule, Source}};

pub(crate) static RULE: Rule = Rule {{
    id: RuleId::{id},
    level: Level::Error,
    while_planned: None,
    yields_to: &[],
    family: Family::{of_family},
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
