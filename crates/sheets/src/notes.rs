//! All notes of the file and the comments above its statements, for the technician.

use drysheath_office::kinds::Key;
use drysheath_office::{Field, Fields, Office, Value};
use drysheath_syntax::{comment_lines, comments_above};
use drysheath_text::TextRange;

use crate::mark::Mark;
use crate::page::Block;
use crate::table::{Cell, Column, Row, Table};

const COLUMNS: &[Column] = &[
    Column {
        title: "About",
        width: 190,
    },
    Column {
        title: "Note",
        width: 510,
    },
];

/// Notes of all things in file order, including planned and disused things, then notes of the runs.
pub fn blocks(office: &Office) -> Vec<Block> {
    let mut rows = Vec::new();
    for (id, thing) in office.things() {
        let mut about = office.name_and_title(id);
        if let Some(stage) = office.excluded.stage(id) {
            about = format!("{about}, {}", stage.word());
        }
        rows.extend(comment(office, thing.range).map(|comment| (about.clone(), comment)));
        collect(thing.fields(), &about, &mut rows);
    }
    for run in &office.runs {
        let written = run.range.of(&office.text);
        let ends = written.split(" with ").next().unwrap_or(written);
        let about = ends.split_whitespace().collect::<Vec<_>>().join(" ");
        rows.extend(comment(office, run.range).map(|comment| (about, comment)));
    }
    if rows.is_empty() {
        return vec![Block::Paragraph("The file has no notes.".to_owned())];
    }
    let rows = rows.into_iter().map(|(about, note)| Row {
        mark: Mark::Plain,
        cells: vec![Cell::Strong(about), Cell::Text(note)],
    });
    vec![Block::Table(Table {
        about: "notes".to_owned(),
        columns: COLUMNS,
        rows: rows.collect(),
    })]
}

/// Comment directly above a statement, as one paragraph.
fn comment(office: &Office, statement: TextRange) -> Option<String> {
    let comments = comments_above(&office.text, statement.start)?.of(&office.text);
    let said = comment_lines(comments).collect::<Vec<_>>().join(" ");
    (!said.trim().is_empty()).then_some(said)
}

fn collect(fields: &[Field], about: &str, rows: &mut Vec<(String, String)>) {
    for field in fields {
        match &field.value {
            Value::Text(note) if field.spec.key == Key::Note => rows.push((about.to_owned(), note.to_string())),
            Value::Named { name, fields, .. } => {
                collect(fields, &format!("{about}, {} {name}", field.spec.word()), rows);
            }
            Value::Group(fields) => collect(fields, &format!("{about}, {}", field.spec.word()), rows),
            _ => {}
        }
    }
}
