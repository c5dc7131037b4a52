//! Replaces a stated figure by the recommended one: a span, a limit with its deadband, a set pressure, a bore, a
//! capacity, a fuse or a conductor. The recommendation is that of `predict --size`.

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

/// The statement at a range, with the name under which it is sized.
struct Asked<'o> {
    name: String,
    stated: Stated<'o>,
}

enum Stated<'o> {
    Span(&'o Field, Quantity, Quantity),
    Limit(&'o Field, &'o Limit),
    /// A field with one quantity, and the name of its figure.
    Single(&'o Field, &'static str),
    /// An attribute of a run, and the name of its figure.
    OfRun(TextRange, &'static str),
}

/// For each stated figure at a range that can be sized: replaces it by the recommended one, if different. Nothing is
/// offered for a range over several figures: each takes many solutions of the network.
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
                // If the bottom is wrong as well, the top was chosen for another bottom.
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
                // The conductor is chosen for the recommended fuse, and the fuse for the stated conductor. Each alone
                // is correct only if the other stays.
                let chosen = figure(sizing, what)?;
                let fuse = figure(sizing, "fuse")?;
                if *what != "fuse" && !is_kept(fuse) {
                    return None;
                }
                // Do not offer a fuse if it is not known whether the conductor can carry it.
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

/// Whether the recommended value of a figure is the stated one.
fn is_kept(figure: &SizedFigure) -> bool {
    let (now, choice) = (figure.stated.as_ref(), figure.choice.as_ref());
    now.zip(choice)
        .is_some_and(|((now, _), choice)| now.shown == choice.amount.shown)
}

/// The recommended value of a figure stated at a place, if different.
fn other<'s>(sizing: &'s Sizing, what: &str, place: Place) -> Option<&'s Choice> {
    let figure = figure(sizing, what)?;
    let (now, stated) = figure.stated.as_ref()?;
    let choice = figure.choice.as_ref()?;
    (*stated == place && now.shown != choice.amount.shown).then_some(choice)
}
