//! Licences of all libraries in the program: which library has which licence, and the licence texts without repetition.

use std::collections::BTreeMap;
use std::fmt::Write;
use std::fs;
use std::path::{Path, PathBuf};

use super::libraries::{Libraries, Library};
use super::words;

/// Licence whose text is the same for everybody, so that a library without its own copy can use that of another.
const STANDARD: &str = "Apache-2.0";
/// First words of that licence's text.
const STANDARD_TITLE: &str = "Apache License";

/// Markdown page with the licences.
///
/// # Errors
///
/// If a text cannot be read, or a library has none.
pub fn page(libraries: &Libraries) -> Result<String, String> {
    let mut holders: BTreeMap<String, Vec<String>> = BTreeMap::new();
    let mut without = Vec::new();
    for library in &libraries.all {
        let texts = texts(&library.folder)?;
        if texts.is_empty() {
            without.push(library);
        }
        for text in texts {
            holders.entry(text).or_default().push(called(library));
        }
    }
    let mut out = String::from(
        "# Licences of the libraries in this program\n\nThe program itself: see `LICENSE`. The standard library of Rust in it is under \
         MIT OR Apache-2.0, and the C library of a static program, musl, under MIT.\n\n| library | licence | by |\n|---|---|---|\n",
    );
    for library in &libraries.all {
        let _ = writeln!(
            out,
            "| {} | {} | {} |",
            called(library),
            library.licence,
            library.authors.join(", ").replace('|', "")
        );
    }
    let standard = holders
        .keys()
        .find(|text| text.trim_start().starts_with(STANDARD_TITLE));
    for library in &without {
        let is_known = library.licence.split_whitespace().any(|word| word == STANDARD) && standard.is_some();
        if !is_known {
            return Err(format!(
                "{} brings no text of its licence, {}",
                called(library),
                library.licence
            ));
        }
        let _ = writeln!(
            out,
            "\n{} brings no text of its licence. It is used under {STANDARD}, whose text is below.",
            called(library)
        );
    }
    for (text, libraries) in &holders {
        // Indented, so that the text is shown literally.
        let _ = writeln!(out, "\n## {}\n", libraries.join(", "));
        for line in text.lines() {
            let _ = writeln!(out, "{}", format!("    {line}").trim_end());
        }
    }
    Ok(out)
}

/// Whether a file is source code that happens to have such a name.
fn is_source(path: &Path) -> bool {
    path.extension().is_some_and(|extension| extension == "rs")
}

fn called(library: &Library) -> String {
    format!("{} {}", library.name, library.version)
}

/// Licence texts in a library's sources, including bundled sources in other languages.
fn texts(folder: &Path) -> Result<Vec<String>, String> {
    const NAMES: [&str; 4] = ["LICEN", "COPYING", "NOTICE", "UNLICENSE"];
    let mut found: Vec<PathBuf> = Vec::new();
    let mut waiting = vec![folder.to_owned()];
    while let Some(folder) = waiting.pop() {
        for entry in fs::read_dir(&folder).map_err(|error| words(&folder, &error))? {
            let entry = entry.map_err(|error| words(&folder, &error))?;
            let name = entry.file_name().to_string_lossy().to_uppercase();
            let kind = entry.file_type().map_err(|error| words(&folder, &error))?;
            if kind.is_dir() {
                waiting.push(entry.path());
            } else if kind.is_file() && NAMES.iter().any(|start| name.starts_with(start)) && !is_source(&entry.path()) {
                found.push(entry.path());
            }
        }
    }
    found.sort();
    let texts = found.iter().map(|path| {
        let bytes = fs::read(path).map_err(|error| words(path, &error))?;
        Ok(String::from_utf8_lossy(&bytes).replace("\r\n", "\n"))
    });
    texts.collect()
}
