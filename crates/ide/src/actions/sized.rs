//! Writing the figure that would be right in place of the one that is stated: a span, a limit with its deadband, a set pressure, a bore, a
//! capacity, a fuse or a conductor. It is what `predict --size` says to take.

use std::sync::Arc;

use drysheath_engineering::units::Quantity;
use drysheath_office::kinds::{Key, KindId};
use drysheath_office::{Field, Fields, Limit, Office, Part, Value};
use drysheath_rules::Inspection;
use drysheath_rules::sizing::{Choice, Sized, SizedFigure, Sizing, size};
use drysheath_syntax::Medium;
use drysheath_text::{Edit, Place, TextRange};
use drysheath_workspace::{Analysis, Snapshot};

use super::Proposal;

/// What is stated at a range, by the name that it is sized under.
struct Asked<'o> {
    name: String,
    stated: Stated<'o>,
}

enum Stated<'o> {
    Span(&'o Field, Quantity, Quantity),
    Limit(&'o Field, &'o Limit),
    /// A field with one quantity, and what its figure is called.
    Single(&'o Field, &'static str),
    /// What a run states, likewise.
    OfRun(TextRange, &'static str),
}

/// For each figure that is stated where a range lies and that could be chosen: writing what would be right there, where that is another one.
/// For a range over several figures nothing is offered: each takes the network solved many times.
pub(super) fn choices(snapshot: &Snapshot, analysis: &Analysis, range: TextRange) -> Vec<Proposal> {
    let office = analysis.present();
    let asked = asked(office, range);
    if asked.is_empty() {
        return Vec::new();
    }
    let Analysis {
        networks,
        prediction,
        settings,
        ..
    } = analysis;
    let inspection = Inspection::new(office, networks, prediction, settings);
    let parts: Vec<Arc<Part>> = snapshot.parts_within_reach(analysis);
    let proposal = |asked: Asked<'_>| match size(&inspection, &parts, &asked.name, None) {
        Sized::Told(sizing) => asked.proposal(&sizing),
        Sized::Nothing(_) | Sized::Unknown => None,
    };
    asked.into_iter().filter_map(proposal).collect()
}

fn asked(office: &Office, range: TextRange) -> Vec<Asked<'_>> {
    let is_around = |other: TextRange| office.is_own(other) && other.start <= range.start && range.end <= other.end;
    let is_there = |field: &&Field| field.place.file == office.file && is_around(field.place.range);
    let mut found = Vec::new();
    for (id, thing) in office.things() {
        let Some(kind) = thing.kind else { continue };
        let name = office.name(id);
        for field in thing.fields.iter().filter(is_there) {
            match &field.value {
                Value::Group(fields) if kind.is_sensor() => {
                    let inner = fields.iter().filter(is_there);
                    let of = format!("{name} {}", field.spec.key.word());
                    found.extend(inner.filter_map(|field| of_signal(field, &of)));
                }
                _ if kind.is_sensor() => found.extend(of_signal(field, name)),
                _ => {
                    let what = match (kind.id, field.spec.key) {
                        (KindId::Regulator, Key::Set) => "set pressure",
                        (KindId::AirPipe, Key::Bore) => "bore",
                        (KindId::Battery, Key::Capacity) => "capacity",
                        _ => continue,
                    };
                    found.push(Asked {
                        name: name.to_owned(),
                        stated: Stated::Single(field, what),
                    });
                }
            }
        }
    }
    for run in office
        .runs
        .iter()
        .filter(|run| run.medium == Medium::Power && is_around(run.range))
    {
        let Some(load) = run.ends.last().and_then(|end| end.thing) else {
            continue;
        };
        for with in run.pieces() {
            let stated = [(with.fuse, "fuse"), (with.gauge, "conductor")];
            let stated = stated
                .into_iter()
                .filter_map(|(stated, what)| Some((stated?.range, what)));
            found.extend(
                stated
                    .filter(|(range, _)| is_around(*range))
                    .map(|(range, what)| Asked {
                        name: office.name(load).to_owned(),
                        stated: Stated::OfRun(range, what),
                    }),
            );
        }
    }
    found
}

fn of_signal<'o>(field: &'o Field, of: &str) -> Option<Asked<'o>> {
    let (name, stated) = match &field.value {
        Value::Limit(limit) => (format!("{of} {}", limit.level.word()), Stated::Limit(field, limit)),
        _ if field.spec.key == Key::Span => {
            let (bottom, top, _) = std::slice::from_ref(field).range(Key::Span)?;
            (of.to_owned(), Stated::Span(field, bottom, top))
        }
        _ => return None,
    };
    Some(Asked { name, stated })
}

impl Asked<'_> {
    fn proposal(&self, sizing: &Sizing) -> Option<Proposal> {
        let (range, text, why) = match &self.stated {
            Stated::Span(field, bottom, top) => {
                // Where the bottom is wrong as well, the top is chosen for another one.
                let bottom_of_span = figure(sizing, "bottom of the span")?;
                let (now, _) = bottom_of_span.stated.as_ref()?;
                if !bottom_of_span.holds(now.si) {
                    return None;
                }
                let choice = other(sizing, "top of the span", field.place)?;
                let same_unit =
                    choice.amount.shown.ends_with(&format!(" {}", top.unit.name)) && bottom.unit == top.unit;
                let bottom = if same_unit {
                    bottom.value.to_string()
                } else {
                    bottom.to_string()
                };
                (
                    field.place.range,
                    format!("span {bottom} .. {}", choice.amount.shown),
                    &choice.why,
                )
            }
            Stated::Limit(field, limit) => {
                let choice = other(sizing, "limit", field.place)?;
                let mut text = format!("limit {} {}", limit.level.word(), choice.amount.shown);
                if let Some(severity) = limit.severity {
                    text = format!("{text} {}", severity.word());
                }
                let deadband = figure(sizing, "deadband").and_then(|deadband| deadband.choice.as_ref());
                let deadband = deadband.map(|choice| choice.amount.shown.clone());
                if let Some(deadband) = deadband.or_else(|| Some(limit.deadband?.to_string())) {
                    text = format!("{text} deadband {deadband}");
                }
                (field.place.range, text, &choice.why)
            }
            Stated::Single(field, what) => {
                let choice = other(sizing, what, field.place)?;
                let text = format!("{} {}", field.spec.key.word(), choice.amount.shown);
                (field.place.range, text, &choice.why)
            }
            Stated::OfRun(range, what) => {
                // The conductor is chosen for the fuse to take, and the fuse for the conductor that is stated. Each alone is right only where
                // the other stays.
                let chosen = figure(sizing, what)?;
                let fuse = figure(sizing, "fuse")?;
                if *what != "fuse" && !is_kept(fuse) {
                    return None;
                }
                // Nor is a fuse of which nobody knows whether the conductor bears it.
                if *what == "fuse" && !chosen.missing.is_empty() {
                    return None;
                }
                let choice = chosen.choice.as_ref().filter(|choice| chosen.holds(choice.amount.si))?;
                let (now, place) = chosen.stated.as_ref()?;
                if place.range != *range || now.shown == choice.amount.shown {
                    return None;
                }
                (*range, choice.amount.shown.clone(), &choice.why)
            }
        };
        let edit = Edit {
            range,
            replacement: text.clone(),
        };
        Some(Proposal::new(format!("Take `{text}`: {why}"), vec![edit]))
    }
}

fn figure<'s>(sizing: &'s Sizing, what: &str) -> Option<&'s SizedFigure> {
    sizing.figures.iter().find(|figure| figure.what == what)
}

/// Whether what is to be taken of a figure is what is stated.
fn is_kept(figure: &SizedFigure) -> bool {
    let (now, choice) = (figure.stated.as_ref(), figure.choice.as_ref());
    now.zip(choice)
        .is_some_and(|((now, _), choice)| now.shown == choice.amount.shown)
}

/// What is to be taken of a figure that is stated at a place, where that is another one.
fn other<'s>(sizing: &'s Sizing, what: &str, place: Place) -> Option<&'s Choice> {
    let figure = figure(sizing, what)?;
    let (now, stated) = figure.stated.as_ref()?;
    let choice = figure.choice.as_ref()?;
    (*stated == place && now.shown != choice.amount.shown).then_some(choice)
}
