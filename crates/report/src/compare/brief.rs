//! A comparison that a reviewer reads in ten seconds: what got worse, what changed, what was renamed. Terminal and pull
//! request get the same tables.

use super::groups::{self, ChangeGroup, MOST_RESULTS, ResultGroup};
use super::headline::{figure, message, said};
use super::margins::{MovedFigures, Tightest, by, spreads, tightest};
use super::record::{ChangeRecord, Comparison, Deed, FigureOf, Of, OfficeRecord, PartRecord, ResultsRecord, What};
use crate::plural::several;

/// A table of a comparison.
pub struct BriefTable {
    /// Heading of the table.
    pub title: String,
    /// Headings of its columns.
    pub columns: &'static [&'static str],
    /// Rows, with one cell for each column.
    pub rows: Vec<Vec<String>>,
    /// Number of results, changes or other items that the rows stand for.
    pub total: usize,
    /// A note on the items that are not listed.
    pub left_out: Option<String>,
    /// Whether it is collapsed and shown on request.
    pub is_folded: bool,
    /// What a row is, as a singular noun.
    noun: &'static str,
}

/// Limit of rows in a table.
const MOST_ROWS: usize = 12;
/// Limit of a cell's length in characters; the full list has the whole text.
const LONGEST: usize = 240;
/// Limit of kinds of equipment listed for an added office.
const MOST_KINDS: usize = 8;

const RESULTS: &[&str] = &["level", "rule", "where", "what"];
const CHANGES: &[&str] = &["office", "what", "which", "before", "now"];

/// The tables in reading order.
pub(super) fn blocks(comparison: &Comparison) -> Vec<BriefTable> {
    let blocks = [
        results(comparison, "Worse", false, |results| results.worse().collect()),
        margins(comparison),
        moves(comparison),
        parts(comparison),
        settings(comparison),
        changes(comparison, "Changed", |change| change.what != Deed::Renamed),
        offices(comparison),
        renamed(comparison),
        not_compared(comparison),
        results(comparison, "Other figure or level", true, |results| {
            results.different.iter().filter(|result| !result.is_graver()).collect()
        }),
        results(comparison, "Gone", true, |results| results.gone.iter().collect()),
    ];
    let blocks = blocks.into_iter().filter(|block| !block.rows.is_empty());
    blocks.map(BriefTable::cut).collect()
}

impl Comparison {
    /// The tables of tightest margins after the change and of changed predictions, uncut; empty ones are left out.
    pub fn tables_of_figures(&self) -> Vec<BriefTable> {
        let tables = [margins(self), moves(self)];
        tables.into_iter().filter(|block| !block.rows.is_empty()).collect()
    }

    /// The table of files that cannot be compared, with the reasons. `None` where all can be.
    pub fn table_of_not_compared(&self) -> Option<BriefTable> {
        Some(not_compared(self)).filter(|block| !block.rows.is_empty())
    }

    /// Results grouped by rule and level, the gravest first.
    pub fn result_groups<'c>(
        &'c self,
        of: impl Fn(&'c ResultsRecord) -> Vec<&'c super::record::ResultRecord>,
    ) -> Vec<ResultGroup<'c>> {
        groups::results(self, 0, of)
    }
}

/// Builds a table with one `noun` for each row.
fn block(title: &str, columns: &'static [&'static str], rows: Vec<Vec<String>>, noun: &'static str) -> BriefTable {
    BriefTable {
        title: title.to_owned(),
        columns,
        total: rows.len(),
        rows,
        left_out: None,
        is_folded: false,
        noun,
    }
}

impl BriefTable {
    /// Limits the number of rows and the length of cells, and counts the rows left out.
    fn cut(mut self) -> Self {
        let more = self.rows.len().saturating_sub(MOST_ROWS);
        self.left_out = (more > 0).then(|| format!("and {} more", several(more, self.noun)));
        self.rows.truncate(MOST_ROWS);
        for cell in self.rows.iter_mut().flatten() {
            *cell = clipped(std::mem::take(cell));
        }
        self
    }
}

/// Limits the length of a cell.
fn clipped(cell: String) -> String {
    match cell.char_indices().nth(LONGEST) {
        Some((end, _)) => format!("{} …", cell.get(..end).unwrap_or_default()),
        None => cell,
    }
}

fn results<'c>(
    comparison: &'c Comparison,
    title: &str,
    is_folded: bool,
    of: impl Fn(&'c ResultsRecord) -> Vec<&'c super::record::ResultRecord>,
) -> BriefTable {
    let groups = groups::results(comparison, MOST_RESULTS, of);
    let rows = groups.iter().map(result_row).collect();
    BriefTable {
        is_folded,
        total: groups.iter().map(|group| group.results.len()).sum(),
        ..block(title, RESULTS, rows, "rule")
    }
}

fn result_row(group: &ResultGroup<'_>) -> Vec<String> {
    let worst = group.worst;
    let place = format!("{}:{}", worst.file, worst.line);
    let (place, said) = match group.results.len() {
        1 => (place, message(worst)),
        number => (
            format!("{number} in {}", several(group.files, "file")),
            format!("such as {place}: {}", message(worst)),
        ),
    };
    vec![worst.level.clone(), worst.rule.clone(), place, said]
}

/// Plural name of a type of figure.
fn sort(of: FigureOf) -> &'static str {
    match of {
        FigureOf::Reading => "readings",
        FigureOf::Voltage => "voltages at loads",
        FigureOf::Loop => "loops",
        FigureOf::Lowest => "lowest pressures of sections",
        FigureOf::Outlet => "pressures downstream of regulators",
        FigureOf::Highest => "highest pressures at equipment",
    }
}

fn margins(comparison: &Comparison) -> BriefTable {
    let row = |tightest: &Tightest<'_>| {
        vec![
            tightest.limit.to_owned(),
            format!("{} in {}", tightest.figures, several(tightest.offices, "office")),
            tightest.past.to_string(),
            figure(tightest.margin.after, tightest.unit),
            figure(tightest.margin.before, tightest.unit),
            format!("{}: {}", tightest.office.office, tightest.figure.name()),
        ]
    };
    let rows = tightest(comparison).iter().map(row).collect();
    let columns = &[
        "limit",
        "figures that moved",
        "past it",
        "tightest margin now",
        "before",
        "where",
    ];
    block("Margins after the change", columns, rows, "limit")
}

fn moves(comparison: &Comparison) -> BriefTable {
    let signed = |value: Option<f64>, unit: &str| {
        value.map_or_else(
            || "not computed".to_owned(),
            |value| format!("{:+} {unit}", shortened(value)),
        )
    };
    let row = |spread: &MovedFigures<'_>| {
        let (office, worst) = spread.worst;
        let unknown = match spread.unknown {
            0 => String::new(),
            unknown => format!(", {unknown} known in one state only"),
        };
        vec![
            sort(spread.of).to_owned(),
            format!("{} in {}{unknown}", spread.figures, several(spread.offices, "office")),
            format!(
                "{} ({} before, {} now)",
                signed(by(worst), spread.unit),
                figure(worst.before, spread.unit),
                figure(worst.after, spread.unit)
            ),
            signed(spread.median, spread.unit),
            format!("{}: {}", office.office, worst.name()),
        ]
    };
    let rows = spreads(comparison).iter().map(row).collect();
    let columns = &["of", "how many", "worst", "median", "where"];
    block("Predictions that moved", columns, rows, "sort")
}

/// Rounds a difference of two figures to thousandths.
fn shortened(value: f64) -> f64 {
    const DIGITS: f64 = 1000.0;
    (value * DIGITS).round() / DIGITS
}

fn parts(comparison: &Comparison) -> BriefTable {
    let parts = comparison.parts_files.iter();
    let mut parts: Vec<_> = parts
        .flat_map(|file| file.parts.iter().map(move |part| (file, part)))
        .collect();
    parts.sort_by_key(|(_, part)| std::cmp::Reverse((part.worse, part.margins_shrank, part.offices)));
    let row = |(file, part): &(&super::record::PartsFileRecord, &PartRecord)| {
        let fields: Vec<String> = part.fields.iter().map(|change| said(change, false)).collect();
        let before = part.before.as_ref().map(|before| format!(", before {before}"));
        vec![
            part.name.clone(),
            file.file.clone(),
            format!("{}{}", part.what.word(), before.unwrap_or_default()),
            fields.join("; "),
            part.offices.to_string(),
            part.worse.to_string(),
            part.margins_shrank.to_string(),
        ]
    };
    let columns = &["part", "file", "what", "fields", "offices", "worse", "margin shrank"];
    block("Parts", columns, parts.iter().map(row).collect(), "part")
}

fn settings(comparison: &Comparison) -> BriefTable {
    let cell = |value: &Option<String>| value.clone().unwrap_or_else(|| "nothing".to_owned());
    let row = |setting: &super::record::SettingsRecord| {
        let (file, name) = (setting.file.clone(), setting.name.clone());
        vec![file, name, cell(&setting.before), cell(&setting.after)]
    };
    let rows = comparison.settings.iter().map(row).collect();
    block("Settings", &["file", "setting", "before", "now"], rows, "setting")
}

fn changes(comparison: &Comparison, title: &str, of: impl Fn(&ChangeRecord) -> bool) -> BriefTable {
    let groups = groups::changes(comparison, of);
    let rows = groups.iter().filter_map(change_row).collect();
    BriefTable {
        total: groups.iter().map(|group| group.changes.len()).sum(),
        ..block(title, CHANGES, rows, "row")
    }
}

fn change_row(group: &ChangeGroup<'_>) -> Option<Vec<String>> {
    let (office, change) = group.changes.first()?;
    let words = |words: &Option<String>| words.clone().unwrap_or_default();
    let (before, after) = (words(&change.before), words(&change.after));
    if group.changes.len() == 1 {
        return Some(vec![
            office.office.clone(),
            change.deed().to_owned(),
            change.which(),
            before,
            after,
        ]);
    }
    let kind = match (&change.field_kind, change.of) {
        (Some(kind), _) => kind.clone(),
        (None, of) => of.noun().to_owned(),
    };
    let example = if group.is_uniform {
        "all alike, such as"
    } else {
        "such as"
    };
    Some(vec![
        several(group.offices, "office"),
        change.deed().to_owned(),
        format!(
            "{kind}, {} times, {example} {}: {}",
            group.changes.len(),
            office.office,
            change.which()
        ),
        before,
        after,
    ])
}

/// Added and removed offices, and what they contain.
fn offices(comparison: &Comparison) -> BriefTable {
    let came = |office: &&OfficeRecord| matches!(office.what, What::Added | What::Removed);
    let row = |office: &OfficeRecord| {
        let mut held: Vec<_> = office.holds.iter().collect();
        held.sort_by_key(|held| std::cmp::Reverse(held.number));
        let more: usize = held.iter().skip(MOST_KINDS).map(|held| held.number).sum();
        let held = held.iter().take(MOST_KINDS);
        let mut holds: Vec<String> = held.map(|held| several(held.number, &held.kind)).collect();
        if more > 0 {
            holds.push(format!("{more} more"));
        }
        let results = match office.results.new.len() {
            0 => "none".to_owned(),
            new => new.to_string(),
        };
        vec![
            office.what.words().to_owned(),
            name(office),
            office.file.clone(),
            holds.join(", "),
            results,
        ]
    };
    let rows = comparison.offices.iter().filter(came).map(row).collect();
    let columns = &["what", "office", "file", "holds", "results"];
    block("Offices that came or went", columns, rows, "office")
}

fn name(office: &OfficeRecord) -> String {
    match &office.title {
        Some(title) => format!("{} ({title})", office.office),
        None => office.office.clone(),
    }
}

/// Renamed items, and offices that moved to another file.
fn renamed(comparison: &Comparison) -> BriefTable {
    let moved = comparison.offices.iter().filter_map(|office| {
        let before = office.file_before.clone()?;
        Some(vec![
            office.office.clone(),
            "file".to_owned(),
            before,
            office.file.clone(),
        ])
    });
    let things = comparison.offices.iter().flat_map(|office| {
        let renamed = office.changes.iter().filter(|change| change.what == Deed::Renamed);
        renamed.map(|change| {
            let words = |words: &Option<String>| words.clone().unwrap_or_default();
            vec![
                office.office.clone(),
                change.subject.clone(),
                words(&change.before),
                words(&change.after),
            ]
        })
    });
    let rows = moved.chain(things).collect();
    block("Renamed", &["office", "which", "before", "now"], rows, "name")
}

/// Files that cannot be compared, with the reasons.
fn not_compared(comparison: &Comparison) -> BriefTable {
    let offices = comparison
        .offices
        .iter()
        .map(|office| (&office.file, office.what, &office.note));
    let parts = comparison
        .parts_files
        .iter()
        .map(|file| (&file.file, file.what, &file.note));
    let broken = offices
        .chain(parts)
        .filter(|(_, what, _)| matches!(what, What::Mended | What::NotCompared));
    let row = |(file, what, note): (&String, What, &Option<String>)| {
        vec![file.clone(), what.words().to_owned(), note.clone().unwrap_or_default()]
    };
    let rows = broken.map(row).collect();
    block("Not compared", &["file", "what", "why"], rows, "file")
}

impl Of {
    /// Plural name of the type.
    fn noun(self) -> &'static str {
        match self {
            Self::Thing => "equipment",
            Self::Field => "fields",
            Self::Wire => "wires",
            Self::Air => "air runs",
            Self::Power => "power runs",
            Self::Ground => "ground runs",
            Self::Spare => "spare numbers",
            Self::PairState => "pairs of others or defective",
            Self::Acceptance => "acceptances",
            Self::Reading => "readings of a visit",
            Self::When => "expectations of other states",
            Self::Part => "parts of the office's own",
            Self::Use => "files that are used",
        }
    }
}
