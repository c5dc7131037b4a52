//! A plot of pressure along a length: its axes, and names that are stacked above it so that no leader crosses a name.

use maud::{Markup, html};

use crate::diagram::WIDTH;
use crate::shapes::{Anchor, SAID, line, tenths, text};

const LEFT: f64 = 58.0;
/// At the right of the plot is room for the name of what is at its end.
const RIGHT: f64 = 108.0;
/// The widest that a name beside its leader gets. It stands whole in the table.
const NAME_WIDTH: f64 = 100.0;
/// Names are stacked so high and no higher; what is beyond stands in the table.
const MOST_LANES: usize = 22;

/// What the axes of a plot are: lengths and pressures in the units that stand at them.
pub struct Plot {
    length: f64,
    length_unit: &'static str,
    /// The pressure at the top.
    top: f64,
    /// How far apart the ticks of pressure are.
    step: f64,
    pressure_unit: &'static str,
    /// From the axis to the top, in CSS pixels.
    height: f64,
}

impl Plot {
    /// A plot in which `highest` has its place.
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

    /// Where a distance is.
    pub fn x(&self, distance: f64) -> f64 {
        LEFT + (WIDTH - LEFT - RIGHT) * (distance / self.length).clamp(0.0, 1.0)
    }

    /// How high above the foot of the plot a pressure is. What is below the surrounding air lies on the axis.
    pub fn rise(&self, pressure: f64) -> f64 {
        self.height * (pressure / self.top).clamp(0.0, 1.0)
    }

    /// The axes with their ticks, figures and names.
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

/// How high the name of each point is stacked, from its place from left to right and its label: the name stands right of its leader,
/// and above the names of whatever has its leader under it, so that no leader crosses a name. A point without a label has no lane.
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

/// A name as it fits beside its leader.
pub fn label(what: &str) -> String {
    cut(what, NAME_WIDTH)
}

/// As much of what is said as has its place in a width, in CSS pixels.
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

/// A step between ticks that makes about six of them: 1, 2 or 5 times a power of ten.
fn tick_step(most: f64) -> f64 {
    const TICKS: f64 = 6.0;
    let rough = most / TICKS;
    let power = 10_f64.powf(rough.log10().floor());
    let times = [1.0, 2.0, 5.0, 10.0].into_iter().find(|times| times * power >= rough);
    times.unwrap_or(10.0) * power
}

/// The ticks from 0 up to `most`.
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
