//! A description made of headings, sentences, facts and tables, rendered as Markdown, or as plain text for clients
//! without Markdown. Its contents may come from an untrusted file and are escaped.

use drysheath_text::safe::{line, markdown, terminal};

/// A description. Names and source text are in backticks in both renderings.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Markup {
    parts: Vec<Part>,
}

#[derive(Clone, Debug, PartialEq, Eq)]
enum Part {
    Heading(String),
    Sentence(String),
    Facts(Vec<String>),
    Table(String),
}

/// Alignment of a table column.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(crate) enum ColumnAlignment {
    Left,
    Right,
}

impl Markup {
    pub(crate) fn new(heading: impl Into<String>) -> Self {
        Self {
            parts: vec![Part::Heading(heading.into())],
        }
    }

    pub(crate) fn sentence(&mut self, sentence: impl Into<String>) {
        self.parts.push(Part::Sentence(sentence.into()));
    }

    /// Adds a fact to the list of facts at the end, or starts a list.
    pub(crate) fn fact(&mut self, fact: impl Into<String>) {
        match self.parts.last_mut() {
            Some(Part::Facts(facts)) => facts.push(fact.into()),
            _ => self.parts.push(Part::Facts(vec![fact.into()])),
        }
    }

    /// Adds a table, unless it has no rows.
    pub(crate) fn table(&mut self, columns: &[(&str, ColumnAlignment)], rows: &[Vec<String>]) {
        if !rows.is_empty() {
            self.parts.push(Part::Table(table(columns, rows)));
        }
    }

    /// Adds source text as written.
    pub(crate) fn text(&mut self, text: impl Into<String>) {
        self.parts.push(Part::Table(text.into()));
    }

    /// Renders the text as Markdown, for editors that support it.
    pub fn markdown(&self) -> String {
        let shown = |part: &Part| match part {
            Part::Heading(heading) => format!("**{}**", markdown(heading)),
            Part::Sentence(sentence) => markdown(sentence),
            Part::Facts(facts) => listed(facts.iter().map(|fact| markdown(fact))),
            Part::Table(table) => fenced(&terminal(table)),
        };
        self.parts.iter().map(shown).collect::<Vec<_>>().join("\n\n")
    }

    /// Renders the text without markup.
    pub fn plain(&self) -> String {
        let shown = |part: &Part| match part {
            Part::Heading(text) | Part::Sentence(text) => line(text).into_owned(),
            Part::Facts(facts) => listed(facts.iter().map(|fact| line(fact).into_owned())),
            Part::Table(text) => terminal(text).into_owned(),
        };
        self.parts.iter().map(shown).collect::<Vec<_>>().join("\n\n")
    }
}

fn listed(facts: impl Iterator<Item = String>) -> String {
    let facts: Vec<String> = facts.map(|fact| format!("- {fact}")).collect();
    facts.join("\n")
}

/// A code block, with a fence longer than any in its text.
fn fenced(text: &str) -> String {
    let mut fence = "```".to_owned();
    while text.contains(&fence) {
        fence.push('`');
    }
    format!("{fence}text\n{text}\n{fence}")
}

/// Formats columns, each as wide as its widest cell.
fn table(columns: &[(&str, ColumnAlignment)], rows: &[Vec<String>]) -> String {
    let width = |column: usize, heading: &str| {
        let cells = rows
            .iter()
            .filter_map(|row| row.get(column))
            .map(|cell| cell.chars().count());
        cells.chain([heading.chars().count()]).max().unwrap_or_default()
    };
    let widths: Vec<(usize, ColumnAlignment)> = columns
        .iter()
        .enumerate()
        .map(|(at, (heading, side))| (width(at, heading), *side))
        .collect();
    let line = |cells: &mut dyn Iterator<Item = &str>| {
        let padded = cells.zip(&widths).map(|(cell, (width, side))| match side {
            ColumnAlignment::Left => format!("{cell:<width$}"),
            ColumnAlignment::Right => format!("{cell:>width$}"),
        });
        padded.collect::<Vec<_>>().join("  ").trim_end().to_owned()
    };
    let head = line(&mut columns.iter().map(|(heading, _)| *heading));
    let rows = rows.iter().map(|row| line(&mut row.iter().map(String::as_str)));
    std::iter::once(head).chain(rows).collect::<Vec<_>>().join("\n")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_a_text_says_stays_text() {
        let hostile = "a` [run](command:x) <img src=http://192.0.2.1> \u{202e}";
        let mut markup = Markup::new(format!("site `{hostile}`"));
        markup.sentence(format!("title {hostile}"));
        markup.fact(format!("`{hostile}`"));
        markup.text(format!("title \"{hostile}\"\n```\n[run](command:x)"));
        let markdown = markup.markdown();
        let (words, block) = markdown.split_once("\n\n````text\n").unwrap_or_default();
        assert!(block.ends_with("\n````"), "{markdown}");
        for acts in ["[run]", "<img", "http://", "```", "\u{202e}"] {
            assert!(!words.contains(acts), "{acts}: {markdown}");
        }
        assert!(!markup.plain().contains('\u{202e}'));
    }
}
