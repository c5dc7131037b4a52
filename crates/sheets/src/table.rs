//! Tables of a sheet. Columns have fixed widths, so that row heights are known before a browser lays them out.

use drysheath_engineering::colour::Colour;
use maud::{Markup, html};

use crate::mark::Mark;
use crate::metric::TextStyle;

const CELL: TextStyle = TextStyle {
    size: 12.0,
    bold: false,
};
const STRONG: TextStyle = TextStyle { size: 12.0, bold: true };
const LINE: f64 = 16.0;
/// Total vertical and horizontal padding of a cell.
const INSET: f64 = 9.0;
const SIDES: f64 = 10.0;
/// Minimum height of a row to write in.
const WRITTEN: f64 = 27.0;
/// Cells with more lines are split over several rows, so that no row is higher than a page.
const MOST_LINES: usize = 36;

/// A column: its heading and its width in CSS pixels.
#[derive(Clone, Copy, Debug)]
pub struct Column {
    pub title: &'static str,
    pub width: u32,
}

/// A table of a sheet: its rows are spread over pages as they fit.
pub struct Table {
    /// Description for screen readers.
    pub about: String,
    pub columns: &'static [Column],
    pub rows: Vec<Row>,
}

/// A row of a table.
pub struct Row {
    pub mark: Mark,
    pub cells: Vec<Cell>,
}

/// Contents of a cell.
#[derive(Clone, Debug)]
pub enum Cell {
    Text(String),
    Strong(String),
    /// Colours of a pair: swatches, which also differ in grey, and words.
    Colours(Colour, Colour),
    /// Blank space to write in.
    Room,
    /// An empty box, to be ticked by hand.
    Tick,
    /// A picture and its height.
    Drawn(Markup, f64),
}

impl Cell {
    /// The text, or a dash if there is none.
    pub fn or_dash(text: Option<String>) -> Self {
        Self::Text(text.filter(|text| !text.is_empty()).unwrap_or_else(|| "–".to_owned()))
    }

    /// Text wrapped to a width.
    pub fn lines(&self, width: f64, mark: Mark) -> Vec<String> {
        let cell = if mark.is_heavy() { STRONG } else { CELL };
        match self {
            Self::Text(text) => cell.wrap(text, width),
            Self::Strong(text) => STRONG.wrap(text, width),
            Self::Colours(tip, ring) => cell.wrap(&words(*tip, *ring), width - SWATCHES),
            Self::Room | Self::Tick | Self::Drawn(..) => Vec::new(),
        }
    }

    fn height(&self, width: f64, mark: Mark) -> f64 {
        match self {
            Self::Room | Self::Tick => WRITTEN,
            Self::Drawn(_, height) => height + INSET,
            _ => self.lines(width, mark).len() as f64 * LINE + INSET,
        }
    }

    fn draw(&self) -> Markup {
        match self {
            Self::Text(text) => html! { (text) },
            Self::Strong(text) => html! { b { (text) } },
            Self::Colours(tip, ring) => html! { (swatches(*tip, *ring)) " " (words(*tip, *ring)) },
            Self::Room => html! { span.room {} },
            Self::Tick => html! { span.tick role="img" aria-label="box to tick" {} },
            Self::Drawn(markup, _) => markup.clone(),
        }
    }
}

impl Table {
    fn width(&self, at: usize) -> f64 {
        self.columns
            .get(at)
            .map_or(0.0, |column| f64::from(column.width) - SIDES)
    }

    /// Height of the column headings.
    pub fn head_height(&self) -> f64 {
        let lines = self
            .columns
            .iter()
            .map(|column| STRONG.wrap(column.title, f64::from(column.width) - SIDES).len());
        lines.max().unwrap_or_default() as f64 * LINE + INSET
    }

    /// The height of a row.
    pub fn row_height(&self, row: &Row) -> f64 {
        let heights = row
            .cells
            .iter()
            .enumerate()
            .map(|(at, cell)| cell.height(self.width(at), row.mark));
        heights.fold(LINE + INSET, f64::max)
    }

    /// Splits a row into rows that fit on a page; usually just the row itself.
    pub fn pieces(&self, row: &Row) -> Vec<Row> {
        let lines: Vec<Vec<String>> = row
            .cells
            .iter()
            .enumerate()
            .map(|(at, cell)| cell.lines(self.width(at), row.mark))
            .collect();
        let most = lines.iter().map(Vec::len).max().unwrap_or_default();
        if most <= MOST_LINES {
            return vec![Row {
                mark: row.mark,
                cells: row.cells.clone(),
            }];
        }
        let pieces = (0..most.div_ceil(MOST_LINES)).map(|piece| {
            let cells = row.cells.iter().zip(&lines).map(|(cell, lines)| {
                if lines.is_empty() && piece == 0 {
                    return cell.clone();
                }
                let own: Vec<&str> = lines
                    .iter()
                    .skip(piece * MOST_LINES)
                    .take(MOST_LINES)
                    .map(String::as_str)
                    .collect();
                Cell::Text(own.join(" "))
            });
            Row {
                mark: row.mark,
                cells: cells.collect(),
            }
        });
        pieces.collect()
    }

    /// Draws rows below the column headings.
    pub fn draw(&self, rows: &[Row]) -> Markup {
        html! {
            table aria-label=(self.about) {
                colgroup { @for column in self.columns { col width=(column.width); } }
                thead { tr { @for column in self.columns { th scope="col" { (column.title) } } } }
                tbody {
                    @for row in rows {
                        tr class=(row.mark.class()) {
                            @for (column, cell) in self.columns.iter().zip(&row.cells) {
                                td data-label=(column.title) { (cell.draw()) }
                            }
                        }
                    }
                }
            }
        }
    }
}

/// Width of the swatches of a pair and the gap after them.
const SWATCHES: f64 = 42.0;

/// Colour names of a pair, tip first.
pub fn words(tip: Colour, ring: Colour) -> String {
    format!("{}-{}", tip.name(), ring.name())
}

/// Two swatches, each with the letters of its colour, for black-and-white prints and colour-blind readers.
fn swatches(tip: Colour, ring: Colour) -> Markup {
    html! {
        svg.pair viewBox="0 0 38 15" width="38" height="15" aria-hidden="true" {
            @for (x, colour) in [(0.0, tip), (19.0, ring)] {
                (crate::shapes::rectangle(&format!("swatch c-{}", colour.name()), (x + 0.5, 0.5), (18.0, 14.0), 1.0))
                (crate::shapes::text(&format!("letters l-{}", colour.name()), (x + 9.5, 10.8), crate::shapes::Anchor::Middle, colour.abbreviation()))
            }
        }
    }
}
