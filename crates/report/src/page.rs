//! A page of Markdown that is to be pasted where pages are limited.

use std::fmt::Write;

use drysheath_text::safe::markdown_cell;

use crate::plural::several;

/// Longer comments are refused where they are to be pasted.
const MOST: usize = 60_000;
/// What is longer is not read in a pull request.
const MOST_AT_A_GLANCE: usize = 10_000;
/// What the last line of a cut page may take.
const ROOM: usize = 300;

/// A page of at most so many bytes. What has no room is counted, and the last line says so.
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

    /// A page that is read at a glance.
    pub fn at_a_glance() -> Self {
        Self::of(MOST_AT_A_GLANCE)
    }

    /// A page that has room for everything.
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

    /// A line, if it has room.
    pub fn line(&mut self, line: &str) {
        if !self.put(line) {
            self.left_out += 1;
        }
    }

    /// A table with a heading that counts its rows; nothing where it has none. Rows that have no room come to nothing, and so
    /// do those after them.
    pub fn table(&mut self, title: &str, columns: &[&str], rows: &[Vec<String>]) {
        self.framed(&format!("### {title}: {}\n", rows.len()), "", columns, rows);
    }

    /// A table whose rows stand for more than they are: for `total`.
    pub fn grouped(&mut self, title: &str, total: usize, columns: &[&str], rows: &[Vec<String>]) {
        self.framed(&format!("### {title}: {total}\n"), "", columns, rows);
    }

    /// A table of that sort that is folded away.
    pub fn grouped_folded(&mut self, title: &str, total: usize, columns: &[&str], rows: &[Vec<String>]) {
        let open = format!("<details><summary>{title}: {total}</summary>\n");
        self.framed(&open, "</details>\n", columns, rows);
    }

    /// A table that is folded away.
    pub fn folded(&mut self, title: &str, columns: &[&str], rows: &[Vec<String>]) {
        let open = format!("<details><summary>{title}: {}</summary>\n", rows.len());
        self.framed(&open, "</details>\n", columns, rows);
    }

    fn framed(&mut self, open: &str, close: &str, columns: &[&str], rows: &[Vec<String>]) {
        if rows.is_empty() {
            return;
        }
        let head = format!("{open}\n| {} |\n|{}", columns.join(" | "), "---|".repeat(columns.len()));
        // A table is opened only if it can be closed.
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

    /// The page. `command` is what to run for all of it.
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
