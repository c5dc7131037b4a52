//! Finds the files and parts that a file uses.

use std::collections::BTreeSet;
use std::sync::Arc;

use drysheath_syntax::Fix;
use drysheath_text::TextRange;
use rustc_hash::FxHashSet;

use crate::drawing::Drawing;
use crate::kinds::KindId;
use crate::model::{Office, Spanned};
use crate::parts::{Part, PartsFile, PartsLookup, PartsSource};
use crate::problem::{Problem, ProblemId};
use crate::spelling::{Suggestions, nearest};

/// Limit of files read for one file: more is a mistake, and a chain of them must not cost the square of its length.
const MOST_WITHIN_REACH: usize = 250;

/// The files of parts that a file can reach.
pub(super) struct PartsWithinReach<'l> {
    library: &'l dyn PartsSource,
    /// Path of that file.
    own: Box<str>,
    files: Vec<ReachedFile>,
    /// Whether some file or part could not be read, so that a part cannot be reported missing.
    pub unsure: bool,
}

struct ReachedFile {
    path: Box<str>,
    file: Arc<PartsFile>,
    /// The `use` that leads to it, directly or through other files.
    by: TextRange,
}

/// Result of looking up a part by name.
pub(super) enum PartLookup {
    Part(Arc<Part>),
    /// Several used files have a part of that name.
    Several(Problem),
    Unknown,
}

impl<'l> PartsWithinReach<'l> {
    /// Follows the `use` statements of a file, and those of the files that it uses.
    pub(super) fn new(
        path: &str,
        uses: &[Spanned<Box<str>>],
        library: &'l dyn PartsSource,
        problems: &mut Vec<Problem>,
    ) -> Self {
        let mut parts = Self {
            library,
            own: path.into(),
            files: Vec::new(),
            unsure: false,
        };
        // A file that uses itself through others adds nothing new.
        let mut seen = Seen {
            files: FxHashSet::from_iter([path.into()]),
            lead_elsewhere: FxHashSet::default(),
        };
        for used in uses {
            parts.look_up(path, used, problems, &mut seen);
        }
        if let Some(last) = uses.last().filter(|_| seen.files.len() > MOST_WITHIN_REACH) {
            parts.unsure = true;
            let message =
                format!("this file has more than {MOST_WITHIN_REACH} others within reach, and not all are read");
            let problem = Problem::new(ProblemId::UseNotFound, last.range, message);
            problems.push(problem.help("use the files that have the parts, not files that use others in turn"));
        }
        parts
    }

    fn look_up(&mut self, path: &str, used: &Spanned<Box<str>>, problems: &mut Vec<Problem>, seen: &mut Seen) {
        let library = self.library;
        let range = used.range;
        let wanted = &*used.value;
        if wanted == path {
            problems.push(
                Problem::new(ProblemId::UseCycle, range, "this file uses itself")
                    .help("its own parts are known in it anyway: delete the line"),
            );
            return;
        }
        let problem = match library.find(wanted) {
            PartsLookup::Found(file) => {
                if let Some(ring) = ring(path, wanted, library, &mut seen.lead_elsewhere)
                    && ring.iter().all(|other| path <= other.as_str())
                {
                    problems.push(cycle(path, &ring, range));
                }
                if seen.is_next(wanted) {
                    self.follow(&file, range, seen);
                    self.reach(wanted, file, range);
                }
                return;
            }
            PartsLookup::Missing => {
                let problem = Problem::new(
                    ProblemId::UseNotFound,
                    range,
                    format!("there is no file `{wanted}.office` in this repository"),
                );
                match nearest(wanted, library.names_in(folder(wanted)).iter().map(String::as_str)) {
                    Some(near) => problem.meant(near),
                    None => problem.help(
                        "a path counts from the repository's root, where drysheath.toml is, and has no extension",
                    ),
                }
            }
            PartsLookup::Outside => outside(wanted, range),
            PartsLookup::Unreadable(why) => Problem::new(
                ProblemId::UseNotFound,
                range,
                format!("`{wanted}.office` cannot be read: {why}"),
            ),
        };
        self.unsure = true;
        problems.push(problem);
    }

    fn reach(&mut self, path: &str, file: Arc<PartsFile>, by: TextRange) {
        let path = path.into();
        self.files.push(ReachedFile { path, file, by });
    }

    fn follow(&mut self, file: &PartsFile, by: TextRange, seen: &mut Seen) {
        self.unsure |= file.unsure;
        for path in &file.uses {
            if seen.is_next(path) {
                match self.library.find(path) {
                    PartsLookup::Found(next) => {
                        self.follow(&next, by, seen);
                        self.reach(path, next, by);
                    }
                    _ => self.unsure = true,
                }
            }
        }
    }

    /// The drawing of an assembly, if `part` is one.
    pub(super) fn drawing(&self, part: &Part) -> Option<Arc<Drawing>> {
        let home = self.home(part)?;
        home.file
            .drawing
            .clone()
            .filter(|drawing| drawing.head == part.place.range)
    }

    /// The route described by the file at a path, and the part that it is used as.
    pub(super) fn route(&self, path: &str) -> Option<(Arc<Drawing>, Arc<Part>)> {
        let reached = self.files.iter().find(|reached| *reached.path == *path)?;
        let drawing = reached.file.drawing.as_ref()?;
        let is_route = |part: &&Arc<Part>| part.kind.id == KindId::Route && part.place.range == drawing.head;
        let route = reached.file.parts.values().find(is_route)?;
        Some((Arc::clone(drawing), Arc::clone(route)))
    }

    /// The file that declares a part.
    fn home(&self, part: &Part) -> Option<&ReachedFile> {
        self.files.iter().find(|reached| {
            let own = reached.file.parts.get(&part.name);
            own.is_some_and(|own| own.place == part.place)
        })
    }

    pub(super) fn part(&self, name: &str) -> Option<Arc<Part>> {
        self.having(name).first().map(|(_, part)| Arc::clone(part))
    }

    /// The part that `part`, declared in one of these files, calls `name`: in its own file, or else the only one that
    /// its file can reach.
    pub(super) fn base(&self, part: &Part, name: &str) -> Option<Arc<Part>> {
        let home = self.home(part)?;
        if let Some(own) = home.file.parts.get(name) {
            return Some(Arc::clone(own));
        }
        let mut known = self.having(name);
        known.retain(|(other, _)| leads_to(&home.path, &other.path, self.library));
        match known.as_slice() {
            [(_, only)] => Some(Arc::clone(only)),
            _ => None,
        }
    }

    /// Whether the file of a part uses this file in turn, which is reported where the ring begins.
    pub(super) fn is_in_ring(&self, part: &Part) -> bool {
        self.home(part)
            .is_some_and(|home| leads_to(&home.path, &self.own, self.library))
    }

    /// Looks up a part by `name`, as written at `range`.
    pub(super) fn look_up_part(&self, name: &str, range: TextRange, office: &Office) -> PartLookup {
        let having = self.having(name);
        match having.as_slice() {
            [] => PartLookup::Unknown,
            [(_, only)] => PartLookup::Part(Arc::clone(only)),
            // A file that declares a part again that a file it uses has already is reported there.
            [(first, part), rest @ ..]
                if rest.iter().all(|(other, _)| {
                    leads_to(&first.path, &other.path, self.library) || leads_to(&other.path, &first.path, self.library)
                }) =>
            {
                PartLookup::Part(Arc::clone(part))
            }
            several => PartLookup::Several(ambiguous(name, range, several, office)),
        }
    }

    /// The files within reach that have a part of that name, which may include the file's path.
    fn having(&self, name: &str) -> Vec<(&ReachedFile, &Arc<Part>)> {
        let (file, name) = file_and_name(name);
        let is_meant = |reached: &&ReachedFile| file.is_none_or(|file| is_called(&reached.path, file));
        self.files
            .iter()
            .filter(is_meant)
            .filter_map(|reached| Some((reached, reached.file.parts.get(name)?)))
            .collect()
    }

    /// The problem of an unknown part. `first` is where a `use` can be inserted.
    pub(super) fn unknown(
        &self,
        (name, range): (&str, TextRange),
        office: &Office,
        first: u32,
        suggestions: &Suggestions,
    ) -> Problem {
        if let (Some(file), part) = file_and_name(name) {
            return self.unknown_in(file, part, range);
        }
        let problem = Problem::new(ProblemId::PartUnknown, range, format!("unknown part `{name}`"));
        if !suggestions.next() {
            return problem.help("add a `use` of the file that declares it");
        }
        let known = self
            .files
            .iter()
            .flat_map(|reached| reached.file.parts.keys())
            .chain(office.parts.iter().map(|part| &part.name));
        let mut known: Vec<&str> = known.map(|name| &**name).collect();
        // Hash tables have no order, and the suggestion must not change from run to run.
        known.sort_unstable();
        let files = declaring(name, &office.uses, self.library);
        match (files.as_slice(), nearest(name, known)) {
            ([only], _) => problem
                .help(format!("`{only}.office` declares it: add `use {only}`"))
                .fix(Fix::replace(
                    TextRange::empty(first),
                    format!("use {only}\n"),
                    format!("Add `use {only}`"),
                )),
            ([_, ..], _) => {
                let files: Vec<String> = files.iter().map(|file| format!("`use {file}`")).collect();
                problem.help(format!("several files declare it: add {}", files.join(" or ")))
            }
            (_, Some(near)) => problem.meant(near),
            (_, None) => problem.help("add a `use` of the file that declares it"),
        }
    }

    /// The problem of a part at `range` that is not in the file that it names.
    fn unknown_in(&self, file: &str, part: &str, range: TextRange) -> Problem {
        let files = self.files.iter().filter(|reached| is_called(&reached.path, file));
        let mut known: Vec<&str> = files
            .clone()
            .flat_map(|reached| reached.file.parts.keys())
            .map(|name| &**name)
            .collect();
        known.sort_unstable();
        if files.count() == 0 {
            let message = format!("this file uses no file `{file}` that `{part}` could be taken from");
            return Problem::new(ProblemId::PartUnknown, range, message)
                .help("write the name of its file before the part, as a `use` of this office names it");
        }
        let problem = Problem::new(
            ProblemId::PartUnknown,
            range,
            format!("there is no part `{part}` in `{file}`"),
        );
        match nearest(part, known.iter().copied()) {
            Some(near) => problem.help(format!("is `{file}/{near}` meant?")),
            None => problem.help(format!("its parts are {}", known.join(", "))),
        }
    }
}

/// Splits a part's name as written: `check`, or with its file `regulators/check`.
fn file_and_name(written: &str) -> (Option<&str>, &str) {
    match written.rsplit_once('/') {
        Some((file, name)) => (Some(file), name),
        None => (None, written),
    }
}

/// The name of a part without its file.
pub(super) fn bare_name(written: &str) -> &str {
    file_and_name(written).1
}

/// Whether `file` refers to the file at `path`: its whole path, or the end of it.
fn is_called(path: &str, file: &str) -> bool {
    path.strip_suffix(file)
        .is_some_and(|before| before.is_empty() || before.ends_with('/'))
}

/// Whether the file at `from` can reach the one at `to`.
fn leads_to(from: &str, to: &str, library: &dyn PartsSource) -> bool {
    ring(to, from, library, &mut FxHashSet::default()).is_some()
}

/// The problem of a part name that several used files have: reported at the last `use`.
fn ambiguous(name: &str, range: TextRange, several: &[(&ReachedFile, &Arc<Part>)], office: &Office) -> Problem {
    let mut several: Vec<_> = several.to_vec();
    several.sort_by_key(|(reached, _)| reached.by.start);
    let last = several.last().map_or(range, |(reached, _)| reached.by);
    let choices: Vec<String> = several
        .iter()
        .map(|(reached, part)| {
            let file = shortest(&reached.path, &several);
            format!("`: {file}/{}`", part.name)
        })
        .collect();
    let message = format!(
        "this file gives a part `{}`, and so does another that is used",
        bare_name(name)
    );
    let problem = Problem::new(ProblemId::PartAmbiguous, last, message)
        .related(office.place(range), format!("`{name}` is taken here without its file"));
    let problem = several.iter().fold(problem, |problem, (reached, part)| {
        problem.related(part.place, format!("the part in `{}`", reached.path))
    });
    problem.help(format!("say which of them is meant: {}", choices.join(" or ")))
}

/// The shortest suffix of a path that distinguishes its file from the others.
fn shortest<'p>(path: &'p str, several: &[(&ReachedFile, &Arc<Part>)]) -> &'p str {
    let starts = path.rmatch_indices('/').map(|(at, _)| at + 1);
    let mut ends = starts.filter_map(|start| path.get(start..));
    let is_clear = |end: &&str| {
        let so_called = several.iter().filter(|(reached, _)| is_called(&reached.path, end));
        so_called.count() == 1
    };
    ends.find(is_clear).unwrap_or(path)
}

/// The folder of a path as a `use` names it.
fn folder(path: &str) -> &str {
    path.rsplit_once('/').map_or("", |(folder, _)| folder)
}

/// The files that declare a part but are not used, searched in the usual folder for parts and in those of the files
/// that are used.
fn declaring(part: &str, uses: &[Spanned<Box<str>>], library: &dyn PartsSource) -> Vec<String> {
    const USUAL: &str = "parts";
    /// A folder with more files contains offices, not parts.
    const MOST: usize = 200;
    let own = uses.iter().map(|used| folder(&used.value));
    let folders: BTreeSet<&str> = own.chain([USUAL]).collect();
    let names = folders.into_iter().map(|folder| library.names_in(folder));
    let names = names.filter(|names| names.len() <= MOST).flatten();
    let declares = |name: &String| match library.find(name) {
        PartsLookup::Found(file) => file.parts.contains_key(part),
        _ => false,
    };
    names.filter(declares).collect()
}

impl Office {
    /// The part of that name that this file declares.
    pub(crate) fn part_called_here(&self, name: &str) -> Option<Arc<Part>> {
        self.parts.get(*self.part_names.get(name)?).cloned()
    }

    /// The part that a thing of this file calls `name`: the file's own, or else one within reach. `path` is that of the
    /// file, as in a `use`.
    pub fn part_called(&self, name: &str, path: &str, library: &dyn PartsSource) -> Option<Arc<Part>> {
        self.part_called_here(name)
            .or_else(|| PartsWithinReach::new(path, &self.uses, library, &mut Vec::new()).part(name))
    }
}

/// The range of a path in a `use` that is absolute or leads out of the repository: it cannot be a file of parts, but
/// the intent is clear.
pub(super) fn leads_outside(statement: TextRange, text: &str) -> Option<TextRange> {
    let path = statement.of(text).strip_prefix("use")?;
    let path = path.strip_prefix(char::is_whitespace)?.trim();
    let start = statement.start + u32::try_from(statement.of(text).find(path)?).ok()?;
    let mut depth = 0_usize;
    let mut is_outside = path.starts_with('/');
    for step in path.split('/') {
        match step {
            ".." if depth == 0 => is_outside = true,
            ".." => depth -= 1,
            _ => depth += 1,
        }
    }
    let is_path = !path.contains(char::is_whitespace);
    (is_outside && is_path).then(|| TextRange::new(start, start + path.len() as u32))
}

/// The problem of a path that leads out of the repository.
pub(super) fn outside(path: &str, range: TextRange) -> Problem {
    Problem::new(
        ProblemId::UseOutsideRepository,
        range,
        format!("`{path}` is outside this repository"),
    )
    .help("copy the parts into the repository: an office must read the same for everyone who has it")
}

/// Files visited while following `use` statements.
struct Seen {
    files: FxHashSet<Box<str>>,
    /// Files from which no chain leads back.
    lead_elsewhere: FxHashSet<Box<str>>,
}

impl Seen {
    /// Whether a file is visited for the first time and has to be read.
    fn is_next(&mut self, path: &str) -> bool {
        self.files.len() <= MOST_WITHIN_REACH && self.files.insert(path.into())
    }
}

/// The chain from `start` back to `path` along `use` statements, if there is one. None of the files in `seen` is on
/// one.
fn ring(path: &str, start: &str, library: &dyn PartsSource, seen: &mut FxHashSet<Box<str>>) -> Option<Vec<String>> {
    fn walk(
        path: &str,
        at: &str,
        library: &dyn PartsSource,
        way: &mut Vec<String>,
        seen: &mut FxHashSet<Box<str>>,
    ) -> bool {
        if seen.len() > MOST_WITHIN_REACH || !seen.insert(at.into()) {
            return false;
        }
        let PartsLookup::Found(file) = library.find(at) else {
            return false;
        };
        way.push(at.to_owned());
        for next in &file.uses {
            if **next == *path || walk(path, next, library, way, seen) {
                return true;
            }
        }
        way.pop();
        false
    }
    let mut way = Vec::new();
    let leads_back = walk(path, start, library, &mut way, seen);
    if leads_back {
        seen.clear();
    }
    leads_back.then_some(way)
}

fn cycle(path: &str, ring: &[String], range: TextRange) -> Problem {
    let way = ring.join("` uses `");
    Problem::new(
        ProblemId::UseCycle,
        range,
        format!("these files use each other in a ring: `{path}` uses `{way}` uses `{path}`"),
    )
    .help("move the parts that they share into a file that uses neither")
}
