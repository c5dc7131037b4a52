use std::io::{self, BufWriter, IsTerminal, Write};
use std::path::{Path, PathBuf};
use std::sync::Arc;

use drysheath_disk::{Found, Text, read, read_from, walk};
use drysheath_office::{Date, Summary, lower};
use drysheath_report::{Baseline, Files, Results, Trouble, json, junit, markdown, sarif, write_finding};
use drysheath_rules::{Finding, Settings, is_wide, lint, lint_repository};
use drysheath_syntax::{Problem, parse};
use drysheath_text::{FileId, Place};

use crate::arguments::{Colour, Form, LintArguments};
use crate::files::{ClosedFiles, FileTable};
use crate::outcome::Outcome;
use crate::progress::Progress;
use crate::repository::{Repositories, Repository};
use crate::since::Since;
use crate::today::today;

/// What one worker, and in the end the whole run, has found.
#[derive(Default)]
struct Tally {
    findings: Vec<Finding>,
    summaries: Vec<(Arc<Repository>, Summary)>,
    troubles: Vec<Trouble>,
    files: usize,
    /// Files that what has changed cannot affect.
    left_out: usize,
}

impl Tally {
    fn merge(&mut self, other: Self) {
        self.findings.extend(other.findings);
        self.summaries.extend(other.summaries);
        self.troubles.extend(other.troubles);
        self.files += other.files;
        self.left_out += other.left_out;
    }
}

struct Linter {
    files: Arc<FileTable>,
    repositories: Repositories,
    today: Date,
    since: Option<Since>,
}

/// Lints what the arguments name and shows the results.
pub(crate) fn run(arguments: &LintArguments) -> io::Result<Outcome> {
    let (streams, paths): (Vec<_>, Vec<_>) = arguments.paths.iter().cloned().partition(|path| path == Path::new("-"));
    let files = Arc::new(FileTable::default());
    let linter = Linter {
        repositories: Repositories::new(Arc::clone(&files)),
        files,
        today: today(arguments.today),
        since: match &arguments.since {
            Some(revision) => Some(Since::new(revision, &paths)?),
            None => None,
        },
    };
    let mut tally = Tally::default();
    if !streams.is_empty() {
        linter.stream(arguments.stands_for.as_deref(), &mut tally)?;
    }
    let progress = Progress::new();
    walk(
        &paths,
        arguments.threads,
        Tally::default,
        |tally, found| {
            match found {
                Found::File { path, start } => linter.file(path, start, tally),
                Found::Trouble(trouble) => tally.troubles.push(trouble.into()),
            }
            progress.step();
        },
        |worker| tally.merge(worker),
    );
    progress.end();
    linter.repositories(&paths, &mut tally);
    let Linter {
        files, repositories, ..
    } = linter;
    drop(repositories);
    let files = Arc::into_inner(files).unwrap_or_default().close();
    show(arguments, tally, files)
}

impl Linter {
    fn stream(&self, stands_for: Option<&Path>, tally: &mut Tally) -> io::Result<()> {
        let path = stands_for.unwrap_or(Path::new("standard-input.office"));
        let text = read_from(io::stdin().lock(), 0)?;
        let start = path.parent().unwrap_or(Path::new("")).to_owned();
        self.text(path, &start, text, None, tally);
        Ok(())
    }

    fn file(&self, path: &Path, start: &Path, tally: &mut Tally) {
        match read(path) {
            Ok(text) => self.text(path, start, text, self.since.as_ref(), tally),
            Err(error) => tally.troubles.push(Trouble {
                path: Some(path.display().to_string()),
                why: error.to_string(),
            }),
        }
    }

    /// Lints a text. With `since` it does so only where what has changed can affect it.
    fn text(&self, path: &Path, start: &Path, text: Text, since: Option<&Since>, tally: &mut Tally) {
        let repository = self.repositories.of(path, start);
        let file = self.files.add(path);
        let name = repository.name_of(path);
        if let Some(problem) = text.problem {
            if since.is_none_or(|since| since.affects(&repository, &name, std::iter::empty())) {
                tally.files += 1;
                self.files.keep(file, text.text.into());
                tally.findings.extend(finding(&problem, file, &repository.settings));
            } else {
                tally.left_out += 1;
            }
            let unsure = Summary {
                file,
                unsure: true,
                ..Summary::default()
            };
            tally.summaries.push((repository, unsure));
            return;
        }
        let text: Arc<str> = text.text.into();
        let tree = parse(&text);
        let office = lower(file, &name, Arc::clone(&text), &tree, &*repository);
        let uses = office.uses.iter().map(|used| &*used.value);
        if since.is_none_or(|since| since.affects(&repository, &name, uses)) {
            tally.files += 1;
            let findings = lint(&office, &repository.settings, self.today);
            if !findings.is_empty() {
                self.files.keep(file, text);
                tally.findings.extend(findings);
            }
        } else {
            tally.left_out += 1;
        }
        tally.summaries.push((repository, Summary::of(&office, is_wide)));
    }

    /// The results of the settings, and those that only several files together give.
    fn repositories(&self, paths: &[PathBuf], tally: &mut Tally) {
        for repository in self.repositories.all() {
            tally.troubles.extend(repository.unreadable.clone().map(Trouble::from));
            if let Some((file, _, problems)) = &repository.problems {
                for problem in problems {
                    let mut shown = Problem::new("settings-unreadable", problem.range, problem.message.clone());
                    shown.help.clone_from(&problem.help);
                    tally.findings.extend(finding(&shown, *file, &repository.settings));
                }
            }
            let whole = paths.iter().any(|path| is_above(path, &repository.root));
            let mut own: Vec<_> = tally
                .summaries
                .extract_if(.., |(owner, _)| Arc::ptr_eq(owner, &repository))
                .collect();
            // Which of two files that clash comes first must not depend on which was read first.
            own.sort_by_cached_key(|(_, summary)| self.files.path(summary.file));
            let summaries: Vec<_> = own.into_iter().map(|(_, summary)| Arc::new(summary)).collect();
            let all = drysheath_rules::Repository {
                summaries: &summaries,
                settings: &repository.settings,
                whole,
            };
            tally.findings.extend(lint_repository(&all, self.today));
        }
    }
}

/// Whether `path` is `root` or above it.
fn is_above(path: &Path, root: &Path) -> bool {
    let whole = |path: &Path| {
        if path.as_os_str().is_empty() {
            Path::new(".")
        } else {
            path
        }
        .canonicalize()
    };
    match (whole(path), whole(root)) {
        (Ok(path), Ok(root)) => root.starts_with(path),
        _ => false,
    }
}

fn finding(problem: &Problem, file: FileId, settings: &Settings) -> Option<Finding> {
    drysheath_rules::of_problem(problem, file, settings)
}

fn show(arguments: &LintArguments, mut tally: Tally, mut files: ClosedFiles) -> io::Result<Outcome> {
    let baseline = match &arguments.baseline {
        Some(path) => Some(baseline(path)?),
        None => None,
    };
    tally
        .findings
        .sort_by(|one, other| key(one, &files).cmp(&key(other, &files)));
    tally.troubles.sort();
    for finding in &tally.findings {
        for place in std::iter::once(finding.place).chain(finding.related.iter().map(|related| related.place)) {
            files.recall(place.file);
        }
    }
    let left_out = left_out(arguments, &tally);
    let mut results = Results::new(&tally.findings, &files, baseline.as_ref());
    results.looked_at = tally.files;
    results.left_out = left_out.as_deref();
    results.troubles = &tally.troubles;
    results.fail_on = arguments.fail_on.into();
    for output in &arguments.output {
        match &output.to {
            Some(path) => {
                let mut told = Vec::new();
                tell(&results, output.form, false, &mut told, &files)?;
                std::fs::write(path, told).map_err(|error| with_path(path, &error))?;
            }
            None => {
                let mut out = BufWriter::new(io::stdout().lock());
                tell(&results, output.form, colour(arguments.colour), &mut out, &files)?;
                out.flush()?;
            }
        }
    }
    for trouble in &tally.troubles {
        eprintln!("drysheath: cannot be looked at: {trouble}");
    }
    Ok(if !tally.troubles.is_empty() {
        Outcome::Failed
    } else if results.fails() {
        Outcome::Results
    } else {
        Outcome::Clean
    })
}

/// What was not looked at, in words.
fn left_out(arguments: &LintArguments, tally: &Tally) -> Option<String> {
    let revision = arguments.since.as_ref()?;
    let files = match tally.left_out {
        0 => return None,
        1 => "1 file was".to_owned(),
        more => format!("{more} files were"),
    };
    Some(format!(
        "{files} not looked at: nothing that they depend on has changed since {revision}. The rules that look at all files \
         together had them all."
    ))
}

fn colour(stated: Colour) -> bool {
    match stated {
        Colour::Always => true,
        Colour::Never => false,
        Colour::Auto => io::stdout().is_terminal() && std::env::var_os("NO_COLOR").is_none_or(|value| value.is_empty()),
    }
}

fn baseline(path: &Path) -> io::Result<Baseline> {
    let text = std::fs::read_to_string(path).map_err(|error| with_path(path, &error))?;
    Baseline::read(&text).map_err(|why| io::Error::other(format!("{}: {why}", path.display())))
}

fn with_path(path: &Path, error: &io::Error) -> io::Error {
    io::Error::new(error.kind(), format!("{}: {error}", path.display()))
}

/// Tells the results in one form.
fn tell(results: &Results<'_>, form: Form, colour: bool, out: &mut dyn Write, files: &ClosedFiles) -> io::Result<()> {
    let told = match form {
        Form::Text => return text(results, colour, out, files),
        Form::Sarif => sarif(results),
        Form::Json => json(results),
        Form::Markdown => markdown(results),
        Form::Junit => junit(results),
    };
    out.write_all(told.as_bytes())
}

/// Excerpts of what is neither accepted nor known to the baseline, and the count.
fn text(results: &Results<'_>, colour: bool, out: &mut dyn Write, files: &ClosedFiles) -> io::Result<()> {
    for told in results.fresh() {
        write_finding(out, told.finding, files, colour)?;
        writeln!(out)?;
    }
    let looked_at = if results.looked_at == 1 {
        "1 file".to_owned()
    } else {
        format!("{} files", results.looked_at)
    };
    if results.has_baseline() {
        writeln!(
            out,
            "{} in {looked_at}: {} new, {} gone",
            results.count(),
            results.fresh().count(),
            results.gone().len()
        )?;
    } else {
        writeln!(out, "{} in {looked_at}", results.count())?;
    }
    match results.left_out {
        Some(left_out) => writeln!(out, "{left_out}"),
        None => Ok(()),
    }
}

/// The order of results: by path, place and rule, whichever thread found them.
fn key<'f>(finding: &'f Finding, files: &'f ClosedFiles) -> (&'f str, Place, &'f str, &'f str) {
    let place = Place {
        file: FileId::default(),
        ..finding.place
    };
    (
        files.path(finding.place.file),
        place,
        finding.rule.name,
        &finding.message,
    )
}
