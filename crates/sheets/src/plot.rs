//! A plot of pressure along a length: its axes, and names stacked above it so that no leader crosses a name.

use maud::{Markup, html};

use crate::diagram::WIDTH;
use crate::shapes::{Anchor, SAID, line, tenths, text};

const LEFT: f64 = 58.0;
/// Space right of the plot for the name of the last point.
const RIGHT: f64 = 108.0;
/// Maximum width of a name beside its leader. The table has the full name.
const NAME_WIDTH: f64 = 100.0;
/// Maximum number of stacked names. The others are only in the table.
const MOST_LANES: usize = 22;

/// Scales of a plot: lengths and pressures in the units of the axes.
pub struct Plot {
    length: f64,
    length_unit: &'static str,
    /// Pressure at the top.
    top: f64,
    /// Interval of the pressure ticks.
    step: f64,
    pressure_unit: &'static str,
    /// Height from the axis to the top, in CSS pixels.
    height: f64,
}

impl Plot {
    /// A plot whose pressure axis includes `highest`.
    pub fn new(
        (length, length_unit): (f64, &'static str),
        (highest, pressure_unit): (f64, &'static str),
        height: f64,
    ) -> Self {
        let step = tick_step(highest);
        Self {
            length,
            length_unit,
            top: (highest / step).ceil().max(1.0) * step,
            step,
            pressure_unit,
            height,
        }
    }

    /// X position of a distance.
    pub fn x(&self, distance: f64) -> f64 {
        LEFT + (WIDTH - LEFT - RIGHT) * (distance / self.length).clamp(0.0, 1.0)
    }

    /// Height of a pressure above the axis. Negative gauge pressures are on the axis.
    pub fn rise(&self, pressure: f64) -> f64 {
        self.height * (pressure / self.top).clamp(0.0, 1.0)
    }

    /// The axes with ticks, figures and names.
    pub fn axes(&self, bottom: f64) -> Markup {
        let right = WIDTH - RIGHT;
        let top = bottom - self.height;
        let middle = f64::midpoint(top, bottom);
        html! {
            @for tick in ticks(self.top, self.step) {
                @let y = bottom - self.rise(tick);
                (line("grid", (LEFT, y), (right, y)))
                (text("said", (LEFT - 7.0, y + 4.0), Anchor::End, &shown(tick)))
            }
            @for tick in ticks(self.length, tick_step(self.length)) {
                @let x = self.x(tick);
                (line("axis", (x, bottom), (x, bottom + 5.0)))
                (text("said", (x, bottom + 18.0), Anchor::Middle, &shown(tick)))
            }
            (line("axis", (LEFT, bottom), (right, bottom)))
            (line("axis", (LEFT, top), (LEFT, bottom)))
            text class="said" x=(tenths(14.0)) y=(tenths(middle)) text-anchor="middle" transform=(format!("rotate(-90 14 {})", tenths(middle))) {
                "pressure above the air around, " (self.pressure_unit)
            }
            (text("said", (f64::midpoint(LEFT, right), bottom + 38.0), Anchor::Middle, &format!("distance from the beginning, {}", self.length_unit)))
        }
    }
}

/// Lane of each point's name, from the position of each point, from left to right, and its label. A name is right of
/// its leader and above the names of all points whose leaders are under it, so that no leader crosses a name. A point
/// without a label has no lane.
pub fn lanes(points: &[(f64, Option<String>)]) -> Vec<Option<usize>> {
    let mut lanes: Vec<(f64, Option<usize>)> = Vec::new();
    for (x, label) in points.iter().rev() {
        let end = x + 4.0 + label.as_ref().map_or(0.0, |label| SAID.width(label));
        let under = lanes.iter().filter(|(other, _)| (x - 3.0..=end + 3.0).contains(other));
        let lane = under.filter_map(|(_, lane)| *lane).max().map_or(0, |lane| lane + 1);
        lanes.push((*x, (label.is_some() && lane < MOST_LANES).then_some(lane)));
    }
    lanes.into_iter().rev().map(|(_, lane)| lane).collect()
}

/// A name, cut to fit beside its leader.
pub fn label(what: &str) -> String {
    cut(what, NAME_WIDTH)
}

/// Cuts a text to a width, in CSS pixels.
pub fn cut(what: &str, most: f64) -> String {
    if SAID.width(what) <= most {
        return what.to_owned();
    }
    let mut start = String::new();
    for one in what.chars() {
        if SAID.width(&start) + SAID.width("m…") > most {
            break;
        }
        start.push(one);
    }
    start.push('…');
    start
}

/// Interval between ticks that gives about six of them: 1, 2 or 5 times a power of ten.
fn tick_step(most: f64) -> f64 {
    const TICKS: f64 = 6.0;
    let rough = most / TICKS;
    let power = 10_f64.powf(rough.log10().floor());
    let times = [1.0, 2.0, 5.0, 10.0].into_iter().find(|times| times * power >= rough);
    times.unwrap_or(10.0) * power
}

/// Ticks from 0 up to `most`.
fn ticks(most: f64, step: f64) -> impl Iterator<Item = f64> {
    const MANY: u32 = 50;
    (0..MANY)
        .map(move |number| f64::from(number) * step)
        .take_while(move |tick| *tick <= most * 1.000_001)
}

fn shown(tick: f64) -> String {
    let text = format!("{tick:.6}");
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
}
