use std::io::{self, IsTerminal, Read, Write};
use std::path::{Path, PathBuf};
use std::sync::Arc;

use drysheath_disk::{Disk, Found, open, read_from, walk};
use drysheath_office::Summary;
use drysheath_report::{
    Baseline, Extent, KnownFile, Results, Trouble, annotations, code_quality, counts, json, junit, markdown, sarif,
    write_finding,
};
use drysheath_rules::{Coverage, Finding};
use drysheath_text::{FileId, Place};
use drysheath_workspace::{LoweredFile, ReadFile, Repository, Snapshot, Texts, Workspace};
use rustc_hash::{FxHashMap, FxHashSet};

use crate::arguments::{Colour, Form, LintArguments};
use crate::cache::{Cache, Judgement};
use crate::fix::{self, FixOutcome};
use crate::named_files::{empty, folders, missing};
use crate::outcome::Outcome;
use crate::progress::Progress;
use crate::since::Since;
use crate::standard_streams::{print_error, write};
use crate::today::today;

/// Maximum number of files that a worker lints together. Smaller batches reload more code for each file; larger ones
/// exceed the processor caches.
const MOST_TOGETHER: usize = 16;
/// Files larger than this, in bytes, are linted at once: several such files together may not fit into memory.
const LARGE: usize = 1 << 20;

/// Results of one worker and, once merged, of the whole run.
#[derive(Default)]
pub(crate) struct LintTotals {
    pub findings: Vec<Finding>,
    /// Texts of files with results.
    pub texts: FxHashMap<FileId, Arc<str>>,
    summaries: Vec<(Arc<Repository>, Arc<Summary>)>,
    troubles: Vec<Trouble>,
    coverage: Coverage,
    /// Files to be linted in the next batch.
    waiting: Vec<ReadFile>,
    files: usize,
    /// Number of files that the changes cannot affect.
    left_out: usize,
    /// Number of results of rules not requested.
    deselected: usize,
}

impl LintTotals {
    fn merge(&mut self, other: Self) {
        self.findings.extend(other.findings);
        self.texts.extend(other.texts);
        self.summaries.extend(other.summaries);
        self.troubles.extend(other.troubles);
        self.coverage.add(&other.coverage);
        self.files += other.files;
        self.left_out += other.left_out;
    }

    /// Adds the results of a file.
    fn take(
        &mut self,
        file: FileId,
        repository: &Arc<Repository>,
        text: &Arc<str>,
        (findings, coverage, known): Judgement,
    ) {
        self.files += 1;
        self.summaries.push((Arc::clone(repository), known.summary));
        self.coverage.add(&coverage);
        if !findings.is_empty() {
            self.texts.insert(file, Arc::clone(text));
            self.findings.extend(findings);
        }
    }

    /// Removes the results of rules not requested.
    fn select(&mut self, arguments: &LintArguments) {
        let before = self.findings.len();
        self.findings.retain(|finding| arguments.asks_for(finding.rule.name()));
        self.deselected = before - self.findings.len();
    }
}

struct Linter<'l> {
    snapshot: Snapshot,
    since: Option<&'l Since>,
    cache: Option<&'l Cache>,
}

/// What to lint: the arguments, and the revision to compare with.
pub(crate) struct Request<'r> {
    pub arguments: &'r LintArguments,
    /// Files and folders named.
    paths: Vec<PathBuf>,
    /// File that standard input stands for.
    streamed: Option<&'r Path>,
    since: Option<Since>,
    /// Cached results of earlier runs.
    cache: Option<Cache>,
}

/// Lints the files that the arguments name and shows the results.
pub(crate) fn run(arguments: &LintArguments) -> io::Result<Outcome> {
    without_effect(arguments)?;
    let (streams, paths): (Vec<_>, Vec<_>) = arguments.paths.iter().cloned().partition(|path| path == Path::new("-"));
    let stands_for = arguments
        .stands_for
        .as_deref()
        .unwrap_or(Path::new("standard-input.office"));
    let mut workspace = Workspace::new(Arc::new(Disk), today(arguments.today));
    let streamed = (!streams.is_empty()).then_some(stands_for);
    workspace.set_folders(folders(streamed.into_iter().chain(paths.iter().map(PathBuf::as_path))));
    let whole: Vec<PathBuf> = paths.iter().filter(|path| path.is_dir()).cloned().collect();
    workspace.found(&whole, []);
    let since = match &arguments.since {
        Some(revision) => Some(Since::new(revision, &paths)?),
        None => None,
    };
    if let Some(path) = streamed {
        workspace.set_buffer(path, None, read_from(io::stdin().lock(), 0)?);
    }
    // Standard input overlays a file in this run only, and fixing lints files twice.
    let is_plain = streamed.is_none() && since.is_none() && !arguments.fix;
    // All entries of a repository are read and written together, which does not pay off for single files.
    let is_cached = is_plain && !whole.is_empty() && !arguments.no_cache;
    let cache = is_cached
        .then(|| Cache::open(Path::new(""), workspace.now().today()))
        .flatten();
    let mut request = Request {
        arguments,
        paths,
        streamed,
        since,
        cache,
    };
    let mut tally = request.tally(&workspace.snapshot());
    if let Some(cache) = request.cache.take() {
        cache.finish(|root| workspace.now().is_whole(root));
    }
    let mut fixed = FixOutcome::default();
    if arguments.fix {
        (fixed, tally) = fix::fixed(&request, &mut workspace, tally);
    }
    show(arguments, tally, fixed, &workspace.snapshot())
}

impl Request<'_> {
    /// Results of all files named, in their state in `snapshot`.
    pub fn tally(&self, snapshot: &Snapshot) -> LintTotals {
        let mut tally = LintTotals::default();
        if let Some(path) = self.streamed {
            let linter = Linter {
                snapshot: snapshot.clone(),
                since: None,
                cache: None,
            };
            linter.file(path, &mut tally);
            linter.lint_waiting(&mut tally);
        }
        let linter = Linter {
            snapshot: snapshot.clone(),
            since: self.since.as_ref(),
            cache: self.cache.as_ref(),
        };
        let progress = Progress::new("files checked");
        walk(
            &self.paths,
            self.arguments.threads,
            LintTotals::default,
            |tally, found| {
                match found {
                    // Standard input replaces it.
                    Found::File { path, .. } if self.streamed.is_some_and(|streamed| is_same(streamed, path)) => {}
                    Found::File { path, .. } => linter.file(path, tally),
                    Found::Nothing { start } if !self.arguments.allow_empty => tally.troubles.push(empty(start).into()),
                    Found::Nothing { .. } | Found::Link { .. } => {}
                    Found::Trouble(trouble) => tally.troubles.push(trouble.into()),
                }
                progress.step();
            },
            |mut worker| {
                linter.lint_waiting(&mut worker);
                tally.merge(worker);
            },
        );
        progress.end();
        linter.repositories(&mut tally);
        tally
    }
}

/// Rejects options that have no effect in combination: a user who gives one expects an effect.
fn without_effect(arguments: &LintArguments) -> io::Result<()> {
    let reads_stream = arguments.paths.iter().any(|path| path == Path::new("-"));
    if arguments.stands_for.is_some() && !reads_stream {
        return Err(io::Error::other(
            "--as names the file that standard input stands for, but standard input is not read: name - as well",
        ));
    }
    let reads_files = arguments.paths.iter().any(|path| path != Path::new("-"));
    if arguments.since.is_some() && !reads_files {
        return Err(io::Error::other(
            "--since leaves out files that have not changed, but no file is named: standard input is always checked",
        ));
    }
    if arguments.fix && reads_stream {
        return Err(io::Error::other(
            "--fix changes files, and standard input is none: name the file",
        ));
    }
    Ok(())
}

/// Whether two paths are the same file.
fn is_same(one: &Path, other: &Path) -> bool {
    let real = |path: &Path| drysheath_disk::canonical(path).ok();
    one == other || real(one).is_some_and(|one| real(other) == Some(one))
}

impl Linter<'_> {
    /// Reads a file, and lints it now or in a batch with those after it, unless it is cached.
    fn file(&self, path: &Path, tally: &mut LintTotals) {
        let Some(read) = self.read(path, tally) else { return };
        let is_large = read.content.text.len() > LARGE;
        tally.waiting.push(read);
        // The first files are not batched, so that all workers get some.
        let seen = tally.files + tally.left_out;
        if is_large || tally.waiting.len() > (seen / MOST_TOGETHER).min(MOST_TOGETHER - 1) {
            self.lint_waiting(tally);
        }
    }

    /// The bytes of a file. None where they cannot be read, or what they are judged by is cached: that is in the tally then.
    fn read(&self, path: &Path, tally: &mut LintTotals) -> Option<ReadFile> {
        let file = self.snapshot.file(path);
        let why = match self.snapshot.read_bytes(file) {
            Ok(Some(bytes)) => match self.cache.and_then(|cache| cache.judged(&self.snapshot, &bytes)) {
                Some(judged) => {
                    tally.take(file, &bytes.repository, &bytes.content.text, judged);
                    return None;
                }
                None => return Some(bytes),
            },
            // The settings have one error for the whole repository.
            Ok(None) if self.snapshot.repository(file).is_too_new => return None,
            Ok(None) => missing(path),
            Err(why) => why,
        };
        tally.troubles.push(Trouble {
            path: Some(path.display().to_string()),
            why,
        });
        None
    }

    /// Lints the waiting files, except those that the changes cannot affect.
    fn lint_waiting(&self, tally: &mut LintTotals) {
        let read = std::mem::take(&mut tally.waiting);
        let readings = self.snapshot.lower_all(read);
        let (affected, others): (Vec<_>, Vec<_>) = readings
            .into_iter()
            .partition(|reading| self.since.is_none_or(|since| since.affects(&self.snapshot, reading)));
        for reading in &others {
            let summary = Arc::new(reading.summary());
            tally.summaries.push((Arc::clone(&reading.repository), summary));
        }
        tally.left_out += others.len();
        for (reading, (findings, coverage)) in affected.iter().zip(LoweredFile::all_judged(&affected)) {
            let known = KnownFile::of(reading, Arc::new(reading.summary()));
            if let Some(cache) = self.cache {
                cache.store(reading, &known, Some((&findings, &coverage)));
            }
            let judged = (findings, coverage, known);
            tally.take(reading.file, &reading.repository, &reading.text, judged);
        }
    }

    /// Adds the results of the settings and the results across files.
    fn repositories(&self, tally: &mut LintTotals) {
        for repository in self.snapshot.repositories() {
            tally.troubles.extend(repository.unreadable.clone().map(Trouble::from));
            if repository.is_too_new {
                continue;
            }
            tally.findings.extend(repository.findings.iter().cloned());
            if repository.above.is_some() {
                continue;
            }
            let own = tally
                .summaries
                .extract_if(.., |(owner, _)| owner.root == repository.root);
            let mut summaries: Vec<_> = own.map(|(_, summary)| summary).collect();
            tally
                .findings
                .extend(self.snapshot.lint_across(&repository, &mut summaries));
        }
    }
}

/// Texts of all files that results point into.
fn texts(tally: &LintTotals, snapshot: &Snapshot) -> Texts {
    let mut files: FxHashSet<FileId> = FxHashSet::default();
    for finding in &tally.findings {
        files.insert(finding.place.file);
        files.extend(finding.related.iter().map(|related| related.place.file));
    }
    snapshot.texts(files, &tally.texts)
}

fn show(
    arguments: &LintArguments,
    mut tally: LintTotals,
    fixed: FixOutcome,
    snapshot: &Snapshot,
) -> io::Result<Outcome> {
    let baseline = match &arguments.baseline {
        Some(path) => Some(baseline(path, snapshot)?),
        None => None,
    };
    tally.select(arguments);
    let files = texts(&tally, snapshot);
    tally
        .findings
        .sort_by(|one, other| key(one, &files).cmp(&key(other, &files)));
    tally.troubles.sort();
    let mut about: Vec<String> = fixed.told.into_iter().collect();
    about.extend(left_out(arguments, &tally));
    about.extend(deselected(arguments, tally.deselected));
    let left_out = (!about.is_empty()).then(|| about.join("\n"));
    tally.troubles.extend(fixed.troubles.into_iter().map(Trouble::from));
    let mut results = Results::new(&tally.findings, &files, baseline.as_ref());
    results.looked_at = tally.files;
    results.left_out = left_out.as_deref();
    results.coverage = tally.coverage.clone();
    results.troubles = &tally.troubles;
    results.fail_on = arguments.fail_on.into();
    let mut unwritten: Vec<String> = Vec::new();
    if !fixed.difference.is_empty() {
        unwritten.extend(write(None, fixed.difference.as_bytes()));
    }
    for output in &arguments.output {
        let mut rendered = Vec::new();
        let colour = output.to.is_none() && colour(arguments.colour);
        tell_results(&results, output.form, colour, &mut rendered, &files, arguments)?;
        unwritten.extend(write(output.to.as_deref(), &rendered));
    }
    for trouble in &tally.troubles {
        print_error(format_args!("cannot be read: {trouble}"));
    }
    for why in &unwritten {
        print_error(format_args!("cannot be written: {why}"));
    }
    Ok(if !tally.troubles.is_empty() || !unwritten.is_empty() {
        Outcome::Failed
    } else if results.fails() || fixed.is_shown_only {
        Outcome::Results
    } else {
        Outcome::Clean
    })
}

/// Sentence about the files left out.
fn left_out(arguments: &LintArguments, tally: &LintTotals) -> Option<String> {
    let revision = arguments.since.as_ref()?;
    let files = match tally.left_out {
        0 => return None,
        1 => "1 file was".to_owned(),
        more => format!("{more} files were"),
    };
    Some(format!(
        "{files} not checked: nothing that affects them has changed since {revision}. Rules about all files together still \
         took them into account."
    ))
}

/// Sentence about the results of rules not requested.
fn deselected(arguments: &LintArguments, count: usize) -> Option<String> {
    let option = match (arguments.select.is_empty(), arguments.ignore.is_empty()) {
        (true, true) => return None,
        (false, true) => "--select",
        (true, false) => "--ignore",
        (false, false) => "--select and --ignore",
    };
    let results = if count == 1 {
        "1 result".to_owned()
    } else {
        format!("{count} results")
    };
    Some(format!("{results} of other rules left out by {option}."))
}

fn colour(stated: Colour) -> bool {
    match stated {
        Colour::Always => true,
        Colour::Never => false,
        Colour::Auto => io::stdout().is_terminal() && std::env::var_os("NO_COLOR").is_none_or(|value| value.is_empty()),
    }
}

/// Reads a baseline. Whether its files still exist is looked up in the repositories that are linted.
fn baseline(path: &Path, snapshot: &Snapshot) -> io::Result<Baseline> {
    let mut text = String::new();
    let read = open(path, None).and_then(|mut file| file.read_to_string(&mut text));
    read.map_err(|error| with_path(path, &error))?;
    let baseline = Baseline::read(&text);
    let mut baseline = baseline.map_err(|why| io::Error::other(format!("{}: {why}", path.display())))?;
    let repositories = snapshot.repositories();
    baseline.find_gone_files(|file| {
        let mut roots = repositories.iter().map(|repository| &repository.root);
        roots.any(|root| root.join(file).symlink_metadata().is_ok())
    });
    Ok(baseline)
}

fn with_path(path: &Path, error: &io::Error) -> io::Error {
    io::Error::new(error.kind(), format!("{}: {error}", path.display()))
}

/// Writes the results in one format.
fn tell_results(
    results: &Results<'_>,
    form: Form,
    colour: bool,
    out: &mut dyn Write,
    files: &Texts,
    arguments: &LintArguments,
) -> io::Result<()> {
    let extent = if arguments.all { Extent::Full } else { Extent::Brief };
    let rendered = match form {
        Form::Text => return text(results, colour, out, files, arguments.quiet),
        Form::Counts => counts(results),
        Form::Annotations => annotations(results),
        Form::CodeQuality => code_quality(results),
        Form::Sarif => sarif(results, extent),
        Form::Json => json(results),
        Form::Markdown => markdown(results),
        Form::Junit => junit(results),
    };
    out.write_all(rendered.as_bytes())
}

/// Excerpts of the results that are neither accepted nor in the baseline, then the counts.
fn text(results: &Results<'_>, colour: bool, out: &mut dyn Write, files: &Texts, is_quiet: bool) -> io::Result<()> {
    for reported in results.fresh() {
        write_finding(out, reported.finding, files, colour)?;
        writeln!(out)?;
    }
    if !is_quiet {
        summary(results, out)?;
    }
    match results.left_out {
        Some(left_out) => writeln!(out, "{left_out}"),
        None => Ok(()),
    }
}

/// How much was checked, and the number of results.
fn summary(results: &Results<'_>, out: &mut dyn Write) -> io::Result<()> {
    // Before the count, since scripts read that from the last line.
    if let Some(checked) = results.checked() {
        writeln!(out, "{checked}")?;
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
    Ok(())
}

/// Sort key of results: path, place and rule, independent of the threads that found them.
fn key<'f>(finding: &'f Finding, files: &'f Texts) -> (&'f str, Place, &'f str, &'f str) {
    let place = Place {
        file: FileId::default(),
        ..finding.place
    };
    (
        files.path(finding.place.file),
        place,
        finding.rule.name(),
        &finding.message,
    )
}
