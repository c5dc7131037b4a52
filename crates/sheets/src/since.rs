//! What a work order marks: what is new, what is another, what is to be taken out.

use std::collections::BTreeMap;

use drysheath_office::{Link, Links, Networks, Office, Terminal, printed};
use drysheath_prediction::SignalPath;
use drysheath_report::{ChangeRecord, Deed, EarlierOffice, Of};
use rustc_hash::{FxHashMap, FxHashSet};

use crate::facts::{Facts, side};
use crate::mark::Mark;
use crate::page::Block;
use crate::paths::{control_paths, signal_paths};
use crate::table::{Cell, Column, Row, Table};

/// The revision that a work order starts from, and what the office was then.
#[derive(Clone, Copy)]
pub struct Since<'a> {
    /// The revision, as the user called it.
    pub revision: &'a str,
    /// The office as it was; none where it is new.
    pub office: Option<&'a EarlierOffice>,
}

/// How each thing, link and circuit compares with the revision that the work starts from.
#[derive(Debug, Default)]
pub struct Marks {
    earlier: Option<Earlier>,
}

/// What there was, by the names that things have now.
#[derive(Debug, Default)]
struct Earlier {
    /// The things that are still there.
    things: FxHashSet<String>,
    /// Those of them that are another.
    changed: FxHashSet<String>,
    /// Each link, and what it was.
    links: FxHashMap<String, String>,
    /// The way of each signal and control.
    circuits: FxHashMap<String, String>,
}

impl Marks {
    /// The marks of an office that was there before. One that is new has none: all of it is to be built.
    pub fn new(since: Option<Since<'_>>) -> Self {
        let Some(before) = since.and_then(|since| since.office) else {
            return Self::default();
        };
        let now: FxHashMap<&str, &str> = before
            .names
            .iter()
            .map(|(was, is)| (was.as_str(), is.as_str()))
            .collect();
        let called = |name: &str| now.get(name).copied().unwrap_or(name).to_owned();
        let office = before.analysis.present();
        let networks = &before.analysis.networks;
        let links = [&networks.air, &networks.power, &networks.ground]
            .into_iter()
            .flat_map(Links::iter);
        let of_things =
            |change: &&ChangeRecord| matches!(change.of, Of::Thing | Of::Field) && change.what != Deed::Removed;
        let named = |change: &ChangeRecord| match change.what {
            Deed::Renamed => change.after.clone().unwrap_or_default(),
            _ => change.subject.clone(),
        };
        Self {
            earlier: Some(Earlier {
                things: before.names.iter().map(|(_, is)| is.clone()).collect(),
                changed: before.changes.iter().filter(of_things).map(named).collect(),
                links: links
                    .map(|link| (ends(office, link, called), built(office, link)))
                    .collect(),
                circuits: circuits(office, networks, called).into_iter().collect(),
            }),
        }
    }

    /// How a thing compares, by its name now.
    pub fn thing(&self, name: &str) -> Mark {
        let Some(earlier) = &self.earlier else {
            return Mark::Plain;
        };
        if !earlier.things.contains(name) {
            Mark::Added
        } else if earlier.changed.contains(name) {
            Mark::Changed
        } else {
            Mark::Same
        }
    }

    /// How a link compares.
    pub fn link(&self, office: &Office, link: &Link) -> Mark {
        let Some(earlier) = &self.earlier else {
            return Mark::Plain;
        };
        match earlier.links.get(&ends(office, link, str::to_owned)) {
            None => Mark::Added,
            Some(was) if *was != built(office, link) => Mark::Changed,
            Some(_) => Mark::Same,
        }
    }

    /// How the circuit of a device compares: its way over pairs to its input.
    pub fn circuit(&self, facts: &Facts<'_>, device: Terminal) -> Mark {
        let Some(earlier) = &self.earlier else {
            return Mark::Plain;
        };
        let key = terminal(facts.office, &device, str::to_owned);
        let own = facts.ways.get(&key);
        match (own, earlier.circuits.get(&key)) {
            (Some(own), Some(was)) if own == was => self.thing(facts.office.name(device.thing)),
            (Some(_), Some(_)) => Mark::Changed,
            (Some(_), None) => Mark::Added,
            (None, _) => self.thing(facts.office.name(device.thing)),
        }
    }
}

/// The ends of a link as they are called.
fn ends(office: &Office, link: &Link, called: impl Fn(&str) -> String) -> String {
    format!(
        "{} -> {}",
        side(office, &link.from, &called),
        side(office, &link.to, &called)
    )
}

/// What a link is built of, as it is written.
fn built(office: &Office, link: &Link) -> String {
    let pieces = link
        .pieces(office)
        .filter_map(|piece| Some(piece.range()?.of(&office.text)));
    let words: Vec<String> = pieces
        .map(|piece| piece.split_whitespace().collect::<Vec<_>>().join(" "))
        .collect();
    words.join(" then ")
}

fn terminal(office: &Office, terminal: &Terminal, called: impl Fn(&str) -> String) -> String {
    format!(
        "{} {} {}",
        called(office.name(terminal.thing)),
        terminal.port.word,
        printed(terminal.number)
    )
}

/// The way of each signal and control of an office, by the device that it is of.
pub fn circuits(office: &Office, networks: &Networks, called: impl Fn(&str) -> String) -> BTreeMap<String, String> {
    let signals = signal_paths(office, networks).map(|path| (path, path.signal));
    let controls = control_paths(office, networks).map(|path| (path, path.input));
    let paths: Vec<(SignalPath, Terminal)> = signals.chain(controls).collect();
    let way = |path: SignalPath| {
        let steps = path
            .steps(&networks.wire)
            .map(|(_, step)| terminal(office, step, &called));
        steps.collect::<Vec<_>>().join(" -> ")
    };
    paths
        .into_iter()
        .map(|(path, device)| (terminal(office, &device, &called), way(path)))
        .collect()
}

const COLUMNS: &[Column] = &[
    Column {
        title: "Done",
        width: 46,
    },
    Column {
        title: "Work",
        width: 84,
    },
    Column {
        title: "On",
        width: 190,
    },
    Column {
        title: "Was",
        width: 190,
    },
    Column {
        title: "Becomes",
        width: 190,
    },
];

/// Whether a change is of what is built, and not of what is said about it: what is spare follows from what is not.
pub fn is_built(change: &ChangeRecord) -> bool {
    !matches!(change.of, Of::Spare | Of::Acceptance | Of::Reading | Of::Part | Of::Use)
}

/// Whether anything that is built has changed, so that there is an order to write.
pub fn is_work(before: &EarlierOffice) -> bool {
    before.changes.iter().any(is_built)
}

/// What a work order changes: what is taken out, then what is moved, changed and added.
pub fn blocks(since: &Since<'_>) -> Vec<Block> {
    let Some(before) = since.office else {
        return vec![Block::Paragraph(format!(
            "The office is new since {}: all of it is to be built, and these are the sheets of all of it.",
            since.revision
        ))];
    };
    let mut changes: Vec<&ChangeRecord> = before.changes.iter().filter(|change| is_built(change)).collect();
    changes.sort_by_key(|change| change.what != Deed::Removed);
    if changes.is_empty() {
        return vec![Block::Paragraph(format!(
            "Nothing that is built changes since {}.",
            since.revision
        ))];
    }
    let rows = changes.into_iter().map(|change| {
        let field = change
            .field
            .as_ref()
            .map_or(String::new(), |field| format!(": {field}"));
        Row {
            mark: match change.what {
                Deed::Removed => Mark::Removed,
                Deed::Added => Mark::Added,
                _ => Mark::Changed,
            },
            cells: vec![
                Cell::Tick,
                Cell::Strong(match (change.what, change.of) {
                    (Deed::Removed, Of::Thing) => "take out".to_owned(),
                    (what, _) => what.word().to_owned(),
                }),
                Cell::Text(format!("{}{field}", change.about())),
                Cell::or_dash(change.before.clone()),
                Cell::or_dash(change.after.clone()),
            ],
        }
    });
    vec![
        Block::Paragraph(format!(
            "What is built changes so since {}. On the pages that follow what is new or changed is drawn heavy and says so; the rest is grey.              Material is what the difference needs.",
            since.revision
        )),
        Block::Table(Table {
            about: "what this order changes".to_owned(),
            columns: COLUMNS,
            rows: rows.collect(),
        }),
    ]
}
