//! A comparison as Markdown for a comment on a pull request.

use drysheath_rules::Level;
use drysheath_text::safe::markdown;

use super::brief::blocks;
use super::headline::{figure, message, said};
use super::record::{Comparison, OfficeRecord, ResultRecord, ResultsRecord, What};
use crate::extent::Extent;
use crate::page::Page;

const RESULTS: [&str; 4] = ["level", "place", "what", "rule"];
const CHANGES: [&str; 5] = ["office", "what", "which", "before", "now"];
const FIGURES: [&str; 6] = ["office", "figure", "before", "now", "margin before", "margin now"];

impl Comparison {
    /// The comparison as Markdown. The brief form is always under 10 kB; items left out are counted.
    pub fn markdown(&self, extent: Extent) -> String {
        let mut page = match extent {
            Extent::Brief => Page::at_a_glance(),
            Extent::Full => Page::whole(),
        };
        page.line(&format!("## drysheath: {}\n", markdown(&self.title())));
        for sentence in self.headline() {
            page.line(&format!("* {}", markdown(&sentence)));
        }
        page.line("");
        if !self.troubles.is_empty() {
            page.line("### Not compared\n");
            for trouble in &self.troubles {
                page.line(&format!("* {}", markdown(trouble)));
            }
            page.line("");
        }
        for left_out in &self.left_out {
            page.line(&format!("Left out: {}\n", markdown(left_out)));
        }
        match extent {
            Extent::Brief => self.brief_page(&mut page),
            Extent::Full => self.full_page(&mut page),
        }
        page.finish("drysheath compare --output markdown=FILE")
    }

    fn brief_page(&self, page: &mut Page) {
        let blocks = blocks(self);
        for block in &blocks {
            let mut rows = block.rows.clone();
            if let Some(left_out) = &block.left_out {
                let mut row = vec![String::new(); block.columns.len()];
                if let Some(last) = row.last_mut() {
                    last.clone_from(left_out);
                }
                rows.push(row);
            }
            if block.is_folded {
                page.grouped_folded(&block.title, block.total, block.columns, &rows);
            } else {
                page.grouped(&block.title, block.total, block.columns, &rows);
            }
        }
        if !self.is_quiet() {
            page.line("The full list: `drysheath compare --output markdown=FILE`.");
        }
    }

    fn full_page(&self, page: &mut Page) {
        page.table("New results", &RESULTS, &self.results(|results| &results.new));
        page.table(
            "Results that are gone",
            &RESULTS,
            &self.results(|results| &results.gone),
        );
        let different = self.results(|results| &results.different);
        page.table("Results with another figure or level", &RESULTS, &different);
        page.table(
            "Parts",
            &["part", "file", "what", "fields", "offices", "worse", "margin shrank"],
            &self.parts(),
        );
        page.table("Settings", &["file", "setting", "before", "now"], &self.settings());
        page.table("Files", &["office", "file", "how"], &self.files());
        page.table("Changes", &CHANGES, &self.changes());
        page.table(
            "Figures",
            &FIGURES,
            &self.figures(|office| office.what != What::Touched),
        );
        let touched = self.figures(|office| office.what == What::Touched);
        page.folded(
            "Figures of offices that parts or settings alone affect",
            &FIGURES,
            &touched,
        );
    }

    fn results(&self, of: fn(&ResultsRecord) -> &Vec<ResultRecord>) -> Vec<Vec<String>> {
        let mut all: Vec<&ResultRecord> = self.all_results().flat_map(of).collect();
        all.sort_by_key(|result| std::cmp::Reverse::<Level>(result.level()));
        all.into_iter()
            .map(|result| {
                let help = result.help.as_ref().map_or(String::new(), |help| format!("; {help}"));
                vec![
                    result.level.clone(),
                    format!("`{}:{}`", result.file, result.line),
                    message(result) + &help,
                    result.rule.clone(),
                ]
            })
            .collect()
    }

    fn parts(&self) -> Vec<Vec<String>> {
        let parts = self
            .parts_files
            .iter()
            .flat_map(|file| file.parts.iter().map(move |part| (file, part)));
        parts
            .map(|(file, part)| {
                let fields: Vec<String> = part.fields.iter().map(|change| said(change, false)).collect();
                let before = part
                    .before
                    .as_ref()
                    .map_or(String::new(), |before| format!(", before {before}"));
                vec![
                    part.name.clone(),
                    format!("`{}`", file.file),
                    format!("{}{before}", part.what.word()),
                    fields.join("; "),
                    part.offices.to_string(),
                    part.worse.to_string(),
                    part.margins_shrank.to_string(),
                ]
            })
            .collect()
    }

    fn settings(&self) -> Vec<Vec<String>> {
        let cell = |value: &Option<String>| value.clone().unwrap_or_default();
        self.settings
            .iter()
            .map(|setting| {
                let (before, after) = (cell(&setting.before), cell(&setting.after));
                vec![format!("`{}`", setting.file), setting.name.clone(), before, after]
            })
            .collect()
    }

    /// Rows for the files that need more explanation than that they changed.
    fn files(&self) -> Vec<Vec<String>> {
        let how = |what: What, note: &Option<String>, before: &Option<String>| {
            let before = before
                .as_ref()
                .map_or(String::new(), |before| format!(", before `{before}`"));
            let note = note.as_ref().map_or(String::new(), |note| format!(": {note}"));
            format!("{}{note}{before}", what.words())
        };
        let offices = self
            .offices
            .iter()
            .filter(|office| office.file_before.is_some() || !matches!(office.what, What::Changed | What::Touched))
            .map(|office| {
                let how = how(office.what, &office.note, &office.file_before);
                vec![office.office.clone(), format!("`{}`", office.file), how]
            });
        let parts = self
            .parts_files
            .iter()
            .filter(|file| !matches!(file.what, What::Changed | What::Touched))
            .map(|file| {
                vec![
                    String::new(),
                    format!("`{}`", file.file),
                    how(file.what, &file.note, &None),
                ]
            });
        parts.chain(offices).collect()
    }

    fn changes(&self) -> Vec<Vec<String>> {
        let changes = self
            .offices
            .iter()
            .flat_map(|office| office.changes.iter().map(move |change| (office, change)));
        changes
            .map(|(office, change)| {
                vec![
                    office.office.clone(),
                    change.deed().to_owned(),
                    change.which(),
                    change.before.clone().unwrap_or_default(),
                    change.after.clone().unwrap_or_default(),
                ]
            })
            .collect()
    }

    fn figures(&self, of: fn(&OfficeRecord) -> bool) -> Vec<Vec<String>> {
        let offices = self.offices.iter().filter(|office| of(office));
        let figures = offices.flat_map(|office| office.figures.iter().map(move |moved| (office, moved)));
        let mut rows: Vec<(bool, Vec<String>)> = figures
            .map(|(office, moved)| {
                let margin = moved.least_margin();
                let cell = |value: Option<f64>| value.map_or(String::new(), |value| figure(Some(value), &moved.unit));
                let row = vec![
                    office.office.clone(),
                    moved.name(),
                    figure(moved.before, &moved.unit),
                    figure(moved.after, &moved.unit),
                    cell(margin.and_then(|margin| margin.before)),
                    cell(margin.and_then(|margin| margin.after)),
                ];
                (moved.margin_shrank, row)
            })
            .collect();
        // Reduced margins come first, in case the page is cut.
        rows.sort_by_key(|(shrank, _)| !shrank);
        rows.into_iter().map(|(_, row)| row).collect()
    }
}
