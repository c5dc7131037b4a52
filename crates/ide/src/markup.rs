//! A description made of a heading, sentences, facts and tables, rendered as Markdown, or as plain text for a client that shows
//! no Markdown.

/// A description. Names and source text are between backticks in both renderings.
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

/// The alignment of a column of a table.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(crate) enum Side {
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

    /// Adds a fact to the list of facts at the end, or begins a list.
    pub(crate) fn fact(&mut self, fact: impl Into<String>) {
        match self.parts.last_mut() {
            Some(Part::Facts(facts)) => facts.push(fact.into()),
            _ => self.parts.push(Part::Facts(vec![fact.into()])),
        }
    }

    /// Adds a table, unless it has no rows.
    pub(crate) fn table(&mut self, columns: &[(&str, Side)], rows: &[Vec<String>]) {
        if !rows.is_empty() {
            self.parts.push(Part::Table(table(columns, rows)));
        }
    }

    /// Adds source text as it would be written.
    pub(crate) fn text(&mut self, text: impl Into<String>) {
        self.parts.push(Part::Table(text.into()));
    }

    /// Renders it as Markdown.
    pub fn markdown(&self) -> String {
        let shown = |part: &Part| match part {
            Part::Heading(heading) => format!("**{heading}**"),
            Part::Sentence(sentence) => sentence.clone(),
            Part::Facts(facts) => listed(facts),
            Part::Table(table) => format!("```text\n{table}\n```"),
        };
        self.parts.iter().map(shown).collect::<Vec<_>>().join("\n\n")
    }

    /// Renders it as plain text.
    pub fn plain(&self) -> String {
        let shown = |part: &Part| match part {
            Part::Heading(text) | Part::Sentence(text) | Part::Table(text) => text.clone(),
            Part::Facts(facts) => listed(facts),
        };
        self.parts.iter().map(shown).collect::<Vec<_>>().join("\n\n")
    }
}

fn listed(facts: &[String]) -> String {
    let facts: Vec<String> = facts.iter().map(|fact| format!("- {fact}")).collect();
    facts.join("\n")
}

/// Columns of text, each as wide as its widest cell.
fn table(columns: &[(&str, Side)], rows: &[Vec<String>]) -> String {
    let width = |column: usize, heading: &str| {
        let cells = rows
            .iter()
            .filter_map(|row| row.get(column))
            .map(|cell| cell.chars().count());
        cells.chain([heading.chars().count()]).max().unwrap_or_default()
    };
    let widths: Vec<(usize, Side)> = columns
        .iter()
        .enumerate()
        .map(|(at, (heading, side))| (width(at, heading), *side))
        .collect();
    let line = |cells: &mut dyn Iterator<Item = &str>| {
        let padded = cells.zip(&widths).map(|(cell, (width, side))| match side {
            Side::Left => format!("{cell:<width$}"),
            Side::Right => format!("{cell:>width$}"),
        });
        padded.collect::<Vec<_>>().join("  ").trim_end().to_owned()
    };
    let head = line(&mut columns.iter().map(|(heading, _)| *heading));
    let rows = rows.iter().map(|row| line(&mut row.iter().map(String::as_str)));
    std::iter::once(head).chain(rows).collect::<Vec<_>>().join("\n")
}
