//! Marks of a work order: new, changed and to be removed.

use std::collections::BTreeMap;

use drysheath_office::{Link, Links, Networks, Office, Terminal, printed};
use drysheath_prediction::{SignalPath, control_paths, signal_paths};
use drysheath_report::{ChangeRecord, Deed, EarlierOffice, Of};
use rustc_hash::{FxHashMap, FxHashSet};

use crate::facts::{Facts, side};
use crate::mark::Mark;
use crate::page::Block;
use crate::table::{Cell, Column, Row, Table};

/// The revision that a work order is based on, and the office at that revision.
#[derive(Clone, Copy)]
pub struct Since<'a> {
    /// The revision, as the user wrote it.
    pub revision: &'a str,
    /// The earlier office. `None` if the office is new.
    pub office: Option<&'a EarlierOffice>,
}

/// How each thing, link and circuit compares with another state of the office: for the current office with the base
/// revision, for the earlier office with the current one.
#[derive(Debug, Default)]
pub struct Marks {
    other: Option<OtherState>,
}

/// The other state, keyed by the names that things have in this one.
#[derive(Debug)]
struct OtherState {
    /// Mark of what exists in this state only.
    alone: Mark,
    /// Mark of what is built differently.
    differs: Mark,
    /// Things that exist in both states.
    things: FxHashSet<String>,
    /// Things that exist in both and differ.
    changed: FxHashSet<String>,
    /// Each link and what it is built of in the other state.
    links: FxHashMap<String, String>,
    /// Path of each signal and control in the other state.
    circuits: FxHashMap<String, String>,
}

impl OtherState {
    fn new(
        (alone, differs): (Mark, Mark),
        (office, networks): (&Office, &Networks),
        names: impl Iterator<Item = (String, String)>,
    ) -> Self {
        let names: FxHashMap<String, String> = names.collect();
        let called = |name: &str| names.get(name).map_or(name, String::as_str).to_owned();
        let links = [&networks.air, &networks.power, &networks.ground]
            .into_iter()
            .flat_map(Links::iter);
        Self {
            alone,
            differs,
            things: names.values().cloned().collect(),
            changed: FxHashSet::default(),
            links: links
                .map(|link| (ends(office, link, called), built(office, link)))
                .collect(),
            circuits: circuits(office, networks, called).into_iter().collect(),
        }
    }
}

impl Marks {
    /// Marks of an existing office. A new office has none: all of it is to be built.
    pub fn new(since: Option<Since<'_>>) -> Self {
        let Some(before) = since.and_then(|since| since.office) else {
            return Self::default();
        };
        let mut other = OtherState::new(
            (Mark::Added, Mark::Changed),
            (before.analysis.present(), &before.analysis.networks),
            before.names.iter().cloned(),
        );
        let of_things =
            |change: &&ChangeRecord| matches!(change.of, Of::Thing | Of::Field) && change.what != Deed::Removed;
        let named = |change: &ChangeRecord| match change.what {
            Deed::Renamed => change.after.clone().unwrap_or_default(),
            _ => change.subject.clone(),
        };
        other.changed = before.changes.iter().filter(of_things).map(named).collect();
        Self { other: Some(other) }
    }

    /// Marks of the earlier office compared with the current one: what is removed. Things that are rebuilt are removed
    /// as they were.
    pub fn before(before: &EarlierOffice, office: &Office, networks: &Networks) -> Self {
        let names = before.names.iter().map(|(was, is)| (is.clone(), was.clone()));
        Self {
            other: Some(OtherState::new(
                (Mark::Removed, Mark::Removed),
                (office, networks),
                names,
            )),
        }
    }

    /// Mark of things in other offices.
    pub fn elsewhere(&self) -> Mark {
        if self.other.is_some() { Mark::Same } else { Mark::Plain }
    }

    /// Mark of a thing, by its name in this state.
    pub fn thing(&self, name: &str) -> Mark {
        let Some(other) = &self.other else {
            return Mark::Plain;
        };
        if !other.things.contains(name) {
            other.alone
        } else if other.changed.contains(name) {
            Mark::Changed
        } else {
            Mark::Same
        }
    }

    /// Mark of a link.
    pub fn link(&self, office: &Office, link: &Link) -> Mark {
        let Some(other) = &self.other else {
            return Mark::Plain;
        };
        match other.links.get(&ends(office, link, str::to_owned)) {
            None => other.alone,
            Some(there) if *there != built(office, link) => other.differs,
            Some(_) => Mark::Same,
        }
    }

    /// Mark of the circuit of a device: of the device, or of its path over pairs to its input.
    pub fn circuit(&self, facts: &Facts<'_>, device: Terminal) -> Mark {
        match self.way(facts, device) {
            Mark::Same => facts.mark(device.thing),
            mark => mark,
        }
    }

    /// Mark of the path over pairs from a device's signal or control to its input. No path in either state counts as
    /// unchanged.
    pub fn way(&self, facts: &Facts<'_>, device: Terminal) -> Mark {
        let Some(other) = &self.other else {
            return Mark::Plain;
        };
        let key = terminal(facts.merged.office, &device, str::to_owned);
        match (facts.wire_paths.get(&key), other.circuits.get(&key)) {
            (Some(own), Some(there)) if own != there => other.differs,
            (Some(_), None) => other.alone,
            _ => Mark::Same,
        }
    }
}

/// Formats the ends of a link.
fn ends(office: &Office, link: &Link, called: impl Fn(&str) -> String) -> String {
    format!(
        "{} -> {}",
        side(office, &link.from, &called),
        side(office, &link.to, &called)
    )
}

/// Pieces that a link is built of, as written.
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

/// Path of each signal and control of an office, by device.
pub fn circuits(office: &Office, networks: &Networks, called: impl Fn(&str) -> String) -> BTreeMap<String, String> {
    let signals = signal_paths(office, networks).map(|path| (path, path.signal));
    let controls = control_paths(office, networks)
        .into_iter()
        .map(|path| (path, path.input));
    let merged = networks.merged(office);
    let paths: Vec<(SignalPath, Terminal)> = signals.chain(controls).collect();
    let way = |path: SignalPath| {
        let steps = path
            .steps(&merged.networks.wire)
            .map(|(_, step)| terminal(merged.office, step, &called));
        steps.collect::<Vec<_>>().join(" -> ")
    };
    paths
        .into_iter()
        .map(|(path, device)| (terminal(merged.office, &device, &called), way(path)))
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

/// Whether a change affects what is built, not just what is recorded. Spares are excluded: they follow from what is in
/// use.
pub fn is_built(change: &ChangeRecord) -> bool {
    !matches!(change.of, Of::Spare | Of::Acceptance | Of::Reading | Of::Part | Of::Use)
}

/// Whether anything built has changed, so that there is work to order.
pub fn is_work(before: &EarlierOffice) -> bool {
    before.changes.iter().any(is_built)
}

/// Changes of a work order: removed things, then moved, changed and added ones.
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
            "What changes since {}. In the drawings, what is new or changed is heavy and says so, and the rest is grey; what is taken out is \
             drawn as it was, dashed. The material is for the changes alone.",
            since.revision
        )),
        Block::Table(Table {
            about: "what this order changes".to_owned(),
            columns: COLUMNS,
            rows: rows.collect(),
        }),
    ]
}
