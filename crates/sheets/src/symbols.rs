//! The symbols of the drawings. They follow open descriptions of the standards: instrument bubbles of ANSI/ISA-5.1,
//! valves, regulators, filters and vessels of ISO 14617 and ISO 1219, batteries, fuses and grounds of IEC 60617. No
//! copy of a standard was opened for them: shapes and letters are from memory, and each sheet has a legend that says
//! what a symbol means.

use maud::{Markup, html};

use crate::shapes::{Anchor, circle, line, polygon, polyline, rectangle, text};

/// Meaning of a symbol.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Symbol {
    Dryer,
    Bottle,
    Tank,
    Regulator,
    Valve,
    ClosedValve,
    CheckValve,
    Filter,
    Manifold,
    Cable,
    Pipe,
    PressureTransmitter,
    FlowTransmitter,
    MoistureTransmitter,
    DewPointTransmitter,
    PressureSwitch,
    SectionEnd,
    Place,
    Reference,
    Battery,
    Panel,
    Load,
    GroundBar,
    Frame,
    Other,
}

/// Height of a symbol above and below its line, in CSS pixels.
pub const HALF_HEIGHT: f64 = 20.0;

impl Symbol {
    /// Half the width of the symbol, in CSS pixels.
    pub fn half_width(self) -> f64 {
        match self {
            Self::SectionEnd => 4.0,
            Self::Manifold => 5.0,
            Self::Place | Self::Bottle => 10.0,
            Self::Dryer | Self::Panel | Self::Load | Self::Tank | Self::Cable | Self::Pipe | Self::GroundBar => 24.0,
            _ => 18.0,
        }
    }

    /// Text in the legend.
    pub fn meaning(self) -> &'static str {
        match self {
            Self::Dryer => "air dryer with its compressor",
            Self::Bottle => "bottles of dry gas",
            Self::Tank => "tank",
            Self::Regulator => "pressure regulator",
            Self::Valve => "valve, normally open",
            Self::ClosedValve => "valve, normally closed",
            Self::CheckValve => "check valve",
            Self::Filter => "filter",
            Self::Manifold => "manifold",
            Self::Cable => "air-core cable",
            Self::Pipe => "air pipe",
            Self::PressureTransmitter => "pressure sensor",
            Self::FlowTransmitter => "flow sensor",
            Self::MoistureTransmitter => "humidity sensor",
            Self::DewPointTransmitter => "dew point sensor",
            Self::PressureSwitch => "pressure switch",
            Self::SectionEnd => "end of a section",
            Self::Place => "named place, such as a manhole",
            Self::Reference => "goes on at the thing of that name",
            Self::Battery => "battery plant",
            Self::Panel => "fuse panel",
            Self::Load => "equipment that draws power",
            Self::GroundBar => "ground bar",
            Self::Frame => "frame of equipment",
            Self::Other => "other equipment",
        }
    }

    /// Draws the symbol centred at a position.
    pub fn draw(self, x: f64, y: f64) -> Markup {
        match self {
            Self::Dryer => html! {
                (circle("sym", (x - 12.0, y), 11.0))
                (polyline("sym", &[(x - 20.0, y - 7.5), (x - 1.5, y - 3.0)]))
                (polyline("sym", &[(x - 20.0, y + 7.5), (x - 1.5, y + 3.0)]))
                (polygon("sym", &[(x + 12.0, y - 12.0), (x + 24.0, y), (x + 12.0, y + 12.0), (x, y)]))
                (line("sym", (x + 6.0, y + 6.0), (x + 18.0, y + 6.0)))
            },
            Self::Bottle => html! {
                (rectangle("sym", (x - 9.0, y - 12.0), (18.0, 30.0), 7.0))
                (line("sym", (x, y - 12.0), (x, y - 18.0)))
                (line("sym", (x - 5.0, y - 18.0), (x + 5.0, y - 18.0)))
            },
            Self::Tank => rectangle("sym", (x - 24.0, y - 10.0), (48.0, 20.0), 10.0),
            Self::Regulator => html! {
                (bow_tie("sym", x, y))
                (line("sym", (x, y), (x, y - 10.0)))
                (polyline("sym", &[(x - 9.0, y - 10.0), (x + 9.0, y - 10.0)]))
                path class="sym" d=(format!("M{} {}a9 7 0 0 1 18 0", x - 9.0, y - 10.0)) {}
                (polyline("sym thin dashed", &[(x + 9.0, y - 13.0), (x + 18.0, y - 13.0), (x + 18.0, y)]))
            },
            Self::Valve => bow_tie("sym", x, y),
            Self::ClosedValve => bow_tie("sym full", x, y),
            Self::CheckValve => html! {
                (polygon("sym", &[(x - 12.0, y - 10.0), (x - 12.0, y + 10.0), (x + 10.0, y)]))
                (line("sym", (x + 10.0, y - 11.0), (x + 10.0, y + 11.0)))
            },
            Self::Filter => html! {
                (polygon("sym", &[(x, y - 15.0), (x + 15.0, y), (x, y + 15.0), (x - 15.0, y)]))
                (line("sym dashed", (x, y - 15.0), (x, y + 15.0)))
            },
            Self::Manifold => rectangle("sym full", (x - 5.0, y - 18.0), (10.0, 36.0), 1.0),
            Self::Cable => html! {
                (rectangle("sym", (x - 24.0, y - 6.0), (48.0, 12.0), 6.0))
                (line("sym", (x - 16.0, y), (x + 16.0, y)))
            },
            Self::Pipe => rectangle("sym", (x - 24.0, y - 5.0), (48.0, 10.0), 0.0),
            Self::PressureTransmitter => bubble("PT", x, y),
            Self::FlowTransmitter => bubble("FT", x, y),
            Self::MoistureTransmitter => bubble("MT", x, y),
            Self::DewPointTransmitter => bubble("DT", x, y),
            Self::PressureSwitch => bubble("PS", x, y),
            Self::SectionEnd => html! {
                (line("sym", (x - 3.0, y - 9.0), (x - 3.0, y + 9.0)))
                (line("sym", (x + 3.0, y - 9.0), (x + 3.0, y + 9.0)))
            },
            Self::Place => rectangle("sym", (x - 10.0, y - 10.0), (20.0, 20.0), 0.0),
            Self::Reference => polygon(
                "sym",
                &[
                    (x - 18.0, y - 10.0),
                    (x + 8.0, y - 10.0),
                    (x + 18.0, y),
                    (x + 8.0, y + 10.0),
                    (x - 18.0, y + 10.0),
                ],
            ),
            Self::Battery => html! {
                (line("sym", (x - 18.0, y), (x - 7.0, y)))
                (line("sym", (x - 7.0, y - 15.0), (x - 7.0, y + 15.0)))
                (line("sym thick", (x - 2.0, y - 8.0), (x - 2.0, y + 8.0)))
                (line("sym", (x + 3.0, y - 15.0), (x + 3.0, y + 15.0)))
                (line("sym thick", (x + 8.0, y - 8.0), (x + 8.0, y + 8.0)))
                (line("sym", (x + 8.0, y), (x + 18.0, y)))
            },
            Self::Panel => html! {
                (rectangle("sym", (x - 24.0, y - 14.0), (48.0, 28.0), 0.0))
                (rectangle("sym thin", (x - 14.0, y - 5.0), (28.0, 10.0), 0.0))
                (line("sym thin", (x - 20.0, y), (x + 20.0, y)))
            },
            Self::Load | Self::Other => rectangle(
                "sym",
                (x - self.half_width(), y - 13.0),
                (self.half_width() * 2.0, 26.0),
                0.0,
            ),
            Self::GroundBar => html! {
                (rectangle("sym full", (x - 24.0, y - 4.0), (48.0, 8.0), 0.0))
                (line("sym", (x, y + 4.0), (x, y + 9.0)))
                (line("sym", (x - 10.0, y + 9.0), (x + 10.0, y + 9.0)))
                (line("sym", (x - 6.0, y + 13.0), (x + 6.0, y + 13.0)))
                (line("sym", (x - 2.0, y + 17.0), (x + 2.0, y + 17.0)))
            },
            Self::Frame => html! {
                (line("sym", (x - 18.0, y), (x, y)))
                (line("sym", (x, y - 12.0), (x, y + 12.0)))
                (line("sym", (x, y - 12.0), (x + 9.0, y - 5.0)))
                (line("sym", (x, y), (x + 9.0, y + 7.0)))
                (line("sym", (x, y + 12.0), (x + 9.0, y + 19.0)))
            },
        }
    }
}

/// An instrument in the field: a circle with letters for what it measures and what it does (ANSI/ISA-5.1, from memory:
/// P pressure, F flow, M moisture, D here dew point by the user's choice; T transmitter, S switch).
fn bubble(letters: &str, x: f64, y: f64) -> Markup {
    html! {
        (circle("sym", (x, y), 16.0))
        (text("in", (x, y + 4.5), Anchor::Middle, letters))
    }
}

fn bow_tie(class: &str, x: f64, y: f64) -> Markup {
    polygon(
        class,
        &[
            (x - 18.0, y - 10.0),
            (x - 18.0, y + 10.0),
            (x + 18.0, y - 10.0),
            (x + 18.0, y + 10.0),
        ],
    )
}

/// Legend of the symbols, in columns, and its height.
pub fn legend(symbols: &[Symbol]) -> (Markup, f64) {
    const COLUMNS: usize = 3;
    const ROW: f64 = 44.0;
    let column = crate::diagram::WIDTH / COLUMNS as f64;
    let height = symbols.len().div_ceil(COLUMNS) as f64 * ROW;
    let drawn = html! {
        svg.legend viewBox=(format!("0 0 {} {height}", crate::diagram::WIDTH)) width=(crate::diagram::WIDTH) height=(height) role="img" aria-label="what the symbols mean" {
            @for (at, symbol) in symbols.iter().enumerate() {
                @let (x, y) = ((at % COLUMNS) as f64 * column, (at / COLUMNS) as f64 * ROW + ROW / 2.0);
                g.plain { (symbol.draw(x + 26.0, y)) }
                (text("said", (x + 58.0, y + 4.0), Anchor::Start, symbol.meaning()))
            }
        }
    };
    (drawn, height)
}
