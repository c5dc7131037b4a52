//! Writing what would be right in place of what is stated: a span or the part that has it, a limit with its deadband, a set pressure, the
//! bore of a pipe or a tube, a capacity, a fuse or a conductor. It is what `predict --size` says to take.

use std::sync::Arc;

use drysheath_engineering::units::Quantity;
use drysheath_office::kinds::{Key, Kind, KindId};
use drysheath_office::{Field, Fields, Limit, Office, Part, ThingId, Value};
use drysheath_rules::Inspection;
use drysheath_rules::sizing::{Choice, SizedFigure, SizedQuantity, Sizing, SizingAnswer, ancestry, size};
use drysheath_syntax::Medium;
use drysheath_text::{Edit, Place, TextRange};
use drysheath_workspace::{Analysis, Snapshot};

use super::Proposal;
use super::extract::{declared, is_own_key, of_part};

/// What could be written.
#[derive(Default)]
pub(super) struct Choices {
    /// Proposals that write a recommended figure.
    pub figures: Vec<Proposal>,
    /// Parts that a thing could be of.
    pub parts: Vec<Proposal>,
}

impl Choices {
    /// Adds a figure. What stands in a part is asked about for each thing that is of it, and offered once.
    fn add_figure(&mut self, figure: Proposal) {
        if self.figures.iter().all(|other| other.edits != figure.edits) {
            self.figures.push(figure);
        }
    }

    /// Adds a part. At a span that stands in a part, all sensors of that which should be of the same other one take it together.
    fn add_part(&mut self, part: Proposal) {
        match self.parts.iter_mut().find(|other| other.title == part.title) {
            Some(other) => other.edits.extend(part.edits),
            None => self.parts.push(part),
        }
    }
}

/// The statement at a range, with the name under which it is sized.
struct SizedStatement<'o> {
    name: String,
    stated: StatedAs<'o>,
    /// The sensor for which a part could be taken.
    sensor: Option<ThingId>,
}

enum StatedAs<'o> {
    /// That a sensor is of a part.
    Part,
    Span(&'o Field, Quantity, Quantity),
    Limit(&'o Field, &'o Limit),
    /// A field with one quantity, and its figure.
    Single(&'o Field, SizedQuantity),
    /// An attribute of a run, and its figure.
    OfRun(TextRange, SizedQuantity),
    /// The bore of a tube.
    OfTube(Place),
}

/// For each figure that is stated where a range lies and that could be chosen: writing what would be right there, where that is another one.
/// For a range over several figures nothing is offered: each takes the network solved many times.
pub(super) fn choices(snapshot: &Snapshot, analysis: &Analysis, range: TextRange) -> Choices {
    let office = analysis.present();
    let mut asked = sized_statement(office, range);
    asked.extend(of_runs(analysis, range));
    asked.extend(of_part_name(analysis, range));
    let mut choices = Choices::default();
    if asked.is_empty() {
        return choices;
    }
    let Analysis {
        networks,
        prediction,
        settings,
        ..
    } = analysis;
    let inspection = Inspection::new(office, networks, prediction, settings);
    let parts: Vec<Arc<Part>> = snapshot.parts_within_reach(analysis);
    for asked in asked {
        let SizingAnswer::Told(sizing) = size(&inspection, &parts, &asked.name, None) else {
            continue;
        };
        if let Some(figure) = asked.proposal(&sizing) {
            choices.add_figure(figure);
        }
        let sensor = asked.sensor;
        if let Some(taken) = sensor.and_then(|sensor| taken_part(analysis, &parts, sensor, &sizing)) {
            choices.add_part(taken);
        }
    }
    choices
}

fn sized_statement(office: &Office, range: TextRange) -> Vec<SizedStatement<'_>> {
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
                    found.extend(inner.filter_map(|field| of_signal(field, &of, None)));
                }
                _ if kind.is_sensor() => {
                    // What a part makes of a second signal is left to whoever knows it.
                    let is_one = office.signals(id).len() == 1;
                    found.extend(of_signal(field, name, is_one.then_some(id)));
                }
                _ => {
                    let what = match (kind.id, field.spec.key) {
                        (KindId::Regulator, Key::Set) => SizedQuantity::SetPressure,
                        (KindId::AirPipe, Key::Bore) => SizedQuantity::Bore,
                        (KindId::Battery, Key::Capacity) => SizedQuantity::Capacity,
                        _ => continue,
                    };
                    found.push(SizedStatement {
                        name: name.to_owned(),
                        stated: StatedAs::Single(field, what),
                        sensor: None,
                    });
                }
            }
        }
    }
    found
}

/// What runs state at a range.
fn of_runs(analysis: &Analysis, range: TextRange) -> Vec<SizedStatement<'static>> {
    let office = analysis.present();
    let is_around = |other: TextRange| office.is_own(other) && other.start <= range.start && range.end <= other.end;
    let mut found = Vec::new();
    for run in office
        .runs
        .iter()
        .filter(|run| run.medium == Medium::Power && is_around(run.range))
    {
        let Some(load) = run.ends.last().and_then(|end| end.thing) else {
            continue;
        };
        for with in run.pieces() {
            let stated = [(with.fuse, SizedQuantity::Fuse), (with.gauge, SizedQuantity::Conductor)];
            let stated = stated
                .into_iter()
                .filter_map(|(stated, what)| Some((stated?.range, what)));
            found.extend(
                stated
                    .filter(|(range, _)| is_around(*range))
                    .map(|(range, what)| SizedStatement {
                        name: office.name(load).to_owned(),
                        stated: StatedAs::OfRun(range, what),
                        sensor: None,
                    }),
            );
        }
    }
    let tubes = analysis.networks.air.pieces(office);
    let mut tubes = tubes.filter_map(|(link, with)| Some((link, with.bore?.range)));
    // Those that one run states together are sized together, whichever of them is named.
    let tube = tubes.find(|(_, range)| is_around(*range));
    found.extend(tube.map(|(link, range)| {
        let [from, to] = [link.from.thing, link.to.thing].map(|id| office.name(id));
        SizedStatement {
            name: format!("{from} -> {to}"),
            stated: StatedAs::OfTube(office.place(range)),
            sensor: None,
        }
    }));
    found
}

/// The sensor of which a range lies in the name of its part.
fn of_part_name(analysis: &Analysis, range: TextRange) -> Option<SizedStatement<'static>> {
    let (office, tree) = (analysis.present(), &analysis.tree);
    let things = tree.statements.iter().filter_map(declared);
    let (name, _) = things
        .filter_map(|thing| Some((tree.range(thing.name?), tree.range(thing.part?))))
        .find(|(_, part)| part.start <= range.start && range.end <= part.end)?;
    let (id, _) = office
        .things()
        .find(|(_, thing)| thing.name == name && thing.kind.is_some_and(Kind::is_sensor))?;
    (office.signals(id).len() == 1).then(|| SizedStatement {
        name: office.name(id).to_owned(),
        stated: StatedAs::Part,
        sensor: Some(id),
    })
}

/// Making a sensor one of the part to take, in place of what it states itself and the part states as well.
fn taken_part(analysis: &Analysis, parts: &[Arc<Part>], sensor: ThingId, sizing: &Sizing) -> Option<Proposal> {
    let (office, tree, text) = (analysis.present(), &analysis.tree, &*analysis.text);
    let chosen = sizing.parts.iter().find(|part| part.is_chosen)?;
    let thing = office.thing(sensor);
    let kind = thing.kind?;
    // The first of that name is the one that the file means by it. What the thing has now is no part.
    let named = parts
        .iter()
        .find(|part| *part.name == *chosen.name && part.kind.id == kind.id)?;
    if named.place != chosen.place {
        return None;
    }
    let stated: Vec<Key> = ancestry(parts, named)
        .into_iter()
        .flat_map(|part| part.fields().iter().map(|field| field.spec.key))
        .filter(|key| !is_own_key(*key))
        .collect();
    let statements = tree.statements.iter().filter(|statement| !statement.damaged);
    let (statement, declared) = statements
        .filter_map(|statement| Some((statement, declared(statement)?)))
        .find(|(_, declared)| declared.name.is_some_and(|name| tree.range(name) == thing.name))?;
    let is_stated = |field: &drysheath_syntax::Field| {
        let spec = drysheath_office::kinds::field(kind.fields, tree.range(field.name).of(text));
        spec.is_some_and(|spec| stated.contains(&spec.key))
    };
    let edits = of_part(text, tree, statement, declared, &chosen.name, is_stated);
    let why = "the narrowest of the parts within reach that do all that is wanted";
    let title = format!("Take `: {}`, {}: {why}", chosen.name, chosen.figures);
    Some(Proposal::new(title, edits))
}

fn of_signal<'o>(field: &'o Field, of: &str, sensor: Option<ThingId>) -> Option<SizedStatement<'o>> {
    let (name, stated) = match &field.value {
        Value::Limit(limit) => {
            let name = format!("{of} {}", limit.level.word());
            return Some(SizedStatement {
                name,
                stated: StatedAs::Limit(field, limit),
                sensor: None,
            });
        }
        _ if field.spec.key == Key::Span => {
            let (bottom, top, _) = std::slice::from_ref(field).range(Key::Span)?;
            (of.to_owned(), StatedAs::Span(field, bottom, top))
        }
        _ => return None,
    };
    Some(SizedStatement { name, stated, sensor })
}

impl SizedStatement<'_> {
    fn proposal(&self, sizing: &Sizing) -> Option<Proposal> {
        let (range, text, why) = match &self.stated {
            StatedAs::Part => return None,
            StatedAs::Span(field, bottom, top) => {
                // If the bottom is wrong as well, the top was chosen for another bottom.
                let bottom_of_span = figure(sizing, SizedQuantity::BottomOfSpan)?;
                let (now, _) = bottom_of_span.stated.as_ref()?;
                if !bottom_of_span.holds(now.si) {
                    return None;
                }
                let choice = other(sizing, SizedQuantity::TopOfSpan, field.place)?;
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
            StatedAs::Limit(field, limit) => {
                let choice = other(sizing, SizedQuantity::Limit, field.place)?;
                let mut text = format!("limit {} {}", limit.level.word(), choice.amount.shown);
                if let Some(severity) = limit.severity {
                    text = format!("{text} {}", severity.word());
                }
                let deadband = figure(sizing, SizedQuantity::Deadband).and_then(|deadband| deadband.choice.as_ref());
                let deadband = deadband.map(|choice| choice.amount.shown.clone());
                if let Some(deadband) = deadband.or_else(|| Some(limit.deadband?.to_string())) {
                    text = format!("{text} deadband {deadband}");
                }
                (field.place.range, text, &choice.why)
            }
            StatedAs::Single(field, what) => {
                let choice = other(sizing, *what, field.place)?;
                let text = format!("{} {}", field.spec.key.word(), choice.amount.shown);
                (field.place.range, text, &choice.why)
            }
            StatedAs::OfRun(range, what) => {
                // The conductor is chosen for the recommended fuse, and the fuse for the stated conductor. Each alone
                // is correct only if the other stays.
                let chosen = figure(sizing, *what)?;
                let fuse = figure(sizing, SizedQuantity::Fuse)?;
                if *what != SizedQuantity::Fuse && !is_kept(fuse) {
                    return None;
                }
                // Do not offer a fuse if it is not known whether the conductor can carry it.
                if *what == SizedQuantity::Fuse && !chosen.missing.is_empty() {
                    return None;
                }
                let choice = chosen.choice.as_ref().filter(|choice| chosen.holds(choice.amount.si))?;
                let (now, place) = chosen.stated.as_ref()?;
                if place.range != *range || now.shown == choice.amount.shown {
                    return None;
                }
                (*range, choice.amount.shown.clone(), &choice.why)
            }
            StatedAs::OfTube(place) => {
                let choice = other(sizing, SizedQuantity::Bore, *place)?;
                (place.range, format!("{} bore", choice.amount.shown), &choice.why)
            }
        };
        let edit = Edit {
            range,
            replacement: text.clone(),
        };
        Some(Proposal::new(format!("Take `{text}`: {why}"), vec![edit]))
    }
}

fn figure(sizing: &Sizing, what: SizedQuantity) -> Option<&SizedFigure> {
    sizing.figures.iter().find(|figure| figure.what == what)
}

/// Whether the recommended value of a figure is the stated one.
fn is_kept(figure: &SizedFigure) -> bool {
    let (now, choice) = (figure.stated.as_ref(), figure.choice.as_ref());
    now.zip(choice)
        .is_some_and(|((now, _), choice)| now.shown == choice.amount.shown)
}

/// The recommended value of a figure stated at a place, if different.
fn other(sizing: &Sizing, what: SizedQuantity, place: Place) -> Option<&Choice> {
    let figure = figure(sizing, what)?;
    let (now, stated) = figure.stated.as_ref()?;
    let choice = figure.choice.as_ref()?;
    (*stated == place && now.shown != choice.amount.shown).then_some(choice)
}
