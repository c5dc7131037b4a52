//! A Markdown page for hosts that limit the size of a page.

use std::fmt::Write;

use drysheath_text::safe::markdown_cell;

use crate::plural::several;

/// Limit of a comment in bytes; hosts refuse longer ones.
const MOST: usize = 60_000;
/// Limit of a page that people still read in a pull request, in bytes.
const MOST_AT_A_GLANCE: usize = 10_000;
/// Bytes reserved for the last line of a cut page.
const ROOM: usize = 300;

/// A page with a size limit in bytes. Items that do not fit are counted in its last line.
pub(crate) struct Page {
    out: String,
    most: usize,
    left_out: usize,
}

impl Page {
    /// A page that fits into a comment.
    pub fn comment() -> Self {
        Self::of(MOST)
    }

    /// A page limited to what can be read at a glance.
    pub fn at_a_glance() -> Self {
        Self::of(MOST_AT_A_GLANCE)
    }

    /// A page without limit.
    pub fn whole() -> Self {
        Self::of(usize::MAX)
    }

    fn of(most: usize) -> Self {
        Self {
            out: String::new(),
            most,
            left_out: 0,
        }
    }

    /// Adds a line, if it fits.
    pub fn line(&mut self, line: &str) {
        if !self.put(line) {
            self.left_out += 1;
        }
    }

    /// Adds a table with the number of rows in its heading; nothing without rows. Rows that do not fit are left out,
    /// with all after them.
    pub fn table(&mut self, title: &str, columns: &[&str], rows: &[Vec<String>]) {
        self.framed(&format!("### {title}: {}\n", rows.len()), "", columns, rows);
    }

    /// Adds a table whose rows stand for `total` items.
    pub fn grouped(&mut self, title: &str, total: usize, columns: &[&str], rows: &[Vec<String>]) {
        self.framed(&format!("### {title}: {total}\n"), "", columns, rows);
    }

    /// As [`Self::grouped`], but collapsed.
    pub fn grouped_folded(&mut self, title: &str, total: usize, columns: &[&str], rows: &[Vec<String>]) {
        let open = format!("<details><summary>{title}: {total}</summary>\n");
        self.framed(&open, "</details>\n", columns, rows);
    }

    /// Adds a collapsed table.
    pub fn folded(&mut self, title: &str, columns: &[&str], rows: &[Vec<String>]) {
        let open = format!("<details><summary>{title}: {}</summary>\n", rows.len());
        self.framed(&open, "</details>\n", columns, rows);
    }

    fn framed(&mut self, open: &str, close: &str, columns: &[&str], rows: &[Vec<String>]) {
        if rows.is_empty() {
            return;
        }
        let head = format!("{open}\n| {} |\n|{}", columns.join(" | "), "---|".repeat(columns.len()));
        // Open a table only if there is room to close it.
        if !self.has_room(head.len() + close.len() + 2) {
            self.left_out += rows.len();
            return;
        }
        self.put(&head);
        for (at, row) in rows.iter().enumerate() {
            let cells: Vec<String> = row.iter().map(|cell| markdown_cell(cell)).collect();
            let line = format!("| {} |", cells.join(" | "));
            if !self.has_room(line.len() + close.len() + 2) {
                self.left_out += rows.len() - at;
                break;
            }
            self.put(&line);
        }
        self.put("");
        if !close.is_empty() {
            self.put(close);
        }
    }

    /// Finishes the page. `command` is named as the way to see everything.
    pub fn finish(mut self, command: &str) -> String {
        if self.left_out > 0 {
            let _ = writeln!(
                self.out,
                "*{} more did not fit into {} bytes: run `{command}` to see all of them.*",
                several(self.left_out, "line"),
                self.most
            );
        }
        self.out
    }

    fn has_room(&self, more: usize) -> bool {
        self.out.len().saturating_add(more).saturating_add(ROOM) <= self.most
    }

    fn put(&mut self, line: &str) -> bool {
        let more = line.len() + 1;
        let has_room = self.has_room(more);
        if has_room {
            self.out.push_str(line);
            self.out.push('\n');
        }
        has_room
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_page_that_is_cut_closes_its_table_and_says_what_is_missing() {
        let rows: Vec<Vec<String>> = (0..5_000)
            .map(|at| vec![format!("row {at} | <b>"), "x".repeat(20)])
            .collect();
        let mut page = Page::comment();
        page.folded("All", &["one", "two"], &rows);
        page.table("Again", &["one", "two"], &rows);
        let page = page.finish("drysheath lint");
        assert!(page.len() < MOST);
        assert!(page.contains("</details>") && page.contains("row 0 \\| &lt;b>"));
        assert!(page.trim_end().ends_with("run `drysheath lint` to see all of them.*"));
    }
}
