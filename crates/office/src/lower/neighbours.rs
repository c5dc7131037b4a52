//! Finds the offices that share routes with an office: their air and pairs form one network with its own.

use std::sync::Arc;

use drysheath_syntax::Medium;
use drysheath_text::TextRange;

use super::lower_alone;
use crate::drawing::{Drawing, PlacedDrawing};
use crate::kinds::{Key, KindId, Role};
use crate::model::{End, Office};
use crate::parts::{DOT_EXTENSION, PartsLookup, PartsSource};
use crate::problem::{Problem, ProblemId};
use crate::spelling::nearest;
use crate::value::{Field, Fields, Value};

/// Limit of offices computed together with one, nearest by routes first. Each is lowered again for each other one;
/// offices further away hardly affect pressures here.
const MOST: usize = 24;

/// The two ends of a route: the fields and the paths of the offices.
fn ends(fields: &[Field]) -> impl Iterator<Item = (&Field, &str)> {
    let keys = [Key::From, Key::To];
    keys.into_iter().filter_map(|key| {
        let field = fields.field(key)?;
        match &field.value {
            Value::Path(path) => Some((field, &**path)),
            _ => None,
        }
    })
}

/// Checks the ends of the route that a file describes.
pub(super) fn check_ends(path: &str, office: &mut Office, library: &dyn PartsSource) {
    let Some(route) = office.drawn_as().filter(|part| part.kind.id == KindId::Route) else {
        return;
    };
    let mut problems = Vec::new();
    let keys = [Key::From, Key::To].into_iter();
    let lacking: Vec<&str> = keys.filter(|key| !route.fields.has(*key)).map(Key::word).collect();
    let lacks = match lacking.as_slice() {
        [] => None,
        [only] => Some(format!("no `{only}`")),
        both => Some(format!("neither `{}`", both.join("` nor `"))),
    };
    if let Some(lacks) = lacks.filter(|_| !route.damaged) {
        let message = format!("route `{}` has {lacks}", route.name);
        let problem = Problem::new(ProblemId::FieldMissing, route.place.range, message);
        problems.push(problem.help("name the file of the office at each of its ends: `from offices/…, to offices/…`"));
    }
    let mut first = None;
    for (field, end) in ends(&route.fields) {
        let written = field.place.range.of(&office.text);
        let with_extension = written.ends_with(DOT_EXTENSION);
        let length = end.len() + if with_extension { DOT_EXTENSION.len() } else { 0 };
        let range = TextRange::new(
            field.place.range.end.saturating_sub(length as u32),
            field.place.range.end,
        );
        if with_extension {
            let message = format!("the path `{}` has an extension", range.of(&office.text));
            problems.push(Problem::new(ProblemId::RouteEnd, range, message).meant(end));
        }
        if first == Some(end) {
            let message = format!("both ends of this route are `{end}`");
            problems.push(
                Problem::new(ProblemId::RouteEnd, range, message).help("a route leads from one office to another"),
            );
            continue;
        }
        first = Some(end);
        let problem = match library.find(end) {
            PartsLookup::Found(file) if file.office().is_none() => Some(
                Problem::new(
                    ProblemId::RouteEnd,
                    range,
                    format!("`{end}.office` describes no office"),
                )
                .help("name the file of the office at this end"),
            ),
            PartsLookup::Found(file) if !file.uses.iter().any(|used| **used == *path) => Some(
                Problem::new(
                    ProblemId::RouteEnd,
                    range,
                    format!("the office in `{end}.office` does not use this route"),
                )
                .help(format!("add `use {path}` to it, and end the route's cables there")),
            ),
            PartsLookup::Found(_) => None,
            PartsLookup::Outside | PartsLookup::Missing => {
                let problem = Problem::new(
                    ProblemId::RouteEnd,
                    range,
                    format!("there is no file `{end}.office` in this repository"),
                );
                let folder = end.rsplit_once('/').map_or("", |(folder, _)| folder);
                let names = library.names_in(folder);
                Some(match nearest(end, names.iter().map(String::as_str)) {
                    Some(near) => Problem { range, ..problem }.meant(near),
                    None => problem.help("a path counts from the repository's root and has no extension"),
                })
            }
            PartsLookup::Unreadable(why) => Some(Problem::new(
                ProblemId::RouteEnd,
                range,
                format!("`{end}.office` cannot be read: {why}"),
            )),
        };
        problems.extend(problem);
    }
    office.problems.extend(problems);
}

/// The path of the office at the other end of a route from the one at `path`. `None` where `path` is neither end.
pub(crate) fn other_end<'p>(route: &'p PlacedDrawing, path: &str) -> Option<&'p str> {
    let mut ends = ends(&route.part.fields).map(|(_, end)| end);
    let (one, other) = (ends.next()?, ends.next()?);
    match (one == path, other == path) {
        (true, _) => Some(other),
        (_, true) => Some(one),
        (false, false) => None,
    }
}

/// Problems of runs that join a route's cables and pipes at the other office's end.
fn joined_at_wrong_end(path: &str, office: &Office, route: &PlacedDrawing) -> Vec<Problem> {
    let Some((_, from)) = ends(&route.part.fields).next() else {
        return Vec::new();
    };
    let is_start = from == path;
    let runs = office.runs.iter().filter(|run| office.is_own(run.range));
    let joined = runs.flat_map(|run| &run.ends).filter(|end| {
        let wrong = if is_start { Role::Outlet } else { Role::Inlet };
        let is_of_route = end.thing.is_some_and(|id| route.things.contains(&id));
        is_of_route
            && end
                .port
                .is_some_and(|port| port.medium == Medium::Air && port.role == wrong)
    });
    let problem = |end: &End| {
        let name = end.thing.map_or("", |id| office.name(id));
        let (message, help) = if is_start {
            (
                format!("this office is where `{name}` begins, and joins its far end"),
                format!("air comes into it at its beginning: `… -> {name}`; its far end is in the other office"),
            )
        } else {
            (
                format!("this office is where `{name}` ends, and joins its beginning"),
                format!("name its far end: `{name} end`; its beginning is in the other office"),
            )
        };
        Problem::new(ProblemId::RouteEnd, end.range, message)
            .related(route.part.place, "the route, whose `from` is where its cables begin")
            .help(help)
    };
    joined.map(problem).collect()
}

/// Finds the offices that share a route with `office`, directly or through others, and reports routes that do not lead
/// to it.
pub(super) fn join(path: &str, office: &mut Office, library: &dyn PartsSource) {
    let mut problems = Vec::new();
    let mut known: Vec<Box<str>> = vec![path.into()];
    // Routes to follow, each with the office that it leaves and the route of this office that leads there.
    let mut open: Vec<(Box<str>, PlacedDrawing, TextRange)> = Vec::new();
    let mut apart: Vec<(TextRange, Box<str>)> = Vec::new();
    for route in office.placed.iter().filter(|placed| placed.is_route()) {
        if ends(&route.part.fields).count() < 2 {
            // A route that lacks an end is reported in its own file; nothing is known of what is there.
            apart.push((route.name, Box::default()));
        }
        if ends(&route.part.fields).count() == 2 && other_end(route, path).is_none() {
            let message = format!("the route `{}` leads to other offices than this", route.part.name);
            let problem = Problem::new(ProblemId::RouteEnd, route.name, message);
            problems.push(problem.related(route.part.place, "the route").help(format!(
                "name this office, `{path}`, as one of its ends, or delete the line"
            )));
            continue;
        }
        open.push((path.into(), route.clone(), route.name));
        problems.extend(joined_at_wrong_end(path, office, route));
    }
    let mut joined: Vec<Arc<Office>> = Vec::new();
    let mut at = 0;
    while let Some((from, route, by)) = open.get(at).cloned().filter(|_| joined.len() < MOST) {
        at += 1;
        let Some(end) = other_end(&route, &from) else { continue };
        if known.iter().any(|known| **known == *end) {
            continue;
        }
        known.push(end.into());
        let found = match library.find(end) {
            // Otherwise reported in the file of the route.
            PartsLookup::Found(file) if file.uses.contains(&route.path) => file.office().cloned(),
            PartsLookup::Found(_) => continue,
            _ => None,
        };
        let Some(found) = found else {
            apart.push((by, end.into()));
            continue;
        };
        let other = neighbour(&found, library);
        if other.is_planned() && !office.is_planned() {
            office.neighbours_planned += 1;
            continue;
        }
        let routes = other.placed.iter().filter(|placed| placed.is_route());
        open.extend(routes.map(|route| (end.into(), route.clone(), by)));
        joined.push(Arc::new(other));
    }
    office.problems.extend(problems);
    office.neighbours = joined;
    office.apart = apart;
}

impl Office {
    /// Whether the office at the other end of a route is not computed with this one: it is planned or unreadable.
    pub fn is_apart(&self, route: &PlacedDrawing) -> bool {
        let end = other_end(route, &self.path);
        end.is_none_or(|end| !self.neighbours.iter().any(|other| *other.path == *end))
    }

    /// Whether a connection in a medium may exist over routes that could not be read, so that it cannot be reported
    /// missing.
    pub fn may_be_joined(&self, medium: Medium) -> bool {
        !self.apart.is_empty() || self.neighbours.iter().any(|other| other.unsure.about(medium))
    }

    /// Whether problems of a route's things are reported by the office at its other end: the one where the route begins
    /// reports.
    pub fn is_reported_elsewhere(&self, route: &PlacedDrawing) -> bool {
        let other = other_end(route, &self.path).filter(|_| route.ends_here);
        let other = other.and_then(|end| self.neighbours.iter().find(|other| *other.path == *end));
        other.is_some_and(|other| other.counts(self))
    }

    /// Whether another office on a shared route is computed with this one: not if only that one is planned.
    pub fn counts(&self, other: &Self) -> bool {
        self.is_planned() || !other.is_planned()
    }

    /// Whether this office rather than `other` reports problems between them, so that only one does.
    pub fn speaks_before(&self, other: &Self) -> bool {
        self.path < other.path || !other.counts(self)
    }
}

fn neighbour(office: &Drawing, library: &dyn PartsSource) -> Office {
    let alone = lower_alone(
        office.file,
        &office.path,
        Arc::clone(&office.text),
        &office.tree,
        library,
    );
    alone.present().unwrap_or(alone)
}
