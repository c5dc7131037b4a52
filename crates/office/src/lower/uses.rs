//! Finds the files and parts that a file uses.

use std::collections::HashSet;
use std::sync::Arc;

use drysheath_text::TextRange;

use crate::model::{Office, Spanned};
use crate::parts::{Part, PartsFile, PartsLookup, PartsSource};
use crate::problem::{Problem, ProblemId};
use crate::spelling::nearest;

/// The files of parts within reach of one file.
pub(super) struct PartsWithinReach {
    files: Vec<Arc<PartsFile>>,
    /// Whether some file or part could not be read, so that a part that is not found proves nothing.
    pub unsure: bool,
}

impl PartsWithinReach {
    /// Follows the `use` statements of a file, and those of the files they lead to.
    pub(super) fn new(
        path: &str,
        uses: &[Spanned<Box<str>>],
        library: &dyn PartsSource,
        problems: &mut Vec<Problem>,
    ) -> Self {
        let mut parts = Self {
            files: Vec::new(),
            unsure: false,
        };
        // A file that uses itself through others has nothing new to give.
        let mut seen: HashSet<Box<str>> = HashSet::from([path.into()]);
        for used in uses {
            parts.look_up(path, used, library, problems, &mut seen);
        }
        parts
    }

    fn look_up(
        &mut self,
        path: &str,
        used: &Spanned<Box<str>>,
        library: &dyn PartsSource,
        problems: &mut Vec<Problem>,
        seen: &mut HashSet<Box<str>>,
    ) {
        let range = used.range;
        let wanted = &*used.value;
        if wanted == path {
            problems.push(
                Problem::new(ProblemId::UseCycle, range, "this file uses itself")
                    .help("what it declares is known in it anyway: take the line away"),
            );
            return;
        }
        let problem = match library.find(wanted) {
            PartsLookup::Found(file) => {
                if let Some(ring) = ring(path, wanted, library)
                    && ring.iter().all(|other| path <= other.as_str())
                {
                    problems.push(cycle(path, &ring, range));
                }
                if seen.insert(wanted.into()) {
                    self.follow(&file, library, seen);
                    self.files.push(file);
                }
                return;
            }
            PartsLookup::Missing => {
                let problem = Problem::new(
                    ProblemId::UseNotFound,
                    range,
                    format!("there is no file `{wanted}.office` in this repository"),
                );
                match library.similar(wanted) {
                    Some(near) => problem.meant(&near),
                    None => problem.help(
                        "a path counts from the repository's root, where drysheath.toml is, and has no extension",
                    ),
                }
            }
            PartsLookup::Outside => Problem::new(
                ProblemId::UseOutsideRepository,
                range,
                format!("`{wanted}` lies outside this repository"),
            )
            .help("copy the parts into the repository: an office must read the same for everyone who has it"),
            PartsLookup::Unreadable(why) => Problem::new(
                ProblemId::UseNotFound,
                range,
                format!("`{wanted}.office` cannot be read: {why}"),
            ),
        };
        self.unsure = true;
        problems.push(problem);
    }

    fn follow(&mut self, file: &PartsFile, library: &dyn PartsSource, seen: &mut HashSet<Box<str>>) {
        self.unsure |= file.unsure;
        for path in &file.uses {
            if seen.insert(path.clone()) {
                match library.find(path) {
                    PartsLookup::Found(next) => {
                        self.follow(&next, library, seen);
                        self.files.push(next);
                    }
                    _ => self.unsure = true,
                }
            }
        }
    }

    pub(super) fn part(&self, name: &str) -> Option<Arc<Part>> {
        self.files.iter().find_map(|file| file.parts.get(name)).cloned()
    }

    pub(super) fn unknown(&self, name: &str, range: TextRange, local: &[Arc<Part>]) -> Problem {
        let known = self
            .files
            .iter()
            .flat_map(|file| file.parts.keys())
            .chain(local.iter().map(|part| &part.name));
        let mut known: Vec<&str> = known.map(|name| &**name).collect();
        // Hash tables have no order, and the suggestion must not change from run to run.
        known.sort_unstable();
        let problem = Problem::new(
            ProblemId::PartUnknown,
            range,
            format!("no part named `{name}` is within reach"),
        );
        match nearest(name, known) {
            Some(near) => problem.meant(near),
            None => problem.help("name the file that declares it with `use`"),
        }
    }
}

impl Office {
    /// The part that a thing of this file takes by `name`: the file's own, or else one of those within reach. `path` is
    /// the file's, as a `use` would name it.
    pub fn part_called(&self, name: &str, path: &str, library: &dyn PartsSource) -> Option<Arc<Part>> {
        let own = self.parts.iter().find(|part| *part.name == *name).cloned();
        own.or_else(|| PartsWithinReach::new(path, &self.uses, library, &mut Vec::new()).part(name))
    }
}

/// The way from `start` back to `path` along `use` statements, if there is one.
fn ring(path: &str, start: &str, library: &dyn PartsSource) -> Option<Vec<String>> {
    fn walk(
        path: &str,
        at: &str,
        library: &dyn PartsSource,
        way: &mut Vec<String>,
        seen: &mut HashSet<String>,
    ) -> bool {
        let PartsLookup::Found(file) = library.find(at) else {
            return false;
        };
        way.push(at.to_owned());
        for next in &file.uses {
            if **next == *path || (seen.insert(next.to_string()) && walk(path, next, library, way, seen)) {
                return true;
            }
        }
        way.pop();
        false
    }
    let mut way = Vec::new();
    let mut seen = HashSet::from([start.to_owned()]);
    walk(path, start, library, &mut way, &mut seen).then_some(way)
}

fn cycle(path: &str, ring: &[String], range: TextRange) -> Problem {
    let way = ring.join("` uses `");
    Problem::new(
        ProblemId::UseCycle,
        range,
        format!("these files use each other in a ring: `{path}` uses `{way}` uses `{path}`"),
    )
    .help("move what they share into a file that uses neither")
}
