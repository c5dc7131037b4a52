//! Files generated from the tables in the code and committed for readers: `generate` writes them, and `check` fails if
//! one is out of date.

mod kate;
mod text_mate;
mod tree_sitter;
mod vim;
mod words;

use std::fmt::Write as _;
use std::path::{Path, PathBuf};
use std::{fs, io};

use drysheath_report::{
    comparison_schema, conditions_table, editor_table, former_words_table, kinds_tables, practice_table, record_names,
    records_schema, report_schema, results_schema, rule_page, rules_schema, settings_schema, units_table,
};
use drysheath_rules::{Family, RULES};
use words::Words;

/// A generated file: path from the repository root, and text.
type Generated = (PathBuf, String);

/// Writes all generated files that are out of date, and deletes pages of removed rules.
///
/// # Errors
///
/// If a file cannot be read or written.
pub fn generate(root: &Path) -> io::Result<()> {
    for (path, text) in all(root)? {
        let path = root.join(path);
        if fs::read_to_string(&path).ok().as_deref() != Some(&text) {
            if let Some(folder) = path.parent() {
                fs::create_dir_all(folder)?;
            }
            fs::write(&path, text)?;
            println!("wrote {}", path.display());
        }
    }
    for path in orphans(root)? {
        fs::remove_file(&path)?;
        println!("removed {}", path.display());
    }
    Ok(())
}

/// Generated files that are out of date.
///
/// # Errors
///
/// If a file cannot be read.
pub fn stale(root: &Path) -> io::Result<Vec<PathBuf>> {
    let mut stale = orphans(root)?;
    for (path, text) in all(root)? {
        if fs::read_to_string(root.join(&path)).ok().as_deref() != Some(&text) {
            stale.push(path);
        }
    }
    Ok(stale)
}

fn all(root: &Path) -> io::Result<Vec<Generated>> {
    let reference = PathBuf::from("grammar/reference.md");
    let mut text = fs::read_to_string(root.join(&reference))?;
    for (name, table) in [
        ("kinds", kinds_tables()),
        ("former", former_words_table()),
        ("units", units_table()),
        ("practice", practice_table()),
        ("conditions", conditions_table()),
        ("record-names", record_names()),
        ("editor", editor_table()),
    ] {
        text = filled(&text, name, &table)?;
    }
    let mut files = vec![(reference, text), (PathBuf::from("grammar/rules/README.md"), index())];
    files.extend(RULES.iter().map(|rule| (page_path(rule.name()), rule_page(rule))));
    files.push((PathBuf::from("grammar/prediction.schema.json"), report_schema()));
    files.push((PathBuf::from("grammar/results.schema.json"), results_schema()));
    files.push((PathBuf::from("grammar/records.schema.json"), records_schema()));
    files.push((PathBuf::from("grammar/comparison.schema.json"), comparison_schema()));
    files.push((PathBuf::from("grammar/rules.schema.json"), rules_schema()));
    files.push((PathBuf::from("grammar/settings.schema.json"), settings_schema()));
    let words = Words::of_tables();
    for (path, text) in [
        ("editors/vim/syntax/office.vim", vim::syntax(&words)),
        ("grammar/office.tmLanguage.json", text_mate::grammar(&words)),
        ("grammar/tree-sitter-office/words.json", tree_sitter::words(&words)),
        ("grammar/tree-sitter-office/src/words.h", tree_sitter::header(&words)),
        ("editors/kate/office.xml", kate::syntax(&words)),
    ] {
        files.push((PathBuf::from(path), text));
    }
    Ok(files)
}

fn page_path(rule: &str) -> PathBuf {
    Path::new("grammar/rules").join(rule).with_extension("md")
}

/// Pages of rules that no longer exist.
fn orphans(root: &Path) -> io::Result<Vec<PathBuf>> {
    let Ok(entries) = fs::read_dir(root.join("grammar/rules")) else {
        return Ok(Vec::new());
    };
    let mut orphans = Vec::new();
    for entry in entries {
        let path = entry?.path();
        let stem = path.file_stem().unwrap_or_default().to_string_lossy().into_owned();
        if stem != "README" && drysheath_rules::find(&stem).is_none() {
            orphans.push(path);
        }
    }
    Ok(orphans)
}

/// The text with `table` inserted between the markers of `name`.
fn filled(text: &str, name: &str, table: &str) -> io::Result<String> {
    let start = format!("<!-- generated: {name} -->\n");
    let parts = text
        .split_once(&start)
        .and_then(|(before, rest)| Some((before, rest.split_once("<!-- end -->")?.1)));
    let Some((before, after)) = parts else {
        return Err(io::Error::other(format!(
            "the reference has no place for the table of {name}"
        )));
    };
    Ok(format!("{before}{start}\n{}\n\n<!-- end -->{after}", table.trim()))
}

fn index() -> String {
    let mut out = String::from("# The rules\n\nEach has a page with its reasons, its source and an example.\n");
    let mut family: Option<Family> = None;
    for rule in RULES {
        if family != Some(rule.family) {
            let _ = writeln!(
                out,
                "\n## {}\n\n| rule | level | what it finds |\n|---|---|---|",
                rule.family.word()
            );
            family = Some(rule.family);
        }
        let _ = writeln!(
            out,
            "| [{0}]({0}.md) | {1} | {2} |",
            rule.name(),
            rule.level.word(),
            rule.summary
        );
    }
    out
}
