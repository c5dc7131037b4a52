//! The results as a comment on a pull request.

use std::fmt::Write;

use drysheath_rules::Level;

use super::{Results, State, Told};
use crate::count::several;

/// Longer comments are refused where they are to be pasted.
const MOST: usize = 60_000;
/// What the last line of a cut comment may take.
const ROOM: usize = 300;

/// The results as Markdown: what is new, what is gone, what stays, each with its place. Under 60,000 characters; what does
/// not fit is said to be missing.
pub fn markdown(results: &Results<'_>) -> String {
    let mut page = Page::default();
    let told: Vec<Told<'_>> = results.all().filter(|told| told.finding.accepted.is_none()).collect();
    let (known, fresh): (Vec<_>, Vec<_>) = told.into_iter().partition(|told| told.state == Some(State::Unchanged));
    let _ = writeln!(page.out, "## drysheath: {}\n", verdict(results, fresh.len()));
    if let Some(left_out) = results.left_out {
        let _ = writeln!(page.out, "{left_out}\n");
    }
    let title = if results.has_baseline() { "New" } else { "Results" };
    page.table(title, &rows(results, &fresh));
    let gone: Vec<Row> = results
        .gone()
        .iter()
        .map(|known| Row {
            level: known.level.clone(),
            place: format!("`{}:{}`", known.address, known.line),
            message: known.message.clone(),
            rule: known.rule.clone(),
        })
        .collect();
    page.table("Gone", &gone);
    page.folded("As before", &rows(results, &known));
    if !results.troubles.is_empty() {
        let _ = writeln!(page.out, "### Not looked at\n");
        for trouble in results.troubles {
            page.line(&format!("* {}", escaped(trouble)));
        }
    }
    page.finish()
}

fn verdict(results: &Results<'_>, fresh: usize) -> String {
    let files = several(results.looked_at, "file");
    let new = if results.has_baseline() { " new" } else { "" };
    let failing = results
        .fresh()
        .filter(|told| told.finding.level >= results.fail_on)
        .count();
    match (fresh, failing) {
        (0, _) => format!("nothing{new} in {files}"),
        (_, 0) => format!("{}{new} in {files}, none of which fails", several(fresh, "result")),
        _ => format!(
            "{}{new} in {files}, {failing} at or above *{}*",
            several(fresh, "result"),
            results.fail_on.word()
        ),
    }
}

struct Row {
    level: String,
    place: String,
    message: String,
    rule: String,
}

fn rows(results: &Results<'_>, told: &[Told<'_>]) -> Vec<Row> {
    let mut rows: Vec<(Level, Row)> = told
        .iter()
        .map(|told| {
            let region = results.region(told.finding.place);
            let help = told
                .finding
                .help
                .as_ref()
                .map_or(String::new(), |help| format!("; {help}"));
            let row = Row {
                level: told.finding.level.word().to_owned(),
                place: format!("`{}:{}`", results.path(told.finding.place.file), region.start_line),
                message: format!("{}{help}", told.finding.message),
                rule: told.finding.rule.name.to_owned(),
            };
            (told.finding.level, row)
        })
        .collect();
    rows.sort_by_key(|(level, _)| std::cmp::Reverse(*level));
    rows.into_iter().map(|(_, row)| row).collect()
}

#[derive(Default)]
struct Page {
    out: String,
    left_out: usize,
}

impl Page {
    fn has_room(&self, more: usize) -> bool {
        self.out.chars().count() + more + ROOM <= MOST
    }

    fn line(&mut self, line: &str) {
        if self.has_room(line.chars().count() + 1) {
            self.out.push_str(line);
            self.out.push('\n');
        } else {
            self.left_out += 1;
        }
    }

    fn table(&mut self, title: &str, rows: &[Row]) {
        if rows.is_empty() {
            return;
        }
        let _ = writeln!(self.out, "### {title}: {}\n", rows.len());
        self.rows(rows);
    }

    fn folded(&mut self, title: &str, rows: &[Row]) {
        if rows.is_empty() {
            return;
        }
        let _ = writeln!(self.out, "<details><summary>{title}: {}</summary>\n", rows.len());
        self.rows(rows);
        let _ = writeln!(self.out, "</details>\n");
    }

    fn rows(&mut self, rows: &[Row]) {
        let _ = writeln!(self.out, "| level | place | what | rule |\n|---|---|---|---|");
        // Once one row has no room, no later one jumps the queue.
        let mut cut = false;
        for row in rows {
            let line = format!(
                "| {} | {} | {} | {} |",
                escaped(&row.level),
                row.place,
                escaped(&row.message),
                escaped(&row.rule)
            );
            if cut || !self.has_room(line.chars().count() + 1) {
                cut = true;
                self.left_out += 1;
            } else {
                self.line(&line);
            }
        }
        self.out.push('\n');
    }

    fn finish(mut self) -> String {
        if self.left_out > 0 {
            let _ = writeln!(
                self.out,
                "*{} more did not fit into {MOST} characters: run `drysheath lint` to see all of them.*",
                several(self.left_out, "line")
            );
        }
        self.out
    }
}

/// Text that a table's cell can hold.
fn escaped(text: &str) -> String {
    text.replace('|', "\\|").replace(['\n', '\r'], " ").replace('<', "&lt;")
}
