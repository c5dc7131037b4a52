//! Converts statements to an office ("lowering"). This never fails: text that cannot be understood becomes a problem of
//! the office.

mod acceptances;
mod annotate;
mod annotations;
mod assemblies;
mod attributes;
mod candidates;
mod declarations;
mod end_problems;
mod ends;
mod fields;
mod inherit;
mod missing;
mod neighbours;
mod outdated;
mod places;
mod plausible;
mod quantities;
mod reader;
mod readings;
mod runs;
mod sections;
mod shapes;
mod signals;
mod states;
mod things;
mod tokens;
mod uses;

use std::cell::OnceCell;
use std::collections::BTreeSet;
use std::sync::{Arc, OnceLock};

use drysheath_engineering::index::IndexVec;
use drysheath_syntax::{self as syntax, Medium, Statement, StatementKind, TokenId, TokenKind, Tree};
use drysheath_text::FileId;
use rustc_hash::{FxBuildHasher, FxHashMap, FxHashSet};

use self::ends::EndReader;
use self::outdated::SaidByField;
use self::uses::{PartsWithinReach, leads_outside, outside};
use crate::drawing::PlacedDrawing;
use crate::excluded::Excluded;
use crate::kinds::Kind;
use crate::model::{Office, Spanned, ThingId};
use crate::parts::{DOT_EXTENSION, PartsSource};
use crate::problem::{Problem, ProblemId};
use crate::spelling::Suggestions;
use crate::unsure::Unsure;

pub use candidates::{Candidate, CountsFrom};
pub use ends::BINDING_WORDS;
pub(crate) use ends::bare_port;
pub(crate) use neighbours::other_end;
pub use quantities::quantity;
pub use states::{can_be_expected, possible_events};

/// Lowers the file `file` at `path`, which is relative to the repository's root and has no extension.
pub fn lower(file: FileId, path: &str, text: Arc<str>, tree: &Tree, library: &dyn PartsSource) -> Office {
    let mut office = lower_alone(file, path, text, tree, library);
    if office.drawing.is_some() {
        neighbours::check_ends(path, &mut office, library);
    } else if office.placed.iter().any(PlacedDrawing::is_route) {
        neighbours::join(path, &mut office, library);
    }
    office.problems.sort_by_key(|problem| (problem.range, problem.id));
    office
}

/// Lowers a file without its neighbouring offices.
pub(crate) fn lower_alone(file: FileId, path: &str, text: Arc<str>, tree: &Tree, library: &dyn PartsSource) -> Office {
    let source = Arc::clone(&text);
    let is_run = |statement: &&Statement| matches!(statement.kind, StatementKind::Run(_));
    let runs = tree.statements.iter().filter(is_run).count();
    let mut office = Office {
        file,
        path: path.into(),
        text,
        things: IndexVec::with_capacity(tree.statements.len() - runs),
        by_kind: Vec::new(),
        names: FxHashMap::with_capacity_and_hasher(tree.statements.len() / 2, FxBuildHasher),
        itself: None,
        runs: IndexVec::with_capacity(runs),
        spares: Vec::new(),
        stated: Vec::new(),
        wired: Vec::new(),
        acceptances: Vec::new(),
        readings: Vec::new(),
        whens: Vec::new(),
        unread_whens: Vec::new(),
        parts: Vec::new(),
        part_names: FxHashMap::default(),
        uses: Vec::new(),
        taken: Vec::new(),
        problems: tree.problems.iter().map(|problem| of_file(problem, file)).collect(),
        standard: library.standard(),
        excluded: Excluded::default(),
        unsure: Unsure {
            things: tree.statements.is_empty() && !tree.problems.is_empty(),
            ..Unsure::default()
        },
        drawing: assemblies::head(tree, &source),
        placed: Vec::new(),
        neighbours: Vec::new(),
        neighbours_planned: 0,
        temperatures_of_day: Vec::new(),
        apart: Vec::new(),
        imported: Vec::new(),
        in_air: OnceLock::new(),
        own_length: source.len() as u32,
    };
    if tree.cut {
        office.unsure.doubt_everything();
    }
    uses(&mut office, tree);
    let parts = PartsWithinReach::new(path, &office.uses, library, &mut office.problems);
    let mut placements = match office.drawing {
        Some(_) => Vec::new(),
        None => assemblies::placements(tree, path, &source, &office, &parts, library),
    };
    let whole = assemblies::with_drawn(&source, &mut placements);
    office.text = Arc::clone(&whole);
    let mut lowering = Lowering {
        text: &whole,
        tree,
        office: &mut office,
        may_be_names: Vec::new(),
        no_things: BTreeSet::new(),
        said_by_field: Vec::new(),
        taken: FxHashSet::default(),
        declared: OnceCell::new(),
        suggestions: Suggestions::default(),
    };
    lowering.parts(&parts);
    lowering.things(&parts);
    lowering.place(&mut placements);
    lowering.places();
    lowering.others();
    lowering.runs();
    lowering.place_runs(&placements);
    lowering.rest();
    lowering.place_rest(&placements);
    lowering.misplaced();
    lowering.office.index();
    lowering.office.excluded = Excluded::of(lowering.office, false);
    lowering.missing_fields();
    office
}

/// Converts a problem of the tree; all its related places are in the same file.
fn of_file(problem: &syntax::Problem, file: FileId) -> Problem {
    let mut problem = problem.clone().into_id();
    for related in &mut problem.related {
        related.place.file = file;
    }
    problem
}

/// Collects the paths that a file uses.
fn uses(office: &mut Office, tree: &Tree) {
    for statement in &tree.statements {
        if let Some(range) = leads_outside(statement.range, &office.text) {
            // The grammar does not cover such a path.
            let problem = outside(range.of(&office.text), range);
            let problems = &mut office.problems;
            problems.retain(|problem| !statement.range.contains(problem.range));
            problems.push(problem);
        }
        if let StatementKind::Use(used) = &statement.kind
            && let Some(path) = used.path.filter(|_| !statement.damaged)
        {
            let range = tree.range(path);
            let written = range.of(&office.text);
            let path = written.strip_suffix(DOT_EXTENSION).unwrap_or(written);
            if path != written {
                let message = format!("the path `{written}` has an extension");
                let problem = Problem::new(ProblemId::UseNotFound, range, message);
                office.problems.push(problem.meant(path));
            }
            office.uses.push(Spanned {
                value: path.into(),
                range,
            });
        }
    }
}

struct Lowering<'r> {
    text: &'r str,
    tree: &'r Tree,
    office: &'r mut Office,
    /// Words that may be names of things whose head could not be read.
    may_be_names: Vec<(&'r str, ThingId)>,
    /// Names of things that are used as parts.
    no_things: BTreeSet<Box<str>>,
    /// Numbers declared spare by fields of an earlier language.
    said_by_field: Vec<SaidByField>,
    /// Names of parts already recorded as used.
    taken: FxHashSet<&'r str>,
    /// Kind of the first thing declared by each name; computed on demand.
    declared: OnceCell<FxHashMap<&'r str, TokenId>>,
    suggestions: Suggestions,
}

impl<'r> Lowering<'r> {
    fn word(&self, word: TokenId) -> &'r str {
        self.tree.range(word).of(self.text)
    }

    fn end_reader(&self) -> EndReader<'_> {
        EndReader::new(self.office, None)
    }

    /// Whether a `use` could not be read, so that any part may be within reach.
    fn lost_use(&self) -> bool {
        self.tree.statements.iter().any(|statement| match &statement.kind {
            StatementKind::Unreadable => !self.only_accepts(statement) && self.only_runs(statement).is_none(),
            StatementKind::Use(_) => statement.damaged,
            StatementKind::Thing(thing) => thing.kind.map(|kind| self.word(kind)).is_none_or(|kind| {
                let is_kind = || Kind::find(kind).is_some();
                let says_use = thing.name.is_some_and(|name| self.word(name) == "use");
                (says_use && !is_kind()) || statement.damaged && (!is_kind() || self.joins_another(statement))
            }),
            _ => false,
        })
    }

    /// Whether a damaged thing includes the next statement because a line end is missing.
    fn joins_another(&self, statement: &Statement) -> bool {
        let items = self.tree.items(statement.items);
        let mut head = (0..)
            .zip(items)
            .take_while(|(_, token)| token.kind != TokenKind::OpenBrace);
        statement.damaged
            && head.any(|(at, token)| match at {
                0 => false,
                1 => token.kind.starts_statement(),
                _ => token.kind.starts_statement() || Kind::find(token.range.of(self.text)).is_some(),
            })
    }

    /// The medium of an unreadable statement that is certainly a run, so that nothing else can be missing with it.
    fn only_runs(&self, statement: &Statement) -> Option<Medium> {
        let items = self.tree.items(statement.items);
        let medium = match items.first()?.kind {
            TokenKind::Air => Medium::Air,
            TokenKind::Wire => Medium::Wire,
            TokenKind::Power => Medium::Power,
            TokenKind::Ground => Medium::Ground,
            _ => return None,
        };
        let is_brace = |kind| matches!(kind, TokenKind::OpenBrace | TokenKind::CloseBrace);
        let is_run = items.iter().any(|token| token.kind == TokenKind::Arrow)
            && !items.iter().any(|token| is_brace(token.kind))
            && !self.swallows(statement);
        is_run.then_some(medium)
    }

    /// Whether this statement may include another one because a line end is missing.
    fn swallows(&self, statement: &Statement) -> bool {
        let mut rest = self.tree.items(statement.items).iter().skip(1);
        rest.any(|token| token.kind.starts_statement())
    }
}
