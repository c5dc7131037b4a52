//! What a work order marks: what is new, what is another, what is to be taken out.

use std::collections::BTreeMap;

use drysheath_office::{Link, Links, Networks, Office, Terminal, printed};
use drysheath_prediction::{SignalPath, control_paths, signal_paths};
use drysheath_report::{ChangeRecord, Deed, EarlierOffice, Of};
use rustc_hash::{FxHashMap, FxHashSet};

use crate::facts::{Facts, side};
use crate::mark::Mark;
use crate::page::Block;
use crate::table::{Cell, Column, Row, Table};

/// The revision that a work order starts from, and what the office was then.
#[derive(Clone, Copy)]
pub struct Since<'a> {
    /// The revision, as the user called it.
    pub revision: &'a str,
    /// The office as it was; none where it is new.
    pub office: Option<&'a EarlierOffice>,
}

/// How each thing, link and circuit compares with another state of the office: with that of the revision that the work starts
/// from, or, of what was then, with that of now.
#[derive(Debug, Default)]
pub struct Marks {
    other: Option<Other>,
}

/// The other state, by the names that things have in this one.
#[derive(Debug)]
struct Other {
    /// What is in this state alone.
    alone: Mark,
    /// What is built in another way.
    differs: Mark,
    /// The things that are in both.
    things: FxHashSet<String>,
    /// Those of them that are another.
    changed: FxHashSet<String>,
    /// Each link, and what it is there.
    links: FxHashMap<String, String>,
    /// The way of each signal and control there.
    circuits: FxHashMap<String, String>,
}

impl Other {
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
    /// The marks of an office that was there before. One that is new has none: all of it is to be built.
    pub fn new(since: Option<Since<'_>>) -> Self {
        let Some(before) = since.and_then(|since| since.office) else {
            return Self::default();
        };
        let mut other = Other::new(
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

    /// The marks of an office as it was, whose work leads to what it is now: what is taken out. What is made another way is taken
    /// out as it was.
    pub fn before(before: &EarlierOffice, office: &Office, networks: &Networks) -> Self {
        let names = before.names.iter().map(|(was, is)| (is.clone(), was.clone()));
        Self {
            other: Some(Other::new((Mark::Removed, Mark::Removed), (office, networks), names)),
        }
    }

    /// The mark of what is in another office.
    pub fn elsewhere(&self) -> Mark {
        if self.other.is_some() { Mark::Same } else { Mark::Plain }
    }

    /// How a thing compares, by its name in this state.
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

    /// How a link compares.
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

    /// How the circuit of a device compares: the device, and its way over pairs to its input.
    pub fn circuit(&self, facts: &Facts<'_>, device: Terminal) -> Mark {
        match self.way(facts, device) {
            Mark::Same => facts.mark(device.thing),
            mark => mark,
        }
    }

    /// How the way of a device's signal over pairs to its input compares, or that of its control. None is the same as none.
    pub fn way(&self, facts: &Facts<'_>, device: Terminal) -> Mark {
        let Some(other) = &self.other else {
            return Mark::Plain;
        };
        let key = terminal(facts.across.office, &device, str::to_owned);
        match (facts.ways.get(&key), other.circuits.get(&key)) {
            (Some(own), Some(there)) if own != there => other.differs,
            (Some(_), None) => other.alone,
            _ => Mark::Same,
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
    let controls = control_paths(office, networks)
        .into_iter()
        .map(|path| (path, path.input));
    let across = networks.across(office);
    let paths: Vec<(SignalPath, Terminal)> = signals.chain(controls).collect();
    let way = |path: SignalPath| {
        let steps = path
            .steps(&across.networks.wire)
            .map(|(_, step)| terminal(across.office, step, &called));
        steps.collect::<Vec<_>>().join(" -> ")
    };
    paths
        .into_iter()
        .map(|(path, device)| (terminal(across.office, &device, &called), way(path)))
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
