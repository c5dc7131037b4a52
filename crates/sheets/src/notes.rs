//! Every note of the file: what its author wants a technician to know.

use drysheath_office::kinds::Key;
use drysheath_office::{Field, Fields, Office, Value};

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

/// The notes of all things, in the order of the file, those of the things that are planned or disused among them.
pub fn blocks(office: &Office) -> Vec<Block> {
    let mut rows = Vec::new();
    for (id, thing) in office.things() {
        let mut about = office.name_and_title(id);
        if let Some(stage) = office.aside.stage(id) {
            about = format!("{about}, {}", stage.word());
        }
        collect(thing.fields(), &about, &mut rows);
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
