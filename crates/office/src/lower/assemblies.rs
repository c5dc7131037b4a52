//! Finds the assemblies that a file places and the routes that it uses, and adds their contents to the office.

use std::rc::Rc;
use std::sync::Arc;

use drysheath_syntax::{self as syntax, Block, Statement, StatementKind, Tree};
use drysheath_text::{FileId, Place, TextRange};

use super::Lowering;
use super::inherit::inherit;
use super::uses::{PartLookup, PartsWithinReach};
use crate::drawing::{Drawing, NAME_SEPARATOR, PlacedDrawing};
use crate::embedding::names;
use crate::kinds::{Key, KeySet, Kind, KindId, field};
use crate::model::{Office, StatedRange, Thing, ThingId};
use crate::parts::{Part, PartsSource};
use crate::problem::{Problem, ProblemId};
use crate::spelling::{nearest, with_article};
use crate::value::{Field, Fields, Value};

/// The fields of an assembly that apply to all things in it.
const FOR_ALL: [Key; 3] = [Key::Room, Key::Location, Key::Stage];

/// The kinds that a route consists of.
const OF_ROUTES: [KindId; 3] = [KindId::Cable, KindId::AirPipe, KindId::Lead];

/// The kinds in the file of a route, and the one that is put there by mistake.
const OF_ROUTES_FILES: [KindId; 5] = [
    KindId::Route,
    KindId::Office,
    KindId::Cable,
    KindId::AirPipe,
    KindId::Lead,
];

/// An assembly that a statement places or a route that is used, with its lowered drawing.
pub(super) struct Placement<'t> {
    /// The statement that places an assembly. `None` for a route.
    by: Option<(&'t Statement, &'t syntax::Thing)>,
    drawn: Rc<Office>,
    placed: PlacedDrawing,
}

/// The statement that makes a file the drawing of an assembly or the description of a route: its first one of either
/// kind, which should follow directly after the `use` statements. A file that also describes an office is not a
/// drawing.
pub(super) fn head(tree: &Tree, text: &str) -> Option<TextRange> {
    let kind_of = |statement: &Statement| match &statement.kind {
        StatementKind::Thing(thing) => kind_of(thing, tree, text),
        _ => None,
    };
    let is_head = |statement: &Statement, kind: KindId| {
        let is_placed = matches!(&statement.kind, StatementKind::Thing(thing) if thing.part.is_some());
        !is_placed && kind_of(statement) == Some(kind)
    };
    let things = || tree.statements.iter().filter(|other| is_thing(other));
    let office = things().position(|other| kind_of(other) == Some(KindId::Office));
    let has_others = things().any(|other| kind_of(other).is_some_and(|kind| !OF_ROUTES_FILES.contains(&kind)));
    // Nearly every file ends here.
    if office == Some(0) && has_others {
        return None;
    }
    let route = things().position(|other| is_head(other, KindId::Route));
    let assembly = things().position(|other| is_head(other, KindId::Assembly));
    let found = match (route, assembly, office) {
        // A route's file contains only cables: with other equipment it is an office, where a route is misplaced.
        (Some(route), _, Some(_)) => Some(route).filter(|_| !has_others),
        (_, Some(assembly), Some(office)) => Some(assembly).filter(|assembly| *assembly == 0 && office > 0),
        (route, assembly, None) => [route, assembly].into_iter().flatten().min(),
        (None, None, Some(_)) => None,
    };
    if found.is_some() {
        return found.and_then(|at| things().nth(at)).map(|statement| statement.range);
    }
    // A misspelt first word may be meant as one of these; the file is not checked further until that is corrected.
    let first = tree.statements.iter().find(|other| !comes_before(other))?;
    let is_misspelt = is_thing(first) && kind_of(first).is_none();
    (is_misspelt && office.is_none()).then_some(first.range)
}

fn is_thing(statement: &Statement) -> bool {
    matches!(statement.kind, StatementKind::Thing(_))
}

/// Whether a statement may precede the head of a drawing: `use` statements and parts. An unreadable statement is no
/// head, since the head of an office is a thing, however damaged.
fn comes_before(statement: &Statement) -> bool {
    matches!(
        statement.kind,
        StatementKind::Use(_) | StatementKind::Part(_) | StatementKind::Unreadable
    )
}

fn kind_of(thing: &syntax::Thing, tree: &Tree, text: &str) -> Option<KindId> {
    Kind::find(tree.range(thing.kind?).of(text)).map(|kind| kind.id)
}

/// The assemblies that a file places, in order, then the routes that it uses. Assemblies that cannot be found are
/// reported where their things are read.
pub(super) fn placements<'t>(
    tree: &'t Tree,
    path: &str,
    text: &str,
    office: &Office,
    parts: &PartsWithinReach<'_>,
    library: &dyn PartsSource,
) -> Vec<Placement<'t>> {
    let mut drawn: Vec<(Arc<Drawing>, Rc<Office>)> = Vec::new();
    let mut placements = Vec::new();
    let mut place = |(drawing, part): (Arc<Drawing>, Arc<Part>), name: TextRange, prefix: String, by| {
        let known = drawn.iter().find(|(known, _)| Arc::ptr_eq(known, &drawing));
        let known = known.map(|(_, known)| Rc::clone(known));
        let known = known.unwrap_or_else(|| {
            let office = Rc::new(drawing.lower(library));
            drawn.push((Arc::clone(&drawing), Rc::clone(&office)));
            office
        });
        let uses = known.uses.iter().map(|used| used.value.clone()).collect();
        placements.push(Placement {
            by,
            placed: PlacedDrawing::new(name, prefix, part, &drawing, uses, names(&known)),
            drawn: known,
        });
    };
    for statement in &tree.statements {
        let StatementKind::Thing(thing) = &statement.kind else {
            continue;
        };
        let (Some(KindId::Assembly), Some(name), Some(part)) = (kind_of(thing, tree, text), thing.name, thing.part)
        else {
            continue;
        };
        let taken = tree.range(part);
        let PartLookup::Part(part) = parts.look_up_part(taken.of(text), taken, office) else {
            continue;
        };
        let Some(drawing) = parts.drawing(&part) else { continue };
        let name = tree.range(name);
        let prefix = format!("{}{NAME_SEPARATOR}", name.of(text));
        place((drawing, part), name, prefix, Some((statement, thing)));
    }
    for (at, used) in office.uses.iter().enumerate() {
        let is_first = !office.uses.iter().take(at).any(|earlier| earlier.value == used.value);
        if let Some(route) = parts.route(&used.value).filter(|_| is_first) {
            place(route, used.range, String::new(), None);
        }
    }
    for Placement { placed, .. } in &mut placements {
        let end = placed.part.fields.field(Key::To).map(|field| &field.value);
        placed.ends_here = matches!(end, Some(Value::Path(end)) if **end == *path);
    }
    placements
}

/// The text of an office, followed by the texts of its drawings.
pub(super) fn with_drawn(text: &Arc<str>, placements: &mut [Placement<'_>]) -> Arc<str> {
    if placements.is_empty() {
        return Arc::clone(text);
    }
    let mut whole = text.to_string();
    for Placement { placed, drawn, .. } in placements {
        placed.embedding.write(&drawn.text, &mut whole);
    }
    whole.into()
}

/// Whether a field of an assembly is about a thing in it rather than about the assembly.
pub(super) fn is_of_thing_within(kind: &Kind, written: &syntax::Field, tree: &Tree, text: &str) -> bool {
    kind.id == KindId::Assembly
        && written.block.is_some()
        && field(kind.fields, tree.range(written.name).of(text)).is_none()
}

/// The block of a declaration without fields for things inside.
pub(super) fn without_things_within(kind: &Kind, block: &Block, tree: &Tree, text: &str) -> Block {
    let mut block = block.clone();
    block
        .fields
        .retain(|written| !is_of_thing_within(kind, written, tree, text));
    block
}

impl<'r> Lowering<'r> {
    /// Reports statements that do not belong in this sort of file.
    pub(super) fn misplaced(&mut self) {
        let head = self.office.drawn_as().map(|part| part.kind.id);
        self.head_not_first(head);
        let file = match head {
            Some(KindId::Route) => "this file describes a route, which cannot hold",
            Some(_) => "this file draws an assembly, which cannot hold",
            None => "an office cannot hold",
        };
        for statement in &self.tree.statements {
            if Some(statement.range) == self.office.drawing {
                continue;
            }
            if let Some((what, help)) = self.misplaced_below(head, statement) {
                let message = format!("{file} {what}");
                let problem = Problem::new(ProblemId::StatementMisplaced, statement.range, message);
                self.office.problems.push(problem.help(help));
            }
        }
    }

    /// A statement that does not belong in a file with this head, or in that of an office: its name and advice.
    fn misplaced_below(&self, head: Option<KindId>, statement: &Statement) -> Option<(String, &'static str)> {
        let thing = match &statement.kind {
            StatementKind::Thing(thing) => thing,
            StatementKind::Accept(_) if head.is_some() => {
                return Some(("an acceptance".to_owned(), "write it in the office"));
            }
            StatementKind::Reading(_) if head.is_some() => {
                return Some(("a reading".to_owned(), "write it in the office where it was taken"));
            }
            StatementKind::When(_) if head.is_some() => {
                return Some(("what must hold in a state".to_owned(), "write it in the office"));
            }
            _ => return None,
        };
        let kind = Kind::find(self.word(thing.kind?))?;
        let help = match (head, kind.id) {
            (Some(KindId::Route), kind) if OF_ROUTES.contains(&kind) => return None,
            (Some(KindId::Route), KindId::Office) => "give the office a file of its own, which uses the route",
            (Some(_), KindId::Office) => "give the office a file of its own, which places the assembly",
            (Some(KindId::Route), _) => {
                "a route is made of cables, air pipes and leads: declare it in the office where it is"
            }
            (Some(_), KindId::Assembly | KindId::Route) => "write it in the office that places the assembly",
            (None, KindId::Route) => {
                "describe the route in a file of its own, with this statement first, and `use` that"
            }
            _ => return None,
        };
        Some((with_article(kind.word()), help))
    }

    /// Reports statements before the one that makes the file a drawing.
    fn head_not_first(&mut self, head: Option<KindId>) {
        let Some(head) = head else { return };
        // Unreadable text may belong there.
        let is_read = |statement: &Statement| match &statement.kind {
            StatementKind::Thing(thing) => !statement.damaged && kind_of(thing, self.tree, self.text).is_some(),
            _ => !statement.damaged,
        };
        let mut statements = self.tree.statements.iter();
        let before = statements.find(|statement| !comes_before(statement) && is_read(statement));
        let Some(before) = before.filter(|before| Some(before.range) != self.office.drawing) else {
            return;
        };
        let Some(part) = self.office.drawn_as() else { return };
        let (what, place) = match head {
            KindId::Route => ("the route", part.place),
            _ => ("the assembly", part.place),
        };
        let message = format!("{what} `{}` is not named first in its file", part.name);
        let first = self.office.place(before.range);
        let problem = Problem::new(ProblemId::StatementMisplaced, place.range, message)
            .related(first, "what comes before it")
            .help("move this statement to the top of the file, below what the file uses");
        self.office.problems.push(problem);
    }

    /// Adds the things of placed assemblies to the office.
    pub(super) fn place(&mut self, placements: &mut [Placement<'r>]) {
        for placement in placements {
            let assembly = match placement.by {
                Some((statement, _)) => match self.office.declared_at(statement.range) {
                    Some(assembly) => Some(assembly),
                    None => continue,
                },
                None => None,
            };
            let mut within = self.things_within(placement);
            let first = self.office.things.len();
            placement.placed.thing = assembly;
            placement.placed.things = ThingId::from(first)..ThingId::from(first + placement.drawn.things.len());
            for (id, drawn) in placement.drawn.things() {
                let own = within.iter().position(|(known, ..)| *known == id);
                let (own, is_damaged) = own.map_or_else(
                    || (Vec::new(), false),
                    |at| {
                        let (_, fields, damaged) = within.swap_remove(at);
                        (fields, damaged)
                    },
                );
                let mut thing = self.placed_thing(placement, drawn, own);
                // A field of one thing may have been lost in that of another.
                thing.damaged |= is_damaged || placement.is_damaged();
                if let Some(assembly) = assembly {
                    self.take_from_assembly(&mut thing, assembly, placement.drawn.name(id));
                }
                let name = placement.placed.embedding.name_of(placement.drawn.name(id));
                if placement.placed.is_route() {
                    self.named_by_route(&name, placement, drawn.name);
                }
                let id = self.office.things.push(thing);
                self.office.names.entry(name).or_insert(id);
            }
            let unsure = placement.drawn.unsure;
            self.office.unsure.join(unsure);
            self.office.taken.extend(placement.drawn.taken.iter().cloned());
            if placement.placed.is_route() {
                self.office.taken.push(placement.placed.part.name.clone());
            }
            self.office.placed.push(placement.placed.clone());
        }
    }

    /// Reports a name that a route also has. `drawn` is its place in the file of the route.
    fn named_by_route(&mut self, name: &str, placement: &Placement<'_>, drawn: TextRange) {
        let Some(other) = self.office.named(name) else { return };
        let range = self.office.own_range(self.office.thing(other).name);
        let route = &placement.placed.part.name;
        let place = Place {
            file: placement.placed.file,
            range: drawn,
        };
        let message = format!("the name `{name}` is already taken by a thing of the route `{route}`");
        let problem = Problem::new(ProblemId::NameTwice, range, message);
        self.office.problems.push(
            problem
                .related(place, "the thing of the route")
                .help("rename one of the two"),
        );
    }

    /// Fields of things in an assembly that are stated where it is placed, each with whether some of them cannot be
    /// read.
    fn things_within(&mut self, placement: &Placement<'r>) -> Vec<(ThingId, Vec<Field>, bool)> {
        let mut within = Vec::new();
        let Some(kind) = Kind::find(KindId::Assembly.into()) else {
            return within;
        };
        let block = placement.by.and_then(|(_, thing)| thing.block.as_ref());
        for written in block.into_iter().flat_map(|block| &block.fields) {
            let Some(inner) = written.block.as_ref() else { continue };
            if !is_of_thing_within(kind, written, self.tree, self.text) {
                continue;
            }
            let name = self.tree.range(written.name);
            let Some(id) = placement.drawn.named(name.of(self.text)) else {
                self.unknown_within(name, placement);
                continue;
            };
            let Some(kind) = placement.drawn.thing(id).kind else {
                continue;
            };
            if within.iter().any(|(known, ..)| *known == id) {
                let message = format!("`{}` has a second block in this assembly", name.of(self.text));
                let problem = Problem::new(ProblemId::FieldTwice, name, message);
                self.office.problems.push(problem.help("write both into one block"));
                continue;
            }
            let (fields, damaged) = self.fields_of(kind, Some(name), inner, written.damaged);
            within.push((id, fields, damaged));
        }
        within
    }

    fn unknown_within(&mut self, name: TextRange, placement: &Placement<'_>) {
        let written = name.of(self.text);
        let drawn = &placement.drawn;
        if drawn.unsure.names {
            return;
        }
        let known: Vec<&str> = drawn.things().map(|(id, _)| drawn.name(id)).collect();
        let assembly = placement.placed.name.of(self.text);
        let message = format!("there is no thing `{written}` in the assembly `{assembly}`");
        let problem = Problem::new(ProblemId::FieldUnknown, name, message);
        self.office
            .problems
            .push(match nearest(written, known.iter().copied()) {
                Some(near) => problem.meant(near),
                None => problem.help(format!("its things are {}", known.join(", "))),
            });
    }

    /// Converts a thing of a drawing to the office. `own` are the fields that the office states for it.
    fn placed_thing(&self, placement: &Placement<'_>, drawn: &Thing, mut own: Vec<Field>) -> Thing {
        let file = placement.drawn.file;
        let mut fields = drawn.fields.clone();
        for field in &mut fields {
            self.place_field(field, placement, file);
        }
        inherit(&mut own, &fields);
        Thing {
            kind: drawn.kind,
            name: placement.placed.embedding.placed(drawn.name),
            range: placement.placed.embedding.placed(drawn.range),
            part: drawn.part.clone(),
            base: drawn.base.clone(),
            fields: own,
            keys: KeySet::ALL,
            damaged: drawn.damaged,
        }
    }

    /// Moves a field of a drawing to its place in the office. Fields from a part stay at the part.
    fn place_field(&self, field: &mut Field, placement: &Placement<'_>, file: FileId) {
        let is_drawn = field.place.file == file;
        let placed = |range: &mut TextRange| {
            if is_drawn {
                *range = placement.placed.embedding.placed(*range);
            }
        };
        placed(&mut field.place.range);
        if is_drawn {
            field.place.file = self.office.file;
        }
        let place_thing = |thing: ThingId| placement.placed.thing(thing);
        match &mut field.value {
            Value::Named { place, fields, .. } => {
                if place.file == file {
                    place.range = placement.placed.embedding.placed(place.range);
                    place.file = self.office.file;
                }
                for field in fields {
                    self.place_field(field, placement, file);
                }
            }
            Value::Group(fields) => {
                for field in fields {
                    self.place_field(field, placement, file);
                }
            }
            Value::At(at) => {
                placed(&mut at.name);
                at.thing = at.thing.map(place_thing);
            }
            Value::Thing(other) => {
                placed(&mut other.range);
                if let Some(thing) = other.thing {
                    other.thing = Some(place_thing(thing));
                    other.name = placement.placed.embedding.name_of(&other.name);
                }
            }
            Value::Record(recorded) => placed(&mut recorded.range),
            Value::FormerName(name) if is_drawn => *name = placement.placed.embedding.name_of(name),
            _ => {}
        }
    }

    /// Adds fields of an assembly to its things, unless they state their own.
    fn take_from_assembly(&self, thing: &mut Thing, assembly: ThingId, name: &str) {
        let said = &self.office.thing(assembly).fields;
        let has = |field: &&Field| {
            thing
                .kind
                .is_some_and(|kind| kind.fields.iter().any(|own| own.key == field.spec.key))
        };
        let for_all = said
            .iter()
            .filter(|field| FOR_ALL.contains(&field.spec.key))
            .filter(has);
        let new: Vec<Field> = for_all.filter(|field| !thing.has(field.spec.key)).cloned().collect();
        thing.fields.extend(new);
        let formerly = said.iter().filter_map(|field| match &field.value {
            Value::FormerName(former) => Some(Field {
                value: Value::FormerName(format!("{former}{NAME_SEPARATOR}{name}").into()),
                ..field.clone()
            }),
            _ => None,
        });
        thing.fields.extend(formerly);
    }

    /// Adds the runs of placed assemblies to the office.
    pub(super) fn place_runs(&mut self, placements: &[Placement<'r>]) {
        for Placement { drawn, placed, .. } in placements.iter().filter(|placement| placement.is_there()) {
            self.office.runs.extend(
                drawn
                    .runs
                    .iter()
                    .map(|run| placed.embedding.run(run, |thing| placed.thing(thing))),
            );
        }
    }

    /// Adds spare, assigned and defective numbers of placed assemblies to the office.
    pub(super) fn place_rest(&mut self, placements: &[Placement<'r>]) {
        for Placement { drawn, placed, .. } in placements.iter().filter(|placement| placement.is_there()) {
            let spares = drawn.spares.iter().map(|spare| {
                let mut spare = *spare;
                spare.end = placed.embedding.end(spare.end, |thing| placed.thing(thing));
                spare.range = placed.embedding.placed(spare.range);
                spare
            });
            self.office.spares.extend(spares);
            let place = |stated: &StatedRange| {
                let mut stated = stated.clone();
                stated.end = placed.embedding.end(stated.end, |thing| placed.thing(thing));
                stated.range = placed.embedding.placed(stated.range);
                stated
            };
            self.office.stated.extend(drawn.stated.iter().map(place));
            self.office.wired.extend(drawn.wired.iter().map(place));
        }
    }
}

impl Placement<'_> {
    /// Whether part of the placing statement could not be read.
    fn is_damaged(&self) -> bool {
        self.by.is_some_and(|(statement, thing)| {
            let fields = thing.block.iter().flat_map(|block| &block.fields);
            statement.damaged || fields.clone().any(|field| field.damaged)
        })
    }

    /// Whether its things have been added to the office.
    fn is_there(&self) -> bool {
        !self.placed.things.is_empty()
    }
}
