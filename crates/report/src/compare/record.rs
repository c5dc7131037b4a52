//! The output of `compare` for programs. Text and Markdown are generated from the same record.

use drysheath_rules::{Level, ResultCount};
use schemars::JsonSchema;
use serde::Serialize;

use crate::document;

/// Value of [`Comparison::form`].
pub(super) const FORM: u32 = 1;

/// The differences between two states of a repository.
#[derive(Clone, Debug, JsonSchema, Serialize)]
pub struct Comparison {
    /// The form of this document; it grows when a field is taken away or changes its meaning.
    pub form: u32,
    /// What is compared with.
    pub base: VersionRecord,
    /// The state that is compared with it, as a rule the newer one.
    pub head: VersionRecord,
    /// All of it in a few numbers.
    pub summary: SummaryRecord,
    /// The settings files in which a level or a practice number changed.
    pub settings: Vec<SettingsRecord>,
    /// Files of parts that changed.
    pub parts_files: Vec<PartsFileRecord>,
    /// Offices that changed, or that parts or settings changed for.
    pub offices: Vec<OfficeRecord>,
    /// Results that only several files together give.
    pub across_files: ResultsRecord,
    /// What is not compared although nothing is wrong with it, such as a submodule, in words.
    pub left_out: Vec<String>,
    /// What could not be compared, in words.
    pub troubles: Vec<String>,
}

/// One of the two states.
#[derive(Clone, Debug, JsonSchema, Serialize)]
pub struct VersionRecord {
    /// What the user calls it.
    pub called: String,
    /// The commit, of a revision.
    pub commit: Option<String>,
}

/// All of it in a few numbers. Every office of the head is counted once under one of `added` to `untouched`.
#[derive(Clone, Debug, Default, JsonSchema, Serialize)]
pub struct SummaryRecord {
    /// How many offices the base has.
    pub offices_before: usize,
    /// How many the head has.
    pub offices_after: usize,
    /// Offices that the base does not have.
    pub added: usize,
    /// Offices that the head does not have.
    pub removed: usize,
    /// Offices in which something is another.
    pub changed: usize,
    /// Offices that say the same in other words, comments, layout or another file.
    pub same_meaning: usize,
    /// Offices whose file is the same, and whose parts or settings are not.
    pub touched: usize,
    /// Offices that could not be compared.
    pub not_compared: usize,
    /// Offices that cannot differ.
    pub untouched: usize,
    /// Of all these: how many lie in another file than before.
    pub moved_files: usize,
    /// How many offices have a result that is new or graver.
    pub worse: usize,
    /// How many offices have a margin that shrank by more than a step.
    pub margins_shrank: usize,
    /// Results that are new, by level.
    pub new: LevelsRecord,
    /// Results that are gone.
    pub gone: usize,
    /// Results that are there still and say another figure or have another level.
    pub different: usize,
    /// Results of the offices that were compared that are there still.
    pub unchanged: usize,
}

/// How many there are of each level.
#[derive(Clone, Copy, Debug, Default, JsonSchema, PartialEq, Eq, Serialize)]
pub struct LevelsRecord {
    /// The number of errors.
    pub errors: usize,
    /// The number of warnings.
    pub warnings: usize,
    /// The number of notes.
    pub notes: usize,
}

impl From<ResultCount> for LevelsRecord {
    fn from(count: ResultCount) -> Self {
        Self {
            errors: count.errors,
            warnings: count.warnings,
            notes: count.notes,
        }
    }
}

impl From<LevelsRecord> for ResultCount {
    fn from(record: LevelsRecord) -> Self {
        Self {
            errors: record.errors,
            warnings: record.warnings,
            notes: record.notes,
            accepted: 0,
        }
    }
}

/// A setting that changed.
#[derive(Clone, Debug, JsonSchema, PartialEq, Eq, Serialize)]
pub struct SettingsRecord {
    /// The settings file, as a path in the repository.
    pub file: String,
    /// The setting: a rule or a practice number.
    pub name: String,
    /// What held before; none where the setting was silent and has no default.
    pub before: Option<String>,
    /// The value in force in the head; none where nothing sets it.
    pub after: Option<String>,
}

/// How a file compares with its earlier state.
#[derive(Clone, Copy, Debug, JsonSchema, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum What {
    /// It was not there.
    Added,
    /// It is not there any more.
    Removed,
    /// It says something else.
    Changed,
    /// It says the same in other words or in another order.
    Reworded,
    /// Only comments changed, and perhaps layout.
    Comments,
    /// Only blanks, line ends or comments of the file changed.
    Layout,
    /// It lies in another file, and nothing else changed.
    Moved,
    /// Nothing in it changed; what it depends on did.
    Touched,
    /// It could not be read before.
    Mended,
    /// It cannot be compared.
    NotCompared,
}

impl What {
    /// Whether only wording, comments, layout or the path of a file differ.
    pub fn means_the_same(self) -> bool {
        matches!(self, Self::Reworded | Self::Comments | Self::Layout | Self::Moved)
    }
}

/// An office that changed, or whose parts or settings did.
#[derive(Clone, Debug, JsonSchema, Serialize)]
pub struct OfficeRecord {
    /// The office's name in the head, or in the base if it was removed.
    pub office: String,
    /// Its name as people say it.
    pub title: Option<String>,
    /// Its file; of an office that was removed, where it was.
    pub file: String,
    /// The file that it was in, where that is another.
    pub file_before: Option<String>,
    /// How it compares with its earlier state.
    pub what: What,
    /// What else is to be said of that.
    pub note: Option<String>,
    /// Whether a result is new or graver.
    pub worse: bool,
    /// Whether a margin shrank by more than a step.
    pub margin_shrank: bool,
    /// What an office that was added or removed holds.
    pub holds: Vec<HeldRecord>,
    /// The changed parts that its things are made from.
    pub parts: Vec<String>,
    /// What changed in it.
    pub changes: Vec<ChangeRecord>,
    /// Predictions that moved: of sensors by more than their step, of voltages and loops by more than a per cent.
    pub figures: Vec<FigureRecord>,
    /// The pressure along lines where it moved, for whoever draws it. It is kept only when asked for.
    #[serde(skip)]
    #[schemars(skip)]
    pub curves: Vec<CurveRecord>,
    /// What became of the office's results.
    pub results: ResultsRecord,
}

/// The pressure along a cable, a branch or a pipe in both states.
#[derive(Clone, Debug)]
pub struct CurveRecord {
    /// The line: "c101", or "c101 branch side".
    pub line: String,
    /// The unit of lengths.
    pub length_unit: &'static str,
    /// The unit of pressures, all of which are above that of the surrounding air.
    pub pressure_unit: &'static str,
    /// The line in the base.
    pub before: AlongRecord,
    /// The line in the head.
    pub after: AlongRecord,
    /// The sensors on it in the head, with their distances.
    pub sensors: Vec<(f64, String)>,
}

/// The pressure along a line in one state.
#[derive(Clone, Debug)]
pub struct AlongRecord {
    /// Length of the line.
    pub length: f64,
    /// Distance and computed pressure, where known.
    pub pressures: Vec<(f64, f64)>,
    /// Start, end and declared minimum pressure.
    pub least: Vec<(f64, f64, f64)>,
}

impl AlongRecord {
    /// The pressure at a distance, interpolated. `None` outside of the known range.
    pub fn pressure_at(&self, place: f64) -> Option<f64> {
        const ROUNDING: f64 = 1e-6;
        let end = self.pressures.iter().position(|(at, _)| *at >= place);
        let Some(end) = end else {
            let last = self.pressures.last()?;
            return (place <= last.0 + self.length * ROUNDING).then_some(last.1);
        };
        let (at, pressure) = *self.pressures.get(end)?;
        let Some((before, lower)) = end.checked_sub(1).and_then(|start| self.pressures.get(start)) else {
            return (at <= place).then_some(pressure);
        };
        Some(lower + (pressure - lower) * (place - before) / (at - before))
    }
}

/// How many things of one kind an office holds.
#[derive(Clone, Debug, JsonSchema, PartialEq, Eq, Serialize)]
pub struct HeldRecord {
    /// The kind, such as "cable".
    pub kind: String,
    /// How many things of it there are.
    pub number: usize,
}

/// A file of parts.
#[derive(Clone, Debug, JsonSchema, Serialize)]
pub struct PartsFileRecord {
    /// The file; of one that was removed, where it was.
    pub file: String,
    /// How it compares with its earlier state.
    pub what: What,
    /// What else is to be said of that.
    pub note: Option<String>,
    /// The parts in it that changed.
    pub parts: Vec<PartRecord>,
    /// What became of the results of the file itself.
    pub results: ResultsRecord,
}

/// A part that changed.
#[derive(Clone, Debug, JsonSchema, Serialize)]
pub struct PartRecord {
    /// Its name; of one that was removed, its name before.
    pub name: String,
    /// The kind of thing that it describes.
    pub kind: String,
    /// Added, removed, renamed, moved to another file, or changed.
    pub what: Deed,
    /// Its name or file before, where that is another.
    pub before: Option<String>,
    /// Its fields that changed.
    pub fields: Vec<ChangeRecord>,
    /// How many offices have a thing made from it.
    pub offices: usize,
    /// In how many of them a result is new or graver.
    pub worse: usize,
    /// In how many of them a margin shrank by more than a step.
    pub margins_shrank: usize,
}

/// What happened to the subject of a change.
#[derive(Clone, Copy, Debug, Hash, JsonSchema, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Deed {
    /// It has another name.
    Renamed,
    /// It is in, on or at another place.
    Moved,
    /// It says something else.
    Changed,
    /// It was not there.
    Added,
    /// It is not there any more.
    Removed,
}

impl Deed {
    /// The word for it in every output: "renamed", "added".
    pub fn word(self) -> &'static str {
        match self {
            Self::Renamed => "renamed",
            Self::Moved => "moved",
            Self::Changed => "changed",
            Self::Added => "added",
            Self::Removed => "removed",
        }
    }
}

/// What a change is about.
#[derive(Clone, Copy, Debug, Hash, JsonSchema, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Of {
    /// A thing, such as a dryer or a cable.
    Thing,
    /// A field of a thing, or what joins the ends of a run.
    Field,
    /// The way of a signal over pairs to its input, or pairs that are joined without a signal.
    Wire,
    /// A run of air tubing.
    Air,
    /// A run of power wiring.
    Power,
    /// A run of ground conductor.
    Ground,
    /// The numbers that are declared spare.
    Spare,
    /// Pairs that are assigned to others, defective, bunched or tapped.
    PairState,
    /// An acceptance of a result.
    Acceptance,
    /// What was read on a visit.
    Reading,
    /// What must hold in a state other than the normal one.
    When,
    /// A part that the office declares itself.
    Part,
    /// A file of parts that is used.
    Use,
}

/// One change of an office.
#[derive(Clone, Debug, JsonSchema, PartialEq, Eq, Serialize)]
pub struct ChangeRecord {
    /// What happened to the subject.
    pub what: Deed,
    /// The kind of subject that the change is of.
    pub of: Of,
    /// The thing, signal, run or statement.
    pub subject: String,
    /// What people call the thing, where it is a thing that has a title.
    pub title: Option<String>,
    /// The field, if it is one.
    pub field: Option<String>,
    /// The same without the names in it, such as "section usage" of "section s1 usage".
    pub field_kind: Option<String>,
    /// What was said before, as it was written.
    pub before: Option<String>,
    /// Its text now, as written.
    pub after: Option<String>,
    /// The line, from 1: in the head's file, or in the base's where it is there no more.
    pub line: Option<u32>,
}

impl ChangeRecord {
    /// Whether it is a change of a part, which matters only through the things that use it.
    pub fn is_of_part(&self) -> bool {
        self.of == Of::Part || self.subject.starts_with("part ")
    }

    /// The deed as a phrase: numbers that are no longer declared spare still exist.
    pub fn deed(&self) -> &'static str {
        match (self.of, self.what) {
            (Of::Spare, Deed::Removed) => "no longer spare",
            (Of::Spare, _) => "declared spare",
            (_, what) => what.word(),
        }
    }

    /// The subject for display.
    pub fn about(&self) -> String {
        match &self.title {
            Some(title) => format!("{} ({title})", self.subject),
            None => self.subject.clone(),
        }
    }

    /// The subject with its field.
    pub fn which(&self) -> String {
        match &self.field {
            Some(field) => format!("{} {field}", self.about()),
            None => self.about(),
        }
    }
}

/// What a figure is of.
#[derive(Clone, Copy, Debug, JsonSchema, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum FigureOf {
    /// What a sensor should read.
    Reading,
    /// The voltage at a load.
    Voltage,
    /// The resistance of a loop.
    Loop,
    /// The lowest pressure in a section of cable or in a pipe.
    Lowest,
    /// The pressure downstream of a regulator.
    Outlet,
    /// The highest pressure that a thing sees.
    Highest,
}

/// A prediction that moved.
#[derive(Clone, Debug, JsonSchema, Serialize)]
pub struct FigureRecord {
    /// What it is of.
    pub of: FigureOf,
    /// The signal or load.
    pub subject: String,
    /// The unit of all figures here.
    pub unit: String,
    /// Before; none where it was not computed.
    pub before: Option<f64>,
    /// Now; none where it is not computed any more.
    pub after: Option<f64>,
    /// How far it is on the good side of each of its limits.
    pub margins: Vec<MarginRecord>,
    /// Whether its least margin shrank, by more than a step.
    pub margin_shrank: bool,
}

/// How far a figure is on the good side of a limit.
#[derive(Clone, Debug, JsonSchema, Serialize)]
pub struct MarginRecord {
    /// The limit: "low-low", "low", "high", "high-high", "window", "loop-max", "minimum", "relief", or what the thing calls
    /// its rating: "rating", "proof" or "inlet-max".
    pub limit: String,
    /// The figure in the base, in the record's unit.
    pub before: Option<f64>,
    /// The figure in the head, in the record's unit.
    pub after: Option<f64>,
}

/// Results, against those before.
#[derive(Clone, Debug, Default, JsonSchema, Serialize)]
pub struct ResultsRecord {
    /// Those that were not there.
    pub new: Vec<ResultRecord>,
    /// Those that are there no more.
    pub gone: Vec<ResultRecord>,
    /// Those that are there still, and say another figure or have another level.
    pub different: Vec<ResultRecord>,
    /// How many are there still.
    pub unchanged: usize,
}

/// A result of one of the two states.
#[derive(Clone, Debug, JsonSchema, Serialize)]
pub struct ResultRecord {
    /// The name of the rule.
    pub rule: String,
    /// "error", "warning" or "note".
    pub level: String,
    /// The message of the result.
    pub message: String,
    /// How to correct it.
    pub help: Option<String>,
    /// The file that the result is in, as a path in the repository.
    pub file: String,
    /// The line, from 1.
    pub line: u32,
    /// The level before, where it was another.
    pub level_before: Option<String>,
    /// What it said before, where that was something else.
    pub message_before: Option<String>,
    /// Why it is accepted, where it is gone because an acceptance was added.
    pub accepted: Option<String>,
}

impl ResultRecord {
    /// The level of the result.
    pub(super) fn level(&self) -> Level {
        Level::find(&self.level).unwrap_or(Level::Note)
    }

    /// Whether its level is higher than before.
    pub fn is_graver(&self) -> bool {
        let before = self.level_before.as_deref().and_then(Level::find);
        before.is_some_and(|before| before < self.level())
    }
}

impl ResultsRecord {
    /// The results that are new or of a higher level.
    pub fn worse(&self) -> impl Iterator<Item = &ResultRecord> {
        let graver = self.different.iter().filter(|result| result.is_graver());
        self.new.iter().chain(graver)
    }

    /// Whether there is nothing to report.
    pub fn is_quiet(&self) -> bool {
        self.new.is_empty() && self.gone.is_empty() && self.different.is_empty()
    }
}

impl Comparison {
    /// Whether results got worse: one at `level` or above is new or has risen to it.
    pub fn fails(&self, level: Level) -> bool {
        self.all_results()
            .flat_map(ResultsRecord::worse)
            .any(|result| result.level() >= level)
    }

    /// The results of all offices, of all files of parts, and of the rules across files.
    pub(super) fn all_results(&self) -> impl Iterator<Item = &ResultsRecord> {
        let offices = self.offices.iter().map(|office| &office.results);
        let parts = self.parts_files.iter().map(|file| &file.results);
        offices.chain(parts).chain([&self.across_files])
    }

    /// The comparison as a JSON document.
    pub fn json(&self) -> String {
        document::json(self)
    }
}

/// The JSON Schema of [`Comparison`].
pub fn comparison_schema() -> String {
    document::schema::<Comparison>()
}
