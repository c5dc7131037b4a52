//! Pagination: which row, strip or picture goes on which page, so that pages fit on A4 and US Letter and are numbered
//! before printing.

use maud::{Markup, PreEscaped, html};

use crate::diagram::{Strip, WIDTH};
use crate::metric::TextStyle;
use crate::table::{Row, Table};

/// Height of a page between head and foot, in CSS pixels. US Letter is the shorter of the two: 279.4 mm less margins of
/// 10 mm is 980, of which head, foot and gaps take 140.
const BODY: f64 = 838.0;
/// Height of the heading of a part or of its continuation.
const HEADING: f64 = 36.0;
const PARAGRAPH: TextStyle = TextStyle {
    size: 12.0,
    bold: false,
};
const SUBHEADING: f64 = 30.0;
const SPACE: f64 = 8.0;

/// A part of a sheet. It starts on a new page.
pub struct Part {
    pub title: &'static str,
    /// Fragment id of its first page.
    pub id: &'static str,
    /// Height used on its first page by the office name and the contents, in CSS pixels.
    pub taken: f64,
    pub blocks: Vec<Block>,
}

/// A block of a part.
pub enum Block {
    Heading(String),
    Paragraph(String),
    Table(Table),
    /// A drawing and its description for screen readers.
    Drawing(String, Vec<Strip>),
    /// A picture and its height.
    Picture(Markup, f64),
}

/// A page of a part.
pub struct Page {
    pub title: &'static str,
    /// Id of the part, on its first page only.
    pub id: Option<&'static str>,
    pub body: Markup,
}

/// Lays out all parts as pages, in order.
pub fn pages(parts: Vec<Part>) -> Vec<Page> {
    let mut pages = Vec::new();
    for part in parts {
        let mut filling = Filling {
            title: part.title,
            id: Some(part.id),
            left: BODY - HEADING - part.taken,
            body: Vec::new(),
            pages: Vec::new(),
        };
        for block in part.blocks {
            filling.block(block);
        }
        filling.turn();
        pages.append(&mut filling.pages);
    }
    pages
}

struct Filling {
    title: &'static str,
    id: Option<&'static str>,
    left: f64,
    body: Vec<Markup>,
    pages: Vec<Page>,
}

impl Filling {
    fn turn(&mut self) {
        if self.body.is_empty() {
            return;
        }
        let body = std::mem::take(&mut self.body);
        self.pages.push(Page {
            title: self.title,
            id: self.id.take(),
            body: html! { @for block in body { (block) } },
        });
        self.left = BODY - HEADING;
    }

    /// Starts a new page if less than `height` is left.
    fn need(&mut self, height: f64) {
        if height > self.left {
            self.turn();
        }
    }

    fn put(&mut self, height: f64, block: Markup) {
        self.left -= height;
        self.body.push(block);
    }

    fn block(&mut self, block: Block) {
        /// Height that must follow a heading on the same page.
        const FOLLOWS: f64 = 90.0;
        match block {
            Block::Heading(said) => {
                let height = SUBHEADING.max(crate::shapes::NAME.wrap(&said, WIDTH - 20.0).len() as f64 * 20.0 + 10.0);
                self.need(height + FOLLOWS);
                self.put(height, html! { h3 { (said) } });
            }
            Block::Paragraph(said) => self.paragraph(&said),
            Block::Table(table) => self.table(&table),
            Block::Drawing(what, strips) => self.drawing(&what, &strips),
            Block::Picture(picture, height) => {
                self.need(height + SPACE);
                self.put(height + SPACE, html! { div.picture { (picture) } });
            }
        }
    }

    fn paragraph(&mut self, said: &str) {
        const MOST_LINES: usize = 40;
        let lines = PARAGRAPH.wrap(said, WIDTH);
        if lines.len() <= MOST_LINES {
            let height = lines.len() as f64 * 17.0 + SPACE;
            self.need(height);
            self.put(height, html! { p { (said) } });
            return;
        }
        for lines in lines.chunks(MOST_LINES) {
            let height = lines.len() as f64 * 17.0 + SPACE;
            self.need(height);
            self.put(height, html! { p { (lines.join(" ")) } });
        }
    }

    fn table(&mut self, table: &Table) {
        let head = table.head_height();
        let rows: Vec<Row> = table.rows.iter().flat_map(|row| table.pieces(row)).collect();
        let mut at = 0;
        while at < rows.len() {
            let rest = rows.get(at..).unwrap_or_default();
            let first = rest.first().map_or(0.0, |row| table.row_height(row));
            self.need(head + first + SPACE);
            let mut height = head + SPACE;
            let mut count = 0;
            for row in rest {
                let own = table.row_height(row);
                if count > 0 && height + own > self.left {
                    break;
                }
                height += own;
                count += 1;
            }
            self.put(height, table.draw(rest.get(..count).unwrap_or_default()));
            at += count;
        }
    }

    fn drawing(&mut self, what: &str, strips: &[Strip]) {
        let mut rest = strips;
        while let Some(first) = rest.first() {
            // Rows bound to this one stay on its page, if a page holds them all.
            let bound = rest
                .iter()
                .skip(1)
                .take_while(|strip| !strip.begins)
                .map(|strip| strip.height);
            let whole = first.height + bound.sum::<f64>();
            self.need(if whole <= BODY / 3.0 { whole } else { first.height } + SPACE);
            let mut height = 0.0;
            let mut count = 0;
            for strip in rest {
                if count > 0 && height + strip.height + SPACE > self.left {
                    break;
                }
                height += strip.height;
                count += 1;
            }
            let (now, later) = rest.split_at(count.min(rest.len()));
            self.put(height + SPACE, drawn(what, now, height));
            rest = later;
        }
    }
}

/// Draws stacked strips as one picture.
pub fn drawn(what: &str, strips: &[Strip], height: f64) -> Markup {
    let tops = strips.iter().scan(0.0, |y, strip| {
        let top = *y;
        *y += strip.height;
        Some(top)
    });
    html! {
        svg.drawing viewBox=(format!("0 0 {WIDTH} {height}")) width=(WIDTH) height=(height) role="img" aria-label=(what) {
            @for (strip, top) in strips.iter().zip(tops) {
                g transform=(format!("translate(0 {top})")) { (PreEscaped(&strip.drawn)) }
            }
        }
    }
}
