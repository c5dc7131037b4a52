//! What changed in each office, before and now side by side, with its predictions and pictures; and shared parts and
//! settings.

use drysheath_report::comparison::{CurveRecord, FigureRecord, OfficeRecord, What};
use drysheath_report::{ChangeRecord, Comparison, Deed, Of};
use maud::{Markup, html};

use super::curve::{is_drawn, picture};
use super::differing::marked;
use super::rows::{Budget, kind, missing, table};
use super::searched;

const CHANGES: [&str; 4] = ["What", "Which", "Before", "Now"];
const SETTINGS: [&str; 4] = ["File", "Setting", "Before", "Now"];
const FIGURES: [&str; 6] = [
    "Prediction",
    "Before",
    "Now",
    "Tightest limit",
    "Margin before",
    "Margin now",
];

/// Changed parts and settings. `None` if none changed.
pub fn shared(comparison: &Comparison, budget: &mut Budget) -> Option<Markup> {
    let mut drawn = Vec::new();
    let mut parts: Vec<_> = comparison
        .parts_files
        .iter()
        .flat_map(|file| file.parts.iter().map(move |part| (file.file.as_str(), part)))
        .collect();
    parts.sort_by_key(|(_, part)| std::cmp::Reverse((part.worse, part.margins_shrank, part.offices)));
    for (file, part) in parts {
        let granted = budget.rows(part.fields.len().max(1));
        if granted == 0 {
            continue;
        }
        let rows: Vec<Markup> = if part.fields.is_empty() {
            vec![html! { tr class=(part.what.word()) data-kind="shared" { td colspan="4" { (part.what.word()) } } }]
        } else {
            let fields = part.fields.iter().take(granted);
            fields
                .map(|change| change_row(change, budget, Some("shared")))
                .collect()
        };
        drawn.push(html! {
            article.office data-holds="" {
                h3 { "Part " (part.name) }
                p.soft { (part.sentence(file)) }
                (table("changes", &format!("changes of part {}", part.name), &CHANGES, rows))
            }
        });
    }
    let granted = budget.rows(comparison.settings.len());
    if granted > 0 {
        let rows = comparison.settings.iter().take(granted).map(|setting| {
            let (before, after) = marked(setting.before.as_deref(), setting.after.as_deref());
            html! {
                tr.changed data-kind="shared" {
                    td data-label=(SETTINGS[0]) { (setting.file) }
                    td data-label=(SETTINGS[1]) { (setting.name) }
                    td data-label=(SETTINGS[2]) { (before) }
                    td data-label=(SETTINGS[3]) { (after) }
                }
            }
        });
        drawn.push(html! { article.office data-holds="" { h3 { "Settings" } (table("changes", "settings that changed", &SETTINGS, rows.collect())) } });
    }
    (!drawn.is_empty())
        .then(|| html! { section.block id="shared" { h2 { "Parts and settings" } @for one in drawn { (one) } } })
}

/// Offices that changed, those that got worse first. Unchanged offices are only counted.
pub fn section(comparison: &Comparison, budget: &mut Budget) -> Option<Markup> {
    let mut offices: Vec<&OfficeRecord> = comparison
        .offices
        .iter()
        .filter(|office| !office.what.means_the_same() || office.file_before.is_some())
        .collect();
    offices.sort_by_key(|office| (!office.worse, !office.margin_shrank, office.what == What::Touched));
    let total = offices.len();
    let drawn: Vec<Markup> = offices.iter().filter_map(|office| one(office, budget)).collect();
    let more = total - drawn.len();
    (total > 0).then(|| {
        html! {
            section.block id="offices" {
                h2 { "Offices: " (total) }
                @for office in drawn { (office) }
                (missing(more, "more office", ""))
            }
        }
    })
}

/// Section of one office. `None` if the page has no room for it.
fn one(office: &OfficeRecord, budget: &mut Budget) -> Option<Markup> {
    let curves: Vec<&CurveRecord> = office.curves.iter().filter(|curve| is_drawn(curve)).collect();
    let wanted = office.changes.len() + office.figures.len();
    if !budget.heading() {
        budget.leave_out(wanted, curves.len());
        return None;
    }
    let granted = budget.rows(wanted);
    let changes: Vec<Markup> = office
        .changes
        .iter()
        .take(granted)
        .map(|change| change_row(change, budget, None))
        .collect();
    let figures: Vec<Markup> = office
        .figures
        .iter()
        .take(granted - changes.len())
        .map(figure_row)
        .collect();
    let pictures = budget.pictures(curves.len());
    let cut = wanted - changes.len() - figures.len();
    let no_pictures = curves.len() - pictures;
    Some(html! {
        article.office data-holds="" data-office=(searched(office)) {
            h3 { (name(office)) @if office.worse { " " span.level.error { "WORSE" } } }
            p.soft { (about(office)) }
            @if let Some(results) = results(office) { p { (results) } }
            @if !changes.is_empty() { (table("changes", &format!("changes of {}", office.office), &CHANGES, changes)) }
            @if !figures.is_empty() { (table("figures", &format!("predictions of {} that moved", office.office), &FIGURES, figures)) }
            @for curve in curves.iter().take(pictures) { (picture(office, curve)) }
            (missing(cut, "more row", " of this office"))
            (missing(no_pictures, "more picture", " of this office"))
        }
    })
}

fn name(office: &OfficeRecord) -> String {
    match &office.title {
        Some(title) => format!("{title} ({})", office.office),
        None => office.office.clone(),
    }
}

/// File of the office, whether it was added, removed or changed, and what it contains if it was added or removed.
fn about(office: &OfficeRecord) -> String {
    let before = office.file_before.as_ref().map(|before| format!(", before {before}"));
    let note = office.note.as_ref().map(|note| format!(": {note}"));
    let parts = match office.parts.len() {
        0 => String::new(),
        _ => format!("; changed parts: {}", office.parts.join(", ")),
    };
    let holds: Vec<String> = office
        .holds
        .iter()
        .map(|held| format!("{} {}", held.number, held.kind))
        .collect();
    let holds = match holds.len() {
        0 => String::new(),
        _ => format!("; holds {}", holds.join(", ")),
    };
    format!(
        "{}{}; {}{}{parts}{holds}",
        office.file,
        before.unwrap_or_default(),
        office.what.words(),
        note.unwrap_or_default()
    )
}

/// Number of results that appeared and disappeared.
fn results(office: &OfficeRecord) -> Option<String> {
    let results = &office.results;
    let counts = [
        (results.new.len(), "new"),
        (results.different.len(), "with another figure or level"),
        (results.gone.len(), "gone"),
        (results.unchanged, "as before"),
    ];
    if results.is_quiet() {
        return None;
    }
    let told = counts.into_iter().filter(|(count, _)| *count > 0);
    let told: Vec<String> = told.map(|(count, words)| format!("{count} {words}")).collect();
    Some(format!("Results: {}.", told.join(", ")))
}

/// Row of a change. The type of change is the CSS class that colours the row; it is also written out, for copies
/// without colours.
fn change_row(change: &ChangeRecord, budget: &Budget, own_kind: Option<&'static str>) -> Markup {
    let cell = |text: &Option<String>| text.as_ref().map(|text| budget.cell(text));
    let (before, after) = (cell(&change.before), cell(&change.after));
    let (before, after) = marked(before.as_deref(), after.as_deref());
    let class = match (change.of, change.what) {
        (Of::Spare, _) => "spare",
        (_, what) => what.word(),
    };
    // The old name is in the column "before".
    let which = match change.what {
        Deed::Renamed => change.subject.clone(),
        _ => change.which(),
    };
    html! {
        tr class=(class) data-kind=(own_kind.unwrap_or_else(|| kind(change))) {
            td data-label=(CHANGES[0]) { (change.deed()) }
            td data-label=(CHANGES[1]) { (budget.cell(&which)) }
            td data-label=(CHANGES[2]) { (before) }
            td data-label=(CHANGES[3]) { (after) }
        }
    }
}

fn figure_row(figure: &FigureRecord) -> Markup {
    let shown = |value: Option<f64>| {
        value.map_or_else(|| "not computed".to_owned(), |value| format!("{value} {}", figure.unit))
    };
    let margin = figure.least_margin();
    let of_margin =
        |value: Option<f64>| value.map_or_else(|| "–".to_owned(), |value| format!("{value} {}", figure.unit));
    let (was, now) = (
        margin.and_then(|margin| margin.before),
        margin.and_then(|margin| margin.after),
    );
    let class = if now.is_some_and(|now| now < 0.0) {
        "past"
    } else if figure.margin_shrank {
        "shrank"
    } else {
        "moved"
    };
    html! {
        tr class=(class) data-kind="figures" {
            td data-label=(FIGURES[0]) { (figure.name()) }
            td data-label=(FIGURES[1]) { (shown(figure.before)) }
            td data-label=(FIGURES[2]) { (shown(figure.after)) }
            td data-label=(FIGURES[3]) { (margin.map_or("–", |margin| margin.limit.as_str())) }
            td data-label=(FIGURES[4]) { (of_margin(was)) }
            td data-label=(FIGURES[5]) { (of_margin(now)) @if class == "past" { b { ", past it" } } @else if class == "shrank" { ", less" } }
        }
    }
}
