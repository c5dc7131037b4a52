//! Finds the assemblies that a file places and the routes that it uses, and brings what is described of them into the office.

use std::collections::BTreeSet;
use std::rc::Rc;
use std::sync::Arc;

use drysheath_syntax::{self as syntax, Block, Statement, StatementKind, Tree};
use drysheath_text::{FileId, Place, TextRange};

use super::Lowering;
use super::taking_over::take_over;
use super::uses::{Called, PartsWithinReach};
use crate::drawing::{Drawing, Placed, WITHIN};
use crate::kinds::{Key, Kind, KindId, field};
use crate::model::{Adapter, Attributes, End, Office, Run, Spanned, StatedRange, Thing, ThingId};
use crate::parts::{Part, PartsSource};
use crate::problem::{Problem, ProblemId};
use crate::spelling::{nearest, with_article};
use crate::value::{Field, Fields, Value};

/// The fields of an assembly that hold for all things in it.
const FOR_ALL: [Key; 3] = [Key::Room, Key::Location, Key::Stage];

/// The kinds that a route is made of.
const OF_ROUTES: [KindId; 3] = [KindId::Cable, KindId::AirPipe, KindId::Lead];

/// An assembly that a statement places, or a route that is used, and what is described of it.
pub(super) struct Placement<'t> {
    /// The statement that places an assembly.
    by: Option<(&'t Statement, &'t syntax::Thing)>,
    drawn: Rc<Office>,
    placed: Placed,
}

/// The statement that makes a file the drawing of an assembly or the description of a route: its first one after what it uses, where
/// the file has no office.
pub(super) fn head(tree: &Tree, text: &str) -> Option<TextRange> {
    let has_kind = |statement: &Statement, kind: KindId| match &statement.kind {
        StatementKind::Thing(thing) => thing.kind.is_some_and(|word| is_kind(tree.range(word).of(text), kind)),
        _ => false,
    };
    let mut statements = tree.statements.iter();
    // What cannot be read at all before it is no head: that of an office is a thing, however damaged.
    let is_before = |statement: &&Statement| {
        !matches!(
            statement.kind,
            StatementKind::Use(_) | StatementKind::Part(_) | StatementKind::Unreadable
        )
    };
    let first = statements.find(is_before)?;
    let is_head = match &first.kind {
        StatementKind::Thing(thing) => thing.part.is_none(),
        _ => false,
    };
    // A first word that is misspelt may have been one of these; nothing is asked of the file until that is right.
    let is_misspelt = match &first.kind {
        StatementKind::Thing(thing) => thing
            .kind
            .is_none_or(|word| Kind::find(tree.range(word).of(text)).is_none()),
        _ => false,
    };
    if is_misspelt && !statements.clone().any(|other| has_kind(other, KindId::Office)) {
        return Some(first.range);
    }
    let is_drawing = is_head
        && [KindId::Assembly, KindId::Route]
            .iter()
            .any(|kind| has_kind(first, *kind))
        && !statements.any(|other| has_kind(other, KindId::Office));
    is_drawing.then_some(first.range)
}

fn is_kind(word: &str, kind: KindId) -> bool {
    Kind::find(word).is_some_and(|found| found.id == kind)
}

/// The assemblies that a file places, in the order of the file, and then the routes that it uses. Assemblies that cannot be found are
/// reported where their things are read.
pub(super) fn placements<'t>(
    tree: &'t Tree,
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
            placed: Placed::new(name, prefix, part, &drawing, uses, names(&known)),
            drawn: known,
        });
    };
    for statement in &tree.statements {
        let StatementKind::Thing(thing) = &statement.kind else {
            continue;
        };
        let (Some(kind), Some(name), Some(part)) = (thing.kind, thing.name, thing.part) else {
            continue;
        };
        if !is_kind(tree.range(kind).of(text), KindId::Assembly) {
            continue;
        }
        let taken = tree.range(part);
        let Called::Part(part) = parts.called(taken.of(text), taken, office) else {
            continue;
        };
        let Some(drawing) = parts.drawing(&part) else { continue };
        let name = tree.range(name);
        let prefix = format!("{}{WITHIN}", name.of(text));
        place((drawing, part), name, prefix, Some((statement, thing)));
    }
    for (at, used) in office.uses.iter().enumerate() {
        let is_first = !office.uses.iter().take(at).any(|earlier| earlier.value == used.value);
        if let Some(route) = parts.route(&used.value).filter(|_| is_first) {
            place(route, used.range, String::new(), None);
        }
    }
    placements
}

/// Where the names of things begin in the text of a drawing, in order.
fn names(drawn: &Office) -> Arc<[u32]> {
    let things = drawn.things.iter().map(|thing| thing.name.start);
    let start = |end: &End| end.thing.map(|_| end.range.start);
    let ends = drawn.runs.iter().flat_map(|run| &run.ends);
    let spares = drawn.spares.iter().map(|spare| &spare.end);
    let stated = drawn.stated.iter().chain(&drawn.wired).map(|stated| &stated.end);
    let ends = ends.chain(spares).chain(stated).filter_map(start);
    let places = drawn.things.iter().flat_map(|thing| &thing.fields);
    let places = places.filter(|field| field.place.file == drawn.file);
    let places = places.filter_map(|field| match &field.value {
        Value::At(at) => Some(at.name.start),
        Value::Thing(other) => other.thing.map(|_| other.range.start),
        _ => None,
    });
    // An adapter names its thing last.
    let adapters = drawn.runs.iter().flat_map(|run| &run.adapters);
    let adapters = adapters.filter_map(|adapter| {
        let name = drawn.thing(adapter.at?).name;
        Some(adapter.range.end - name.len())
    });
    let names: BTreeSet<u32> = things.chain(ends).chain(places).chain(adapters).collect();
    names.into_iter().collect()
}

/// The text of an office, followed by what is drawn of the assemblies that it places.
pub(super) fn with_drawn(text: &Arc<str>, placements: &mut [Placement<'_>]) -> Arc<str> {
    if placements.is_empty() {
        return Arc::clone(text);
    }
    let mut whole = text.to_string();
    for Placement { placed, drawn, .. } in placements {
        placed.write(&drawn.text, &mut whole);
    }
    whole.into()
}

/// Whether a field of an assembly says something of a thing in it, and nothing of the assembly.
pub(super) fn is_of_thing_within(kind: &Kind, written: &syntax::Field, tree: &Tree, text: &str) -> bool {
    kind.id == KindId::Assembly
        && written.block.is_some()
        && field(kind.fields, tree.range(written.name).of(text)).is_none()
}

/// The block of a declaration without what it says of things within it.
pub(super) fn without_things_within(kind: &Kind, block: &Block, tree: &Tree, text: &str) -> Block {
    let mut block = block.clone();
    block
        .fields
        .retain(|written| !is_of_thing_within(kind, written, tree, text));
    block
}

impl<'r> Lowering<'r> {
    /// Reports what a file of this sort cannot hold.
    pub(super) fn misplaced(&mut self) {
        let head = self.office.drawn_as().map(|part| part.kind.id);
        for statement in &self.tree.statements {
            if Some(statement.range) == self.office.drawing {
                continue;
            }
            let kind = match &statement.kind {
                StatementKind::Thing(thing) => thing.kind.and_then(|word| Kind::find(self.word(word))),
                _ => None,
            };
            let misplaced = match (head, &statement.kind) {
                (Some(KindId::Route), StatementKind::Thing(_)) => {
                    kind.filter(|kind| !OF_ROUTES.contains(&kind.id)).map(|kind| {
                        (
                            with_article(kind.word()),
                            "a route is made of cables, air pipes and leads: declare it in the office where it is",
                        )
                    })
                }
                (Some(_), StatementKind::Thing(_)) => kind
                    .filter(|kind| matches!(kind.id, KindId::Assembly | KindId::Route))
                    .map(|kind| {
                        (
                            with_article(kind.word()),
                            "write it in the office that places the assembly",
                        )
                    }),
                (None, StatementKind::Thing(_)) => kind.filter(|kind| kind.id == KindId::Route).map(|kind| {
                    (
                        with_article(kind.word()),
                        "describe the route in a file of its own, with this statement first, and `use` that",
                    )
                }),
                (Some(_), StatementKind::Accept(_)) => Some(("an acceptance".to_owned(), "write it in the office")),
                (Some(_), StatementKind::Reading(_)) => {
                    Some(("a reading".to_owned(), "write it in the office where it was taken"))
                }
                _ => None,
            };
            let Some((what, help)) = misplaced else { continue };
            let file = match head {
                Some(KindId::Route) => "this file describes a route, which cannot hold",
                Some(_) => "this file draws an assembly, which cannot hold",
                None => "an office cannot hold",
            };
            let problem = Problem::new(ProblemId::StatementMisplaced, statement.range, format!("{file} {what}"));
            self.office.problems.push(problem.help(help));
        }
    }

    /// Brings the things of placed assemblies into the office.
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
                // What is said of one thing may have been lost in what is said of another.
                thing.damaged |= is_damaged || placement.is_damaged();
                if let Some(assembly) = assembly {
                    self.take_from_assembly(&mut thing, assembly, placement.drawn.name(id));
                }
                let name = placement.placed.name_of(placement.drawn.name(id));
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

    /// Reports a name that a route has as well. `drawn` is where, in the file of the route.
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

    /// What the statement that places an assembly says of the things in it: their fields, and whether some cannot be read.
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

    /// A thing of a drawing as the office has it. `own` is what the office says of it.
    fn placed_thing(&self, placement: &Placement<'_>, drawn: &Thing, mut own: Vec<Field>) -> Thing {
        let file = placement.drawn.file;
        let mut fields = drawn.fields.clone();
        for field in &mut fields {
            self.place_field(field, placement, file);
        }
        take_over(&mut own, &fields);
        Thing {
            kind: drawn.kind,
            name: placement.placed.placed(drawn.name),
            range: placement.placed.placed(drawn.range),
            part: drawn.part.clone(),
            base: drawn.base.clone(),
            fields: own,
            damaged: drawn.damaged,
        }
    }

    /// Gives a field of a drawing its place in the office. What a part says stays where the part is.
    fn place_field(&self, field: &mut Field, placement: &Placement<'_>, file: FileId) {
        let is_drawn = field.place.file == file;
        let placed = |range: &mut TextRange| {
            if is_drawn {
                *range = placement.placed.placed(*range);
            }
        };
        placed(&mut field.place.range);
        if is_drawn {
            field.place.file = self.office.file;
        }
        let first = usize::from(placement.placed.things.start);
        let place_thing = |thing: ThingId| ThingId::from(first + usize::from(thing));
        match &mut field.value {
            Value::Named { place, fields, .. } => {
                if place.file == file {
                    place.range = placement.placed.placed(place.range);
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
                    other.name = placement.placed.name_of(&other.name);
                }
            }
            Value::Record(recorded) => placed(&mut recorded.range),
            Value::FormerName(name) if is_drawn => *name = placement.placed.name_of(name),
            _ => {}
        }
    }

    /// What holds for an assembly holds for its things, where they say nothing else.
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
                value: Value::FormerName(format!("{former}{WITHIN}{name}").into()),
                ..field.clone()
            }),
            _ => None,
        });
        thing.fields.extend(formerly);
    }

    /// Brings the runs of placed assemblies into the office.
    pub(super) fn place_runs(&mut self, placements: &[Placement<'r>]) {
        for Placement { drawn, placed, .. } in placements.iter().filter(|placement| placement.is_there()) {
            self.office.runs.extend(drawn.runs.iter().map(|run| placed.run(run)));
        }
    }

    /// Brings what is said to be spare, assigned or defective in placed assemblies into the office.
    pub(super) fn place_rest(&mut self, placements: &[Placement<'r>]) {
        for Placement { drawn, placed, .. } in placements.iter().filter(|placement| placement.is_there()) {
            let spares = drawn.spares.iter().map(|spare| {
                let mut spare = *spare;
                (spare.end, spare.range) = (placed.end(spare.end), placed.placed(spare.range));
                spare
            });
            self.office.spares.extend(spares);
            let place = |stated: &StatedRange| {
                let mut stated = stated.clone();
                (stated.end, stated.range) = (placed.end(stated.end), placed.placed(stated.range));
                stated
            };
            self.office.stated.extend(drawn.stated.iter().map(place));
            self.office.wired.extend(drawn.wired.iter().map(place));
        }
    }
}

impl Placement<'_> {
    /// Whether something in the statement that places it could not be read.
    fn is_damaged(&self) -> bool {
        self.by.is_some_and(|(statement, thing)| {
            let fields = thing.block.iter().flat_map(|block| &block.fields);
            statement.damaged || fields.clone().any(|field| field.damaged)
        })
    }

    /// Whether its things are in the office.
    fn is_there(&self) -> bool {
        !self.placed.things.is_empty()
    }
}

impl Placed {
    fn thing(&self, drawn: ThingId) -> ThingId {
        ThingId::from(usize::from(self.things.start) + usize::from(drawn))
    }

    fn end(&self, drawn: End) -> End {
        End {
            thing: drawn.thing.map(|thing| self.thing(thing)),
            range: self.placed(drawn.range),
            detail: self.placed(drawn.detail),
            colours: drawn.colours.map(|colours| self.placed(colours)),
            ..drawn
        }
    }

    fn run(&self, drawn: &Run) -> Run {
        let adapter = |adapter: &Adapter| Adapter {
            fitting: self.spanned(adapter.fitting),
            at: adapter.at.map(|thing| self.thing(thing)),
            range: self.placed(adapter.range),
        };
        Run {
            medium: drawn.medium,
            ends: drawn.ends.iter().map(|end| self.end(*end)).collect(),
            with: self.attributes(&drawn.with),
            then: drawn.then.iter().map(|piece| self.attributes(piece)).collect(),
            adapters: drawn.adapters.iter().map(adapter).collect(),
            range: self.placed(drawn.range),
            damaged: drawn.damaged,
        }
    }

    fn attributes(&self, drawn: &Attributes) -> Attributes {
        let spanned = |stated: Option<_>| stated.map(|stated| self.spanned(stated));
        Attributes {
            length: spanned(drawn.length),
            gauge: spanned(drawn.gauge),
            fuse: spanned(drawn.fuse),
            limit: spanned(drawn.limit),
            tube: spanned(drawn.tube),
            bore: spanned(drawn.bore),
            reducer: drawn.reducer.map(|reducer| self.placed(reducer)),
            damaged: drawn.damaged,
        }
    }

    fn spanned<T>(&self, drawn: Spanned<T>) -> Spanned<T> {
        Spanned {
            value: drawn.value,
            range: self.placed(drawn.range),
        }
    }
}
