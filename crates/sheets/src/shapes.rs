//! Lines, texts and shapes of a drawing, as SVG.

use maud::{Markup, html};

use crate::metric::TextStyle;

/// Text size of names.
pub const NAME: TextStyle = TextStyle { size: 12.0, bold: true };
/// Text size of captions.
pub const SAID: TextStyle = TextStyle {
    size: 11.0,
    bold: false,
};

/// Rounds a coordinate to 0.1 pixel; more digits are not visible.
pub fn tenths(place: f64) -> f64 {
    (place * 10.0).round() / 10.0
}

/// A straight line.
pub fn line(class: &str, (x1, y1): (f64, f64), (x2, y2): (f64, f64)) -> Markup {
    html! { line class=(class) x1=(tenths(x1)) y1=(tenths(y1)) x2=(tenths(x2)) y2=(tenths(y2)) {} }
}

/// A line through several points.
pub fn polyline(class: &str, points: &[(f64, f64)]) -> Markup {
    let points: Vec<String> = points
        .iter()
        .map(|(x, y)| format!("{},{}", tenths(*x), tenths(*y)))
        .collect();
    html! { polyline class=(class) points=(points.join(" ")) {} }
}

/// A closed polygon.
pub fn polygon(class: &str, points: &[(f64, f64)]) -> Markup {
    let points: Vec<String> = points
        .iter()
        .map(|(x, y)| format!("{},{}", tenths(*x), tenths(*y)))
        .collect();
    html! { polygon class=(class) points=(points.join(" ")) {} }
}

/// A circle.
pub fn circle(class: &str, (x, y): (f64, f64), radius: f64) -> Markup {
    html! { circle class=(class) cx=(tenths(x)) cy=(tenths(y)) r=(tenths(radius)) {} }
}

/// A rectangle with rounded corners.
pub fn rectangle(class: &str, (x, y): (f64, f64), (width, height): (f64, f64), radius: f64) -> Markup {
    html! { rect class=(class) x=(tenths(x)) y=(tenths(y)) width=(tenths(width)) height=(tenths(height)) rx=(tenths(radius)) {} }
}

/// Alignment of a text relative to its position.
#[derive(Clone, Copy, Debug)]
pub enum Anchor {
    Start,
    Middle,
    End,
}

/// A line of text with its baseline at `y`.
pub fn text(class: &str, (x, y): (f64, f64), anchor: Anchor, said: &str) -> Markup {
    let anchor = match anchor {
        Anchor::Start => "start",
        Anchor::Middle => "middle",
        Anchor::End => "end",
    };
    html! { text class=(class) x=(tenths(x)) y=(tenths(y)) text-anchor=(anchor) { (said) } }
}
