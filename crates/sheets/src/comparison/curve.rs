//! Picture of the pressure along a line before and now.

use drysheath_engineering::units::{Quantity, find};
use drysheath_report::comparison::{AlongRecord, CurveRecord, OfficeRecord};
use maud::{Markup, html};

use crate::diagram::WIDTH;
use crate::facts::short;
use crate::plot::{Plot, label, lanes};
use crate::shapes::{Anchor, SAID, circle, line, polyline, text};

const HEIGHT: f64 = 170.0;
/// Space below the plot for ticks, figures and the axis name.
const BELOW: f64 = 46.0;
const LEGEND: f64 = 24.0;
const SAMPLE: f64 = 30.0;

/// Highest pressure or least pressure of either state.
fn highest(curve: &CurveRecord) -> f64 {
    let all = [&curve.before, &curve.after].into_iter().flat_map(|side| {
        let least = side.least.iter().map(|(.., least)| *least);
        side.pressures.iter().map(|(_, pressure)| *pressure).chain(least)
    });
    all.fold(0.0, f64::max)
}

/// Whether a line gets a picture: not if no gauge pressure above 0 is computed or required in either state.
pub fn is_drawn(curve: &CurveRecord) -> bool {
    highest(curve) > 0.0
}

/// Picture of a line, with its heading.
pub fn picture(office: &OfficeRecord, curve: &CurveRecord) -> Markup {
    let highest = highest(curve);
    let length = curve.before.length.max(curve.after.length);
    let plot = Plot::new((length, curve.length_unit), (highest, curve.pressure_unit), HEIGHT);
    let points: Vec<(f64, Option<String>)> = curve
        .sensors
        .iter()
        .map(|(at, name)| (plot.x(*at), Some(label(name))))
        .collect();
    let lanes = lanes(&points);
    let stacked = lanes.iter().flatten().max().map_or(0, |lane| lane + 1) as f64;
    let top = LEGEND + 14.0 + stacked * SAID.line() + 8.0;
    let bottom = top + HEIGHT;
    let is_other_least = curve.before.least != curve.after.least;
    let said = format!("pressure along {} before and now", curve.line);
    html! {
        figure data-kind="figures" {
            figcaption { "Pressure along " (curve.line) (lowest(curve)) }
            svg.profile viewBox=(format!("0 0 {WIDTH} {}", bottom + BELOW)) width=(WIDTH) height=(bottom + BELOW) role="img" aria-label=(format!("{}: {said}", office.office)) {
                (legend(curve))
                (plot.axes(bottom))
                @for (class, side) in [("least before", &curve.before), ("least", &curve.after)] {
                    // An unchanged least pressure is drawn once.
                    @for (from, to, least) in side.least.iter().filter(|_| class == "least" || is_other_least) {
                        @let y = bottom - plot.rise(*least);
                        (line(class, (plot.x(*from), y), (plot.x(*to), y)))
                    }
                }
                @for (class, side) in [("pressure before", &curve.before), ("pressure", &curve.after)] {
                    @let points: Vec<(f64, f64)> = side.pressures.iter().map(|(at, pressure)| (plot.x(*at), bottom - plot.rise(*pressure))).collect();
                    @if points.len() > 1 { (polyline(class, &points)) }
                }
                @for (((at, _), (x, name)), lane) in curve.sensors.iter().zip(&points).zip(&lanes) {
                    @let y = curve.after.pressure_at(*at).map_or(bottom, |pressure| bottom - plot.rise(pressure));
                    @if let (Some(lane), Some(name)) = (lane, name) {
                        @let baseline = top - 8.0 - *lane as f64 * SAID.line();
                        (line("leader", (*x, baseline - 8.0), (*x, y)))
                        (text("said", (x + 4.0, baseline), Anchor::Start, name))
                    }
                    (circle("sensor", (*x, y), 4.0))
                }
            }
        }
    }
}

/// Lowest pressures as text, since the picture shows no figures.
fn lowest(curve: &CurveRecord) -> String {
    let lowest = |side: &AlongRecord| side.pressures.iter().map(|(_, pressure)| *pressure).reduce(f64::min);
    let shown = |pressure: Option<f64>| match (pressure, find(curve.pressure_unit)) {
        (Some(value), Some(unit)) => short(Quantity { value, unit }),
        _ => "not computed".to_owned(),
    };
    format!(
        ": lowest {} before, {} now",
        shown(lowest(&curve.before)),
        shown(lowest(&curve.after))
    )
}

/// Legend of the line styles that occur.
fn legend(curve: &CurveRecord) -> Markup {
    let is_other_least = curve.before.least != curve.after.least;
    let entries = [
        ("pressure before", "before", !curve.before.pressures.is_empty()),
        ("pressure", "now", !curve.after.pressures.is_empty()),
        (
            "least before",
            "least pressure before",
            is_other_least && !curve.before.least.is_empty(),
        ),
        ("least", "least pressure", !curve.after.least.is_empty()),
        ("sensor", "sensor", !curve.sensors.is_empty()),
    ];
    let mut x = 2.0;
    let mut places = Vec::new();
    for (class, said, _) in entries.into_iter().filter(|(_, _, is_there)| *is_there) {
        places.push((class, said, x));
        x += SAMPLE + 6.0 + SAID.width(said) + 18.0;
    }
    html! {
        @for (class, said, x) in places {
            @if class == "sensor" { (circle("sensor", (x + SAMPLE / 2.0, 9.0), 4.0)) } @else { (line(class, (x, 9.0), (x + SAMPLE, 9.0))) }
            (text("said", (x + SAMPLE + 6.0, 13.0), Anchor::Start, said))
        }
    }
}
