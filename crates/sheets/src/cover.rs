//! The first page: which office it is, what prevents working by the sheet, and a table of contents.

use drysheath_office::Fields;
use drysheath_office::kinds::Key;
use drysheath_rules::{Finding, Level, ResultCount};

use crate::facts::Facts;
use crate::mark::Mark;
use crate::page::Block;
use crate::table::{Cell, Column, Row, Table};

const FACTS: &[Column] = &[
    Column {
        title: "Of the office",
        width: 190,
    },
    Column {
        title: "Says",
        width: 510,
    },
];
const RESULTS: &[Column] = &[
    Column {
        title: "Level",
        width: 76,
    },
    Column {
        title: "On",
        width: 110,
    },
    Column {
        title: "What lint finds",
        width: 514,
    },
];

/// Blocks of the first page.
pub fn blocks(facts: &Facts<'_>, findings: &[Finding], missing: &[String]) -> Vec<Block> {
    let office = facts.office;
    let mut rows: Vec<(String, String)> = Vec::new();
    if let Some(itself) = office.itself.map(|id| office.thing(id)) {
        let mut put = |what: &str, said: Option<String>| rows.extend(said.map(|said| (what.to_owned(), said)));
        put("Name", office.itself.map(|id| office.name_and_title(id)));
        put("Site", itself.text(Key::Site).map(str::to_owned));
        put("Stage", Some(office.stage().word().to_owned()));
        put(
            "Elevation",
            itself
                .quantity(Key::Elevation)
                .map(|(elevation, _)| elevation.to_string()),
        );
        put("Order", itself.text(Key::Order).map(str::to_owned));
        let records = itself
            .recorded()
            .map(|(fact, _)| format!("{}: {}", fact.name, fact.text));
        let records: Vec<String> = records.collect();
        put("Records", (!records.is_empty()).then(|| records.join("; ")));
    }
    let left_out: Vec<String> = office
        .excluded
        .things
        .iter()
        .map(|(id, stage)| format!("{} ({})", office.name_and_title(*id), stage.word()))
        .collect();
    if !left_out.is_empty() {
        rows.push((
            "Not on this sheet".to_owned(),
            format!("{}: left out because of their stage", left_out.join(", ")),
        ));
    }
    if !missing.is_empty() {
        rows.push((
            "Not computed".to_owned(),
            format!("the file does not say {}", missing.join("; ")),
        ));
    }
    let rows = rows.into_iter().map(|(what, said)| Row {
        mark: Mark::Plain,
        cells: vec![Cell::Strong(what), Cell::Text(said)],
    });
    let mut blocks = vec![Block::Table(Table {
        about: "the office".to_owned(),
        columns: FACTS,
        rows: rows.collect(),
    })];
    blocks.extend(results(facts, findings));
    blocks
}

fn results(facts: &Facts<'_>, findings: &[Finding]) -> Vec<Block> {
    let shown: Vec<&Finding> = findings
        .iter()
        .filter(|finding| finding.accepted.is_none() && finding.level >= Level::Warning)
        .collect();
    if shown.is_empty() {
        return vec![Block::Paragraph(
            "Lint finds no error and no warning in the file.".to_owned(),
        )];
    }
    let heading = if ResultCount::of(findings).errors > 0 {
        "Do not work by this sheet before these are settled"
    } else {
        "Ask about these before you work by this sheet"
    };
    let rows = shown.into_iter().map(|finding| Row {
        mark: Mark::Plain,
        cells: vec![
            Cell::Strong(finding.level.word().to_owned()),
            Cell::or_dash(finding.on.map(|id| facts.office.name(id).to_owned())),
            Cell::Text(finding.message.replace('`', "")),
        ],
    });
    vec![
        Block::Heading(heading.to_owned()),
        Block::Table(Table {
            about: "results of lint".to_owned(),
            columns: RESULTS,
            rows: rows.collect(),
        }),
    ]
}
