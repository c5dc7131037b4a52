//! The layout of a drawing whose things follow one another: chains from left to right, which fork downwards.
//!
//! A chain of things that each lead to one other lies in a row. Where one leads to several, each of these starts a row
//! of its own further down and further in, on a line from the fork; what does not fit into a row continues in the next.
//! Nothing overlaps because everything has a place of its own:
//!
//! * the top of a row has a channel for the line that comes back from the end of the row before;
//! * above the line of a row are the captions of the links, between the symbols that they join;
//! * below it are the captions of the things, each in a column as wide as its text;
//! * left of a row are the columns of the lines that pass it, one for each fork further up that has more to come.
//!
//! Text widths come from [`crate::metric`], which no common typeface exceeds. The order is that of the network, then by
//! name, so the same office gives the same drawing, and an edit moves what follows it and nothing else.

use maud::{Markup, PreEscaped, html};

use crate::mark::Mark;
use crate::shapes::{Anchor, NAME, SAID, line, polyline, text};
use crate::symbols::{HALF_HEIGHT, Symbol};

/// Width of a drawing, in CSS pixels: the page width between the margins.
pub const WIDTH: f64 = 700.0;
/// Indent of a row from the row it forks from.
const STEP: f64 = 24.0;
/// Columns reserved at the left of a row: for the line from the row before, and for the line to rows that fork from it.
const WRAP: f64 = 2.0;
const FORK: f64 = 12.0;
const START: f64 = 10.0;
const CHANNEL: f64 = 10.0;
const GAP: f64 = 12.0;
/// Maximum width of the text below a symbol and above a line before it wraps.
const MOST_BELOW: f64 = 148.0;
const MOST_ABOVE: f64 = 104.0;
/// Minimum length of a line between two symbols.
const LINK: f64 = 22.0;
/// Deeper forks start at the left again, so that nesting never leaves the page.
const MOST_LEVELS: usize = 9;

/// A thing in a drawing.
#[derive(Debug)]
pub struct Node {
    pub symbol: Symbol,
    /// Name, shown first, and the captions below it.
    pub name: String,
    pub said: Vec<String>,
    /// Link that leads to it.
    pub link: Link,
    pub mark: Mark,
    /// Indices of its successors, in order.
    pub next: Vec<usize>,
}

/// Link that leads to a thing.
#[derive(Debug, Default)]
pub struct Link {
    /// Captions above the line.
    pub said: Vec<String>,
    /// CSS class of its line.
    pub class: &'static str,
}

/// A drawing before layout: its nodes and which of them have no predecessor.
#[derive(Debug, Default)]
pub struct Diagram {
    pub nodes: Vec<Node>,
    pub roots: Vec<usize>,
}

/// A laid-out row of a drawing. Rows are stacked without gaps, on one page or several.
#[derive(Debug)]
pub struct Strip {
    pub height: f64,
    /// Contents as SVG; the top of the row is at 0.
    pub drawn: String,
    /// Whether a page may begin with this row without cutting a line in two.
    pub begins: bool,
}

/// Where the line into a row comes from.
#[derive(Clone, Copy)]
enum RowEntry {
    Nothing,
    /// From a fork at `x`. The first row of a fork also draws the line from the end of the row above to there.
    Fork {
        x: f64,
        from: Option<f64>,
        is_last: bool,
    },
    /// From the end of the row above.
    Wrap {
        from: f64,
        class: &'static str,
    },
}

/// A thing and its place in its row.
struct Placed {
    node: usize,
    x: f64,
    name: Vec<String>,
    said: Vec<String>,
    above: Vec<String>,
    /// Half the width of its symbol and text.
    half: f64,
}

impl Diagram {
    /// Whether anything in it is to be removed.
    pub fn has_removed(&self) -> bool {
        let mut nodes = self.nodes.iter();
        nodes.any(|node| node.mark == Mark::Removed || node.link.class.ends_with("removed"))
    }

    /// Adds a node and returns its number.
    pub fn add(&mut self, node: Node) -> usize {
        self.nodes.push(node);
        self.nodes.len() - 1
    }

    /// Links one node to another.
    pub fn join(&mut self, from: usize, to: usize) {
        if let Some(node) = self.nodes.get_mut(from) {
            node.next.push(to);
        }
    }

    /// The rows, from top to bottom.
    pub fn strips(&self) -> Vec<Strip> {
        let mut layout = Layout {
            diagram: self,
            strips: Vec::new(),
            later: self.roots.iter().rev().copied().collect(),
        };
        while let Some(root) = layout.later.pop() {
            layout.chain(root, 0, RowEntry::Nothing, &[]);
        }
        layout.strips
    }
}

struct Layout<'d> {
    diagram: &'d Diagram,
    strips: Vec<Strip>,
    /// Nodes that start at the left margin and are drawn last.
    later: Vec<usize>,
}

impl Layout<'_> {
    fn node(&self, at: usize) -> Option<&Node> {
        self.diagram.nodes.get(at)
    }

    fn chain(&mut self, first: usize, level: usize, entry: RowEntry, passing: &[(f64, &'static str)]) {
        let left = level as f64 * STEP + 2.0;
        let mut chain = vec![first];
        while let Some([only]) = chain
            .last()
            .and_then(|at| self.node(*at))
            .map(|node| node.next.as_slice())
        {
            chain.push(*only);
        }
        let forks: Vec<usize> = chain
            .last()
            .and_then(|at| self.node(*at))
            .map(|node| node.next.clone())
            .unwrap_or_default();
        let rows = self.rows(&chain, left);
        let last = rows.len().saturating_sub(1);
        let is_deepest = level + 1 >= MOST_LEVELS;
        // The fork line passes everything below its first row if another branch follows.
        let mut inner = passing.to_vec();
        if let RowEntry::Fork { x, is_last: false, .. } = entry {
            inner.push((x, self.node(first).map_or("air", |node| node.link.class)));
        }
        let mut entry = entry;
        let mut end = left;
        for (number, row) in rows.iter().enumerate() {
            let goes_on = number < last || !forks.is_empty() && !is_deepest;
            let passing = if number == 0 { passing } else { &inner };
            end = self.row(row, left, entry, passing, goes_on);
            let next = rows.get(number + 1).and_then(|row| self.node(row.first()?.node));
            entry = RowEntry::Wrap {
                from: end,
                class: next.map_or("air", |node| node.link.class),
            };
        }
        if is_deepest {
            // Drawn at the left margin after everything else.
            self.later.extend(forks.into_iter().rev());
            return;
        }
        let x = left + FORK;
        let number = forks.len();
        for (at, fork) in forks.into_iter().enumerate() {
            let is_last = at + 1 == number;
            let from = (at == 0).then_some(end);
            self.chain(fork, level + 1, RowEntry::Fork { x, from, is_last }, &inner);
        }
    }

    /// Breaks a chain into rows and places its things in them.
    fn rows(&self, chain: &[usize], left: f64) -> Vec<Vec<Placed>> {
        let mut rows: Vec<Vec<Placed>> = Vec::new();
        let mut row: Vec<Placed> = Vec::new();
        for at in chain {
            let Some(node) = self.node(*at) else { continue };
            let name = few(NAME.wrap(&node.name, MOST_BELOW));
            let said = few(node.said.iter().flat_map(|said| SAID.wrap(said, MOST_BELOW)).collect());
            let above = few(node
                .link
                .said
                .iter()
                .flat_map(|said| SAID.wrap(said, MOST_ABOVE))
                .collect());
            let widest = |lines: &[String], of: crate::metric::TextStyle| {
                lines.iter().map(|line| of.width(line)).fold(0.0, f64::max)
            };
            let own = node.symbol.half_width();
            let half = own.max(widest(&name, NAME) / 2.0).max(widest(&said, SAID) / 2.0);
            let link = (widest(&above, SAID) + GAP).max(LINK);
            let mut x = first_place(left, own, half, link);
            if let Some(before) = row.last() {
                let before_own = self.node(before.node).map_or(0.0, |node| node.symbol.half_width());
                x = before.x + (before.half + half + GAP).max(before_own + link + own);
            }
            if !row.is_empty() && x + half + GAP > WIDTH {
                rows.push(std::mem::take(&mut row));
                x = first_place(left, own, half, link);
            }
            row.push(Placed {
                node: *at,
                x,
                name,
                said,
                above,
                half,
            });
        }
        rows.push(row);
        rows
    }

    /// Draws a row and returns the x position at which a line leaves at its end.
    fn row(
        &mut self,
        row: &[Placed],
        left: f64,
        entry: RowEntry,
        passing: &[(f64, &'static str)],
        goes_on: bool,
    ) -> f64 {
        let above = row.iter().map(|placed| placed.above.len()).max().unwrap_or_default() as f64 * SAID.line();
        let y = CHANNEL + HALF_HEIGHT.max(above + 7.0);
        let below = |placed: &Placed| placed.name.len() as f64 * NAME.line() + placed.said.len() as f64 * SAID.line();
        let height = (y + HALF_HEIGHT + row.iter().map(below).fold(0.0, f64::max) + 8.0).ceil();
        let exit = row.last().map_or(left, |placed| placed.x + placed.half + GAP / 2.0);
        let symbols = row.iter().map(|placed| self.placed(placed, y));
        let drawn = html! {
            @for (x, class) in passing { (line(class, (*x, 0.0), (*x, height))) }
            (self.entry(row, left, y, height, entry))
            @for pair in row.windows(2) { @if let [from, to] = pair { (self.between(from, to, y)) } }
            @if let (true, Some(last)) = (goes_on, row.last()) { (self.exit(last, exit, y, height)) }
            @for symbol in symbols { (symbol) }
        };
        self.strips.push(Strip {
            height,
            drawn: drawn.into_string(),
            begins: !matches!(entry, RowEntry::Wrap { .. } | RowEntry::Fork { from: Some(_), .. }),
        });
        exit
    }

    /// Line that leads into a row.
    fn entry(&self, row: &[Placed], left: f64, y: f64, height: f64, entry: RowEntry) -> Markup {
        let Some((first, node)) = row.first().and_then(|first| Some((first, self.node(first.node)?))) else {
            return html! {};
        };
        let class = node.link.class;
        let to = first.x - node.symbol.half_width();
        let middle = CHANNEL / 2.0;
        match entry {
            RowEntry::Nothing => html! {},
            RowEntry::Fork { x, from, is_last } => html! {
                @if let Some(from) = from { (polyline(class, &[(from, 0.0), (from, middle), (x, middle)])) }
                (line(class, (x, if from.is_some() { middle } else { 0.0 }), (x, if is_last { y } else { height })))
                (line(class, (x, y), (to, y)))
                (self.above(first, (x, to), y))
            },
            RowEntry::Wrap { from, class } => html! {
                (polyline(class, &[(from, 0.0), (from, middle), (left + WRAP, middle), (left + WRAP, y), (to, y)]))
                (self.above(first, (left + WRAP, to), y))
            },
        }
    }

    fn exit(&self, last: &Placed, exit: f64, y: f64, height: f64) -> Markup {
        let Some(node) = self.node(last.node) else {
            return html! {};
        };
        let class = node
            .next
            .first()
            .and_then(|next| self.node(*next))
            .map_or("air", |next| next.link.class);
        polyline(
            class,
            &[(last.x + node.symbol.half_width(), y), (exit, y), (exit, height)],
        )
    }

    fn between(&self, from: &Placed, to: &Placed, y: f64) -> Markup {
        let Some((before, node)) = self.node(from.node).zip(self.node(to.node)) else {
            return html! {};
        };
        let ends = (from.x + before.symbol.half_width(), to.x - node.symbol.half_width());
        html! {
            (line(node.link.class, (ends.0, y), (ends.1, y)))
            (self.above(to, ends, y))
        }
    }

    /// Captions of the link that leads to a thing, centred over its line.
    fn above(&self, placed: &Placed, (from, to): (f64, f64), y: f64) -> Markup {
        let mark = self.node(placed.node).map_or(Mark::Plain, |node| node.mark);
        // The line of a cable is thicker.
        let bottom = y - 7.0;
        let lines = placed.above.len();
        html! {
            @for (at, said) in placed.above.iter().enumerate() {
                (text(mark.text("said"), (f64::midpoint(from, to), bottom - (lines - 1 - at) as f64 * SAID.line()), Anchor::Middle, said))
            }
        }
    }

    fn placed(&self, placed: &Placed, y: f64) -> Markup {
        let Some(node) = self.node(placed.node) else {
            return html! {};
        };
        let top = y + HALF_HEIGHT;
        let said_top = top + placed.name.len() as f64 * NAME.line();
        html! {
            g class=(node.mark.class()) {
                (PreEscaped(node.symbol.draw(placed.x, y).into_string()))
                @for (at, name) in placed.name.iter().enumerate() {
                    (text("name", (placed.x, top + (at + 1) as f64 * NAME.line() - 3.0), Anchor::Middle, name))
                }
                @for (at, said) in placed.said.iter().enumerate() {
                    (text("said", (placed.x, said_top + (at + 1) as f64 * SAID.line() - 3.0), Anchor::Middle, said))
                }
            }
        }
    }
}

/// Limits the number of caption lines; the full text is in the tables.
fn few(mut lines: Vec<String>) -> Vec<String> {
    const MOST: usize = 9;
    if lines.len() > MOST {
        lines.truncate(MOST - 1);
        lines.push("…".to_owned());
    }
    lines
}

/// X position of the first thing of a row: right of the row's own columns, with room for the caption of the link before
/// it.
fn first_place(left: f64, own: f64, half: f64, link: f64) -> f64 {
    left + START + half.max(link + own)
}
