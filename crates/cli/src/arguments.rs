use std::num::NonZeroUsize;
use std::path::PathBuf;

use clap::{Args, Parser, Subcommand, ValueEnum};
use clap_complete::Shell;
use drysheath_rules::Level;
use drysheath_syntax::parse;

/// Checks and computes descriptions of telephone offices that keep air-core cable dry.
#[derive(Debug, Parser)]
#[command(name = "drysheath", version, max_term_width = 100)]
pub(crate) struct Arguments {
    #[command(subcommand)]
    pub command: Command,
}

#[derive(Debug, Subcommand)]
pub(crate) enum Command {
    /// Report what is wrong with offices and parts.
    #[command(
        after_help = "Exit code: 0 when nothing is at or above the failing level, 1 when something is, 2 when an \
                            argument is wrong, a file could not be read or written, or a folder has no offices."
    )]
    Lint(LintArguments),
    /// Compute the pressures, flows, voltages and loops of an office.
    #[command(
        after_help = "Exit code: 0 when done, 2 when an argument is wrong, a file could not be read or written, or there is no \
                            office. Mistakes in an office are reported by lint."
    )]
    Predict(PredictArguments),
    /// Write the records for the hand-over: what to enter in the monitoring system for each input and output of a monitor.
    #[command(
        after_help = "Exit code: 0 when nothing is missing, 1 when something is, 2 when an argument is wrong, a file \
                            could not be read or written, or there is no office."
    )]
    Records(RecordsArguments),
    /// Write the sheets that a technician works from: drawings, wiring, limits, material and steps, one HTML file for each office.
    #[command(
        after_help = "Exit code: 0 when done, 2 when an argument is wrong, a file could not be read or written, or there is no \
                            office. The first page of a sheet lists what is wrong with the office."
    )]
    Sheets(SheetsArguments),
    /// Compare two states of a repository by their equipment, runs, figures and results instead of their lines.
    #[command(
        after_help = "Exit code: 0 when done, 1 when results got worse and --fail-on is given, 2 when an argument is wrong or \
                            something could not be read, such as a file with a merge left undone."
    )]
    Compare(CompareArguments),
    /// Print an office with its assemblies written out as statements of its own.
    #[command(
        after_help = "Exit code: 0 when done, 2 when an argument is wrong, the file describes no office or could not be read \
                            whole, or two things would get the same name."
    )]
    Expand(ExpandArguments),
    /// Align the fields of files in columns. Only white space changes.
    #[command(
        after_help = "Exit code: 0 when done or nothing to do, 1 when --check or --diff find something to do, 2 when \
                            an argument is wrong, a file could not be read or written, or a folder has no offices."
    )]
    Format(FormatArguments),
    /// Update a repository to the current language: replace every word that has changed, and set the language number.
    #[command(
        after_help = "Nothing is written unless every figure and every result stays the same.\n\nExit code: 0 when \
                            done or nothing to do, 1 when --check or --diff find something to do, 2 when an argument is wrong, a \
                            file could not be read or written, or a figure or result would change."
    )]
    Migrate(MigrateArguments),
    /// Merge two versions of an office or of parts, statement by statement: a merge driver for git.
    #[command(after_help = merge_driver_help())]
    MergeDriver(MergeDriverArguments),
    /// Serve an editor over standard input and output (Language Server Protocol).
    Lsp,
    /// Write a new repository of offices that passes its own gate. No existing file is overwritten.
    Start(StartArguments),
    /// List the rules, or explain one.
    Rules(RulesArguments),
    /// Print what changed from version to version of drysheath.
    History,
    /// Print the completions of a shell.
    ShellCompletion {
        /// The shell.
        shell: Shell,
    },
    /// Print the manual page of drysheath, or of one of its commands.
    ManPage {
        /// The command.
        command: Option<String>,
    },
}

#[derive(Args, Debug)]
#[allow(clippy::struct_excessive_bools, reason = "each is a switch of the command line")]
pub(crate) struct LintArguments {
    /// Files, folders, or - for standard input. A folder means every .office file in it that is not ignored.
    #[arg(default_value = ".")]
    pub paths: Vec<PathBuf>,
    /// The path that standard input stands for.
    #[arg(long = "as", value_name = "PATH")]
    pub stands_for: Option<PathBuf>,
    /// The format of the results: text, counts (by rule and file), sarif, json, markdown, junit, annotations (workflow commands) or
    /// code-quality. `sarif=FILE` writes to a file; several may be given.
    #[arg(long, value_name = "FORM[=FILE]", default_value = "text", value_parser = output::<Form>)]
    pub output: Vec<Output<Form>>,
    /// Report only these rules, separated by commas; what is left out is counted.
    #[arg(long, value_name = "RULES", value_delimiter = ',', value_parser = rule)]
    pub select: Vec<&'static str>,
    /// Leave these rules out, separated by commas; what is left out is counted.
    #[arg(long, value_name = "RULES", value_delimiter = ',', value_parser = rule)]
    pub ignore: Vec<&'static str>,
    /// Make the fixes that are certain, and report what is left. A fix is kept only if its result is gone and no other came.
    #[arg(long)]
    pub fix: bool,
    /// With --fix, change nothing; show what would change.
    #[arg(long, requires = "fix")]
    pub diff: bool,
    /// In text, print only the results, without counts; what was left out or fixed is still reported.
    #[arg(long, short)]
    pub quiet: bool,
    /// Write every result to a SARIF log, even more than code hosts accept: for a baseline.
    #[arg(long)]
    pub all: bool,
    /// A SARIF log of an earlier run: results that are in it do not make the command fail.
    #[arg(long, value_name = "FILE")]
    pub baseline: Option<PathBuf>,
    /// How many threads to use, instead of one for each processor. The output is the same.
    #[arg(long, value_name = "NUMBER")]
    pub threads: Option<NonZeroUsize>,
    /// Check every file anew. Otherwise a file whose results cannot have changed since an earlier run is only read: they are cached in the
    /// folder of your caches, outside of the repository, where a folder is named. The output is the same.
    #[arg(long)]
    pub no_cache: bool,
    /// Check only what the changes since a revision of git can affect: a changed part counts for all that use it.
    #[arg(long, value_name = "REV")]
    pub since: Option<String>,
    /// The lowest level that makes the command fail.
    #[arg(long, value_name = "LEVEL", default_value = "error")]
    pub fail_on: FailingLevel,
    /// Judge acceptances as of this day instead of today.
    #[arg(long, value_name = "DATE")]
    pub today: Option<jiff::civil::Date>,
    /// Whether to use colours.
    #[arg(long, value_name = "WHEN", default_value = "auto")]
    pub colour: Colour,
    /// Do not fail where a folder has no offices.
    #[arg(long)]
    pub allow_empty: bool,
}

impl LintArguments {
    /// Whether the results of a rule were requested.
    pub fn asks_for(&self, rule: &str) -> bool {
        let is_selected = self.select.is_empty() || self.select.contains(&rule);
        is_selected && !self.ignore.contains(&rule)
    }
}

#[derive(Args, Debug)]
pub(crate) struct PredictArguments {
    /// Files of offices, or folders with such files.
    #[arg(required = true)]
    pub offices: Vec<PathBuf>,
    /// Explain how a figure is computed, by the name that a table gives it, such as `ps1`, `m1 sensor 3` or `c101 3.2 km`,
    /// when all is well.
    #[arg(long, value_name = "NAME", conflicts_with_all = ["output", "pictures", "when"])]
    pub how: Option<String>,
    /// Say what would be right, with every bound and where it comes from, and what to take: the span of a sensor and the part that has
    /// it (`ps1`), a limit and its deadband (`"ps1 low"`), the set pressure of a regulator (`r1`), the bore of an air pipe or a tube
    /// (`"d1 -> r1"`), the fuse and conductor of a load (`m1`), the capacity of a battery (`main`).
    #[arg(long, value_name = "NAME", conflicts_with_all = ["how", "pictures"])]
    pub size: Option<String>,
    /// The most pressure that the pipe or tube of --size should lose, such as "0.5 psi".
    #[arg(long, value_name = "PRESSURE", requires = "size")]
    pub loss: Option<String>,
    /// Estimate usage, resistance and set pressures from the readings of this day: declared beside fitted figures, how well the readings
    /// tell them, and which reading pulls each most.
    #[arg(long, value_name = "DATE", conflicts_with_all = ["how", "size", "when", "pictures"])]
    pub fit: Option<jiff::civil::Date>,
    /// Also compute the state in which something happens, such as "d1 stops" or "c101 leaks 10 scfh at 2.1 km": see `when` in the
    /// reference.
    #[arg(long, value_name = "EVENTS", value_parser = events)]
    pub when: Option<String>,
    /// Compute the offices as they will be once everything planned is installed.
    #[arg(long)]
    pub planned: bool,
    /// Tables for people, or JSON for programs (grammar/prediction.schema.json).
    #[arg(long, value_name = "FORM", default_value = "text")]
    pub output: PredictOutput,
    /// Also draw the pressure along each cable, branch and pipe, with --when in both states, as SVG files in this folder, below the path of
    /// each office.
    #[arg(long, value_name = "FOLDER")]
    pub pictures: Option<PathBuf>,
    /// The date to print on the pictures, instead of today.
    #[arg(long, value_name = "DATE")]
    pub today: Option<jiff::civil::Date>,
    /// Do not fail where a folder has no offices.
    #[arg(long)]
    pub allow_empty: bool,
}

#[derive(Args, Debug)]
pub(crate) struct SheetsArguments {
    /// Files of offices, or folders with such files.
    #[arg(required = true)]
    pub offices: Vec<PathBuf>,
    /// The folder to write into: an HTML file for each office, named after its file, and for a folder of offices an index.html.
    #[arg(long, value_name = "FOLDER")]
    pub to: PathBuf,
    /// Write work orders: what is added, removed and moved since a revision of git, and the material needed. Offices in which
    /// nothing that is built has changed are left out.
    #[arg(long, value_name = "REV", conflicts_with = "planned")]
    pub since: Option<String>,
    /// Write the sheets of the offices as they will be once everything planned is installed.
    #[arg(long)]
    pub planned: bool,
    /// The date to print on the sheets and to judge acceptances by, instead of today.
    #[arg(long, value_name = "DATE")]
    pub today: Option<jiff::civil::Date>,
    /// Do not fail where a folder has no offices.
    #[arg(long)]
    pub allow_empty: bool,
}

#[derive(Args, Debug)]
pub(crate) struct ExpandArguments {
    /// The file of an office.
    pub office: PathBuf,
}

#[derive(Args, Debug)]
pub(crate) struct CompareArguments {
    /// What to compare with: a folder, or else a revision of git.
    pub base: String,
    /// What to compare: a folder or a revision; where it is left out, the working tree with what is not committed yet.
    pub head: Option<String>,
    /// The format of the comparison: text, markdown for a pull request, html (one page for a browser, with before and now side by
    /// side), or json (grammar/comparison.schema.json). Standard output has the brief form; `markdown=FILE` writes the full list to a
    /// file. An html page is bounded in size unless --all is given. Several may be given.
    #[arg(long, value_name = "FORM[=FILE]", default_value = "text", value_parser = output::<CompareForm>)]
    pub output: Vec<Output<CompareForm>>,
    /// List every result, change and figure, on standard output and in html as well.
    #[arg(long)]
    pub all: bool,
    /// Fail where a result of this level or above is new, or has risen to it.
    #[arg(long, value_name = "LEVEL")]
    pub fail_on: Option<FailingLevel>,
    /// Read every file anew. Otherwise files that are the same in both states may be taken from the cache of earlier runs. The output
    /// is the same.
    #[arg(long)]
    pub no_cache: bool,
    /// Judge acceptances as of this day instead of today.
    #[arg(long, value_name = "DATE")]
    pub today: Option<jiff::civil::Date>,
}

/// A format of a comparison.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(crate) enum CompareForm {
    /// Text for people.
    Text,
    /// A comment for a pull request.
    Markdown,
    /// A page for a browser.
    Html,
    /// One JSON document, which always has everything.
    Json,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(crate) enum PredictOutput {
    /// Tables.
    Text,
    /// One JSON document.
    Json,
}

#[derive(Args, Debug)]
pub(crate) struct RecordsArguments {
    /// Files of offices, or folders with such files.
    #[arg(required = true)]
    pub offices: Vec<PathBuf>,
    /// The format of the records: markdown, csv or json (grammar/records.schema.json). `csv=FILE` writes to a file; several
    /// may be given.
    #[arg(long, value_name = "FORM[=FILE]", default_value = "markdown", value_parser = output::<RecordsForm>)]
    pub output: Vec<Output<RecordsForm>>,
    /// Say which records are new, changed or withdrawn since this revision in git.
    #[arg(long, value_name = "REV")]
    pub since: Option<String>,
    /// With --since, list every record in Markdown, not only those that are new or changed.
    #[arg(long, requires = "since")]
    pub all: bool,
    /// Write only the message that the unit is in place and ready for test.
    #[arg(long, conflicts_with = "output")]
    pub note: bool,
    /// Judge acceptances as of this day instead of today.
    #[arg(long, value_name = "DATE")]
    pub today: Option<jiff::civil::Date>,
    /// Do not fail where a folder has no offices.
    #[arg(long)]
    pub allow_empty: bool,
}

/// A format of records.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(crate) enum RecordsForm {
    /// Tables for people.
    Markdown,
    /// Comma-separated values by RFC 4180.
    Csv,
    /// JSON (grammar/records.schema.json).
    Json,
}

#[derive(Args, Debug)]
pub(crate) struct FormatArguments {
    /// Files, folders, or - for standard input, which is written to standard output.
    #[arg(default_value = ".")]
    pub paths: Vec<PathBuf>,
    /// Change nothing; list the files that would change.
    #[arg(long)]
    pub check: bool,
    /// Change nothing; show what would change.
    #[arg(long)]
    pub diff: bool,
    /// Do not fail where a folder has no offices.
    #[arg(long)]
    pub allow_empty: bool,
}

#[derive(Args, Debug)]
pub(crate) struct MigrateArguments {
    /// A folder of the repository, or one around several.
    #[arg(default_value = ".")]
    pub folder: PathBuf,
    /// Change nothing; list the files that would change.
    #[arg(long)]
    pub check: bool,
    /// Change nothing; show what would change.
    #[arg(long)]
    pub diff: bool,
}

#[derive(Args, Debug)]
pub(crate) struct MergeDriverArguments {
    /// The file that both versions come from.
    pub base: PathBuf,
    /// The version of this branch, which is replaced by the merged one.
    pub ours: PathBuf,
    /// The version of the other branch.
    pub theirs: PathBuf,
    /// How many characters the markers of a conflict have.
    #[arg(default_value = "7", value_parser = clap::value_parser!(u16).range(1..=200))]
    pub marker_size: u16,
    /// The path of the file in the repository, for messages.
    pub path: Option<PathBuf>,
}

/// How to configure the merge driver in git, and the exit codes that git expects.
fn merge_driver_help() -> String {
    format!(
        "In .gitattributes of the repository:\n\n    {}\n\nOnce in each clone, or with --global once on each machine:\n\n    git config \
         merge.drysheath.driver \"drysheath merge-driver %O %A %B %L %P\"\n\nWhere that is not set, git merges by lines, as \
         always.\n\nExit code: 0 when merged, 1 when there are conflicts, {} when a file could not be read or written: then git \
         stops the merge.",
        include_str!("start/template/gitattributes").trim(),
        crate::outcome::MERGE_FAILED
    )
}

#[derive(Args, Debug)]
pub(crate) struct StartArguments {
    /// The folder, which may exist.
    #[arg(value_name = "DIR")]
    pub folder: PathBuf,
}

#[derive(Args, Debug)]
pub(crate) struct RulesArguments {
    /// The rule to explain.
    pub name: Option<String>,
    /// Text for people, or JSON for programs (grammar/rules.schema.json).
    #[arg(long, value_name = "FORM", default_value = "text")]
    pub output: RulesForm,
}

/// A format of rules.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(crate) enum RulesForm {
    /// A list, or a page.
    Text,
    /// One JSON document.
    Json,
}

/// An output format of results or records, and its destination.
#[derive(Clone, Debug)]
pub(crate) struct Output<F> {
    pub form: F,
    /// File to write to. Standard output if `None`.
    pub to: Option<PathBuf>,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(crate) enum Form {
    /// Excerpts for people.
    Text,
    /// How many results there are of each rule and in each file.
    Counts,
    /// SARIF 2.1.0.
    Sarif,
    /// JSON (grammar/results.schema.json).
    Json,
    /// A comment for a pull request.
    Markdown,
    /// `JUnit` XML.
    Junit,
    /// Workflow commands of GitHub Actions, which it shows beside the lines.
    Annotations,
    /// A Code Quality report of GitLab.
    CodeQuality,
}

/// Value parser: the name of a rule.
fn rule(name: &str) -> Result<&'static str, String> {
    if let Some(rule) = drysheath_rules::find(name) {
        return Ok(rule.name());
    }
    let near = drysheath_office::nearest(name, drysheath_rules::RULES.iter().map(|rule| rule.name()));
    Err(match near {
        Some(near) => format!("unknown rule; is `{near}` meant?"),
        None => "unknown rule; `drysheath rules` lists them".to_owned(),
    })
}

/// Value parser: the events of a `when` statement, on one line.
fn events(written: &str) -> Result<String, String> {
    let events = written.split_whitespace().collect::<Vec<_>>().join(" ");
    if parse(&expecting_no_alarm(&events)).problems.is_empty() {
        return Ok(events);
    }
    Err(match parse(&format!("when {events}")).problems.first() {
        None => "state only what happens, without `expect`".to_owned(),
        Some(problem) => problem.message.clone(),
    })
}

/// The statement of events that are asked about. It needs an expectation, which is not shown: no alarm will do.
pub(crate) fn expecting_no_alarm(events: &str) -> String {
    format!("when {events} expect no alarm")
}

fn output<F: ValueEnum>(written: &str) -> Result<Output<F>, String> {
    let (form, to) = match written.split_once('=') {
        Some((form, to)) if !to.is_empty() => (form, Some(PathBuf::from(to))),
        Some(_) => return Err("a file name is expected after `=`".to_owned()),
        None => (written, None),
    };
    let form = F::from_str(form, false).map_err(|_| {
        let forms = F::value_variants().iter().filter_map(ValueEnum::to_possible_value);
        let names: Vec<String> = forms.map(|form| form.get_name().to_owned()).collect();
        format!("unknown format `{form}`, known are {}", names.join(", "))
    })?;
    Ok(Output { form, to })
}

#[derive(Clone, Copy, Debug, ValueEnum)]
pub(crate) enum Colour {
    /// On a terminal, unless `NO_COLOR` is set.
    Auto,
    /// Always.
    Always,
    /// Never.
    Never,
}

#[derive(Clone, Copy, Debug, ValueEnum)]
pub(crate) enum FailingLevel {
    /// Errors.
    Error,
    /// Errors and warnings.
    Warning,
    /// Anything.
    Note,
}

impl From<FailingLevel> for Level {
    fn from(level: FailingLevel) -> Self {
        match level {
            FailingLevel::Error => Self::Error,
            FailingLevel::Warning => Self::Warning,
            FailingLevel::Note => Self::Note,
        }
    }
}
