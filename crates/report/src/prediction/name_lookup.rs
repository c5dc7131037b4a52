//! Resolves the name in a question on how a figure is computed: any name that an output prints, such as `p1 pressure`,
//! `m1 sensor 3`, `c101 3.2 km`, `c101 branch side section s2` or `d1 -> r1`.

use drysheath_engineering::units::{Dimension, find};
use drysheath_office::kinds::{Key, KindId, Port};
use drysheath_office::{Fields, Office, Terminal, ThingId, printed};
use drysheath_prediction::{Line, control_paths, signal_paths};

use super::compose::OfficeView;
use super::how::Explanation;
use super::record::line_as_asked;

/// Printed distances are rounded, so they may exceed the length by this fraction.
const LENGTH_TOLERANCE: f64 = 0.01;

/// The object that a name refers to.
pub(super) enum NamedTarget<'v> {
    /// A thing, possibly through one of its signals.
    Thing(ThingId),
    /// A place along a cable, branch or pipe, in metres from its beginning.
    Along(&'v Line, f64),
}

/// Resolves a name. A run is named by both of its ends, and explained at the second.
///
/// # Errors
///
/// [`Explanation::Unknown`] if no output prints it, [`Explanation::Several`] if tables print it for several places.
pub(super) fn meant<'v>(view: &OfficeView<'v>, name: &str) -> Result<NamedTarget<'v>, Explanation> {
    match named(view, name).or_else(|| run(view, name)) {
        Some(found) => Ok(found),
        None => place_alone(view, name.trim()),
    }
}

/// The second end of a run.
fn run<'v>(view: &OfficeView<'v>, name: &str) -> Option<NamedTarget<'v>> {
    // A title may also contain an arrow.
    name.match_indices("->").find_map(|(at, arrow)| {
        let (from, to) = (name.get(..at)?, name.get(at + arrow.len()..)?);
        let piece = to
            .rsplit_once(", piece ")
            .filter(|(_, number)| number.parse::<u32>().is_ok());
        let to = piece.map_or(to, |(to, _)| to);
        named(view, from).and_then(|_| named(view, to))
    })
}

/// Resolves a place that is named without its cable, as in the cable's table: "end of s1".
fn place_alone<'v>(view: &OfficeView<'v>, name: &str) -> Result<NamedTarget<'v>, Explanation> {
    let lines = view.prediction.air.lines().iter();
    let places: Vec<(&Line, f64)> = lines
        .filter_map(|line| Some((line, point(view, line, name)?)))
        .collect();
    let whole = |(line, _): &(&Line, f64)| {
        let line = line_as_asked(view.office.name(line.thing), line.branch_name(view.office));
        format!("{line} {name}")
    };
    match places[..] {
        [] => Err(Explanation::Unknown),
        [(line, metres)] => Ok(NamedTarget::Along(line, metres)),
        _ => Err(Explanation::Several(places.iter().map(whole).collect())),
    }
}

/// Distance of a point of a line that its table names `what`: one of the things there, or all of them as printed.
fn point(view: &OfficeView<'_>, line: &Line, what: &str) -> Option<f64> {
    let mut points = view.points(line).into_iter();
    let is_it = |all: &str| all == what || all.split(", ").any(|one| one == what);
    points.find(|point| is_it(&point.what)).map(|point| point.distance_m)
}

/// Resolves the name of one end: a thing, or a port, signal or place of it.
fn named<'v>(view: &OfficeView<'v>, name: &str) -> Option<NamedTarget<'v>> {
    let office = view.office;
    let name = name.trim();
    // Search in the order of the file, since two damaged statements can have the same name.
    let called =
        |id: ThingId| office.name(id) == name || office.title(id) == Some(name) || office.name_and_title(id) == name;
    if let Some((id, _)) = office.things().find(|(id, _)| office.name(*id) == name) {
        return Some(NamedTarget::Thing(id));
    }
    if let Some((id, _)) = office.things().find(|(id, _)| called(*id)) {
        return Some(NamedTarget::Thing(id));
    }
    let (first, rest) = name.split_once(char::is_whitespace)?;
    let id = office.named(first)?;
    // Tables print the title after the name.
    let title = office.title(id).map(|title| format!("({title})"));
    let rest = title
        .and_then(|title| rest.trim_start().strip_prefix(&title))
        .unwrap_or(rest);
    let rest: Vec<&str> = rest.split_whitespace().collect();
    let thing = office.thing(id);
    if (thing.is(KindId::Cable) || thing.is(KindId::AirPipe))
        && let Some(place) = along(view, id, &rest)
    {
        return Some(place);
    }
    let (word, number) = (*rest.first()?, rest.get(1).copied());
    if let Some(device) = number.and_then(|number| device(view, id, word, number)) {
        return Some(NamedTarget::Thing(if office.has(device) { device } else { id }));
    }
    // A number beyond the port's range names nothing.
    let has_number = |port: &Port| {
        let rows = office.rows(id, port);
        number.is_none_or(|number| {
            let is_it = |(from, to): (u32, u32)| (from..=to).any(|one| printed(one).to_string() == number);
            rows.is_none_or(|rows| rows.iter().any(is_it))
        })
    };
    let ports = thing.kind.into_iter().flat_map(|kind| kind.ports);
    let has_port = ports.filter(|port| port.word == word).any(has_number);
    let has_signal = number.is_none() && office.signals(id).iter().any(|signal| signal.port.word == word);
    (has_port || has_signal || has_limit(office, id, &rest)).then_some(NamedTarget::Thing(id))
}

/// Whether a sensor has a limit of this level, for the signal named before it or for any.
fn has_limit(office: &Office, id: ThingId, words: &[&str]) -> bool {
    let (signal, level) = match words {
        [level] => (None, *level),
        [signal, level] => (Some(*signal), *level),
        _ => return false,
    };
    let signals = office.signals(id);
    let mut asked = signals
        .iter()
        .filter(|other| signal.is_none_or(|word| other.port.word == word));
    asked.any(|signal| signal.fields.limits().any(|(limit, _)| limit.level.word() == level))
}

/// Resolves a place on a cable or pipe: a branch, a section, a named place or a distance.
fn along<'v>(view: &OfficeView<'v>, id: ThingId, words: &[&str]) -> Option<NamedTarget<'v>> {
    let office = view.office;
    let (branch, words) = match words {
        ["branch", branch, rest @ ..] => (Some(*branch), rest),
        rest => (None, rest),
    };
    let mut lines = view.prediction.air.lines().iter();
    let line = lines.find(|line| line.thing == id && line.branch_name(office) == branch)?;
    let whole = words.join(" ");
    let metres = match (point(view, line, &whole), words) {
        (Some(metres), _) => metres,
        (None, []) => line.length()?,
        (None, ["section", section]) => {
            let explainer = view.explainer();
            let mut sections = explainer.sections(line);
            let found = sections.find(|air| air.stated.is_some_and(|(name, _)| name == *section))?;
            found.lowest.map_or(found.section.to, |(metres, _)| metres)
        }
        (None, ["place", place] | [place]) => {
            let mut places = office.thing(id).named(Key::Place);
            let (.., fields) = places.find(|(name, ..)| name == place)?;
            fields.quantity(Key::At)?.0.si()
        }
        (None, [value, unit]) => {
            let unit = find(unit).filter(|unit| unit.dimension == Dimension::Length)?;
            unit.to_si(value.parse().ok()?)
        }
        _ => return None,
    };
    let length = line.length()?;
    (0.0..=length * (1.0 + LENGTH_TOLERANCE))
        .contains(&metres)
        .then(|| NamedTarget::Along(line, metres.min(length)))
}

/// The device whose signal or control uses a numbered port: an input or output of a monitor, or a pair on the path.
fn device(view: &OfficeView<'_>, id: ThingId, word: &str, number: &str) -> Option<ThingId> {
    let is_it = |terminal: &Terminal| {
        terminal.thing == id && terminal.port.word == word && printed(terminal.number).to_string() == number
    };
    let wire = &view.merged().networks.wire;
    let signals = signal_paths(view.office, view.networks).map(|path| (path.signal.thing, path));
    let controls = control_paths(view.office, view.networks)
        .into_iter()
        .map(|path| (path.input.thing, path));
    let mut all = signals.chain(controls);
    let passes = |path: &drysheath_prediction::SignalPath| {
        is_it(&path.signal) || is_it(&path.input) || path.steps(wire).any(|(_, terminal)| is_it(terminal))
    };
    all.find(|(_, path)| passes(path)).map(|(device, _)| device)
}
