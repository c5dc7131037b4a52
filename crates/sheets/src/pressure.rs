//! Picture of the pressure along a cable, a branch or a pipe: the computed pressure in the normal state and optionally
//! in another one, the least pressure of each section, the positions of sensors, places and branches, their limits, and
//! readings. A band below shows, for each place, the smallest leak that a limit of the office is certain to report.

use drysheath_engineering::measure::Length;
use drysheath_engineering::units::Dimension;
use drysheath_engineering::water;
use drysheath_explanation::{LineDetection, PlaceDetection};
use drysheath_office::kinds::Key;
use drysheath_office::line::shown_length;
use drysheath_office::{Date, Field, Fields, Measured, ThingId};
use drysheath_prediction::{Air, Line};
use maud::{Markup, html};

use crate::air::named;
use crate::diagram::WIDTH;
use crate::facts::Facts;
use crate::mark::Mark;
use crate::plot::{Plot, cut, label, lanes};
use crate::shapes::{Anchor, NAME, SAID, circle, line, polygon, polyline, rectangle, text};
use crate::table::{Cell, Column, Row, Table};

const PLOT: f64 = 250.0;
const BELOW: f64 = 58.0;
/// Height of the leak band and its caption.
const BAND: f64 = 40.0;
const BAND_BELOW: f64 = 26.0;
/// Number of steps of the curve.
const STEPS: u32 = 120;
/// Points closer together than this are treated as one, m.
const SAME: f64 = 0.02;

/// The picture of a line, and the rows of its table.
pub struct Picture {
    /// Name of the line.
    pub name: String,
    /// Name of the line for a file name. Names in the language have no dots, so no two lines share one.
    pub file: String,
    pub svg: Markup,
    pub height: f64,
    pub table: Table,
}

const COLUMNS: &[Column] = &[
    Column { title: "At", width: 84 },
    Column {
        title: "What is there",
        width: 190,
    },
    Column {
        title: "Computed",
        width: 84,
    },
    Column {
        title: "Least",
        width: 84,
    },
    Column {
        title: "Limits",
        width: 140,
    },
    Column {
        title: "Last reading",
        width: 118,
    },
];

/// A state to draw in addition to the normal one.
#[derive(Clone, Copy)]
pub struct ComparedState<'a> {
    /// The statement of the state, as written.
    pub when: &'a str,
    /// Steady-state pressures in it.
    pub air: &'a Air,
}

/// A point along a line and what is there.
struct Point {
    metres: f64,
    what: String,
    pascals: Option<f64>,
    least: Option<f64>,
    /// Limits: whether it is a low limit, the pressure, and its text.
    limits: Vec<(bool, f64, String)>,
    reading: Option<(Date, f64)>,
    is_sensor: bool,
}

/// Contents of the picture of a line.
struct PressurePlot<'f, 'a> {
    facts: &'f Facts<'a>,
    heading: Vec<String>,
    plot: Plot,
    /// Value of 1 m and of 1 Pa in the units of the axes.
    one_metre: f64,
    one_pascal: f64,
    points: Vec<Point>,
    curve: Vec<(f64, f64)>,
    /// Text of the other state, and the pressures in it.
    beside: Option<(String, Vec<(f64, f64)>)>,
    /// Sections: start, end, least pressure and head of water.
    sections: Vec<(f64, f64, Option<f64>, Option<f64>)>,
    /// The smallest leak that is reported at each place examined, m³/s; `None` if not even a cut is reported.
    leaks: Vec<(f64, Option<f64>)>,
}

/// Pictures of all lines with a computed pressure, in file order.
pub fn pictures(facts: &Facts<'_>, beside: Option<ComparedState<'_>>, date: Date) -> Vec<Picture> {
    let detected = facts.explainer.detection();
    let routes = facts.prediction.air.lines().iter();
    routes
        .filter_map(|route| drawn(facts, route, beside, &detected, date))
        .collect()
}

/// Picture of a line. `None` if no pressure is computed for it.
pub fn picture(facts: &Facts<'_>, route: &Line, date: Date) -> Option<Picture> {
    drawn(facts, route, None, &facts.explainer.detection_of(route.thing), date)
}

fn drawn(
    facts: &Facts<'_>,
    route: &Line,
    beside: Option<ComparedState<'_>>,
    detected: &[LineDetection<'_>],
    date: Date,
) -> Option<Picture> {
    let office = facts.office;
    let length = route.length().filter(|length| *length > 0.0)?;
    let air = &facts.prediction.air;
    let curve = curve(air, route, length);
    let beside = beside.and_then(|state| {
        let mut lines = state.air.lines().iter();
        let line = lines.find(|line| (line.thing, line.branch) == (route.thing, route.branch))?;
        Some((state.when.to_owned(), self::curve(state.air, line, length)))
    });
    let of_state = beside.iter().flat_map(|(_, curve)| curve);
    let highest = curve
        .iter()
        .chain(of_state)
        .map(|(_, pascals)| *pascals)
        .reduce(f64::max)?;
    let points = points(facts, route);
    let sections: Vec<(f64, f64, Option<f64>, Option<f64>)> = facts
        .explainer
        .sections(route)
        .map(|section| {
            let least = section
                .minimum
                .as_ref()
                .map(|minimum| office.gauge_pascals(minimum.quantity));
            let head = section.stated.and_then(|(_, fields)| water_head(fields));
            (section.section.from, section.section.to, least, head)
        })
        .collect();
    let others = points.iter().flat_map(|point| {
        point
            .limits
            .iter()
            .map(|limit| limit.1)
            .chain(point.reading.map(|reading| reading.1))
    });
    let others = others.chain(sections.iter().flat_map(|section| [section.2, section.3]).flatten());
    let highest = others.fold(highest, f64::max);
    if highest <= 0.0 {
        return None;
    }
    let (one_metre, length_unit) = facts.units.distance_figure(1.0);
    let (one_pascal, pressure_unit) = facts.units.figure(Dimension::Pressure, 1.0);
    let name = match route.branch_name(office) {
        Some(branch) => format!("{} branch {branch}", office.name(route.thing)),
        None => office.name_and_title(route.thing),
    };
    let called = office
        .itself
        .map_or("", |id| office.title(id).unwrap_or(office.name(id)));
    let heading = NAME.wrap(&format!("{called}: pressure along {name}"), WIDTH - 10.0);
    let heading: Vec<String> = heading
        .into_iter()
        .take(3)
        .chain([format!("computed {date}, not measured")])
        .collect();
    let drawing = PressurePlot {
        facts,
        heading,
        plot: Plot::new(
            (length * one_metre, length_unit),
            (highest * one_pascal, pressure_unit),
            PLOT,
        ),
        one_metre,
        one_pascal,
        points,
        curve,
        beside,
        sections,
        leaks: leaks(detected, route),
    };
    let (svg, height) = drawing.draw(&name);
    let table = drawing.table(&name, route);
    let file = match route.branch_name(office) {
        Some(branch) => format!("{}.{branch}", office.name(route.thing)),
        None => office.name(route.thing).to_owned(),
    };
    Some(Picture {
        name,
        file,
        svg,
        height,
        table,
    })
}

/// Smallest reported leaks along a line. Empty if the office has no limit that a leak there could trip.
fn leaks(detected: &[LineDetection<'_>], route: &Line) -> Vec<(f64, Option<f64>)> {
    let own = detected.iter().find(|found| std::ptr::eq(found.line, route));
    let places = own.map_or(&[][..], |own| &own.places);
    let leak = |place: &PlaceDetection| place.smallest.map(|reported| reported.leak.cubic_metres_per_second());
    places.iter().map(|place| (place.metres, leak(place))).collect()
}

/// Pressures along a line, at enough points for a curve.
fn curve(air: &Air, route: &Line, length: f64) -> Vec<(f64, f64)> {
    let places = (0..=STEPS).map(|step| length * f64::from(step) / f64::from(STEPS));
    let mut places: Vec<f64> = places.chain(route.sections.iter().map(|section| section.to)).collect();
    places.sort_by(f64::total_cmp);
    places.dedup();
    let known = places
        .into_iter()
        .filter_map(|metres| Some((metres, air.pressure_along(route, metres)?.pascals())));
    known.collect()
}

fn points(facts: &Facts<'_>, route: &Line) -> Vec<Point> {
    let office = facts.office;
    let profile = facts
        .prediction
        .profile(office, facts.networks, &facts.explainer.minimums, route);
    profile
        .into_iter()
        .map(|point| {
            let things: Vec<ThingId> = point.what.split(", ").filter_map(|what| office.named(what)).collect();
            let limits = things.iter().flat_map(|id| limits(facts, *id)).collect();
            let reading = things
                .iter()
                .filter_map(|id| last_reading(facts, *id))
                .chain(gauge_reading(facts, route, point.metres))
                .max_by_key(|(date, _)| *date);
            Point {
                metres: point.metres,
                what: point.what,
                pascals: point.pressure.map(drysheath_engineering::measure::Pressure::pascals),
                least: point.minimum.map(drysheath_engineering::measure::Pressure::pascals),
                limits,
                reading,
                is_sensor: !things.is_empty(),
            }
        })
        .collect()
}

/// Pressure limits of a thing.
fn limits(facts: &Facts<'_>, id: ThingId) -> Vec<(bool, f64, String)> {
    let readings = facts
        .explainer
        .readings(id)
        .into_iter()
        .filter(|reading| reading.dimension == Dimension::Pressure);
    readings
        .flat_map(|reading| {
            let limits = reading.limits.iter().map(|limit| {
                let said = format!("{} {}", limit.limit.level.word(), limit.limit.value);
                (limit.limit.level.is_low(), facts.office.figure(limit.limit.value), said)
            });
            limits.collect::<Vec<_>>()
        })
        .collect()
}

/// Latest pressure reading of a sensor.
fn last_reading(facts: &Facts<'_>, id: ThingId) -> Option<(Date, f64)> {
    let own = facts
        .office
        .readings
        .iter()
        .filter(|reading| reading.of.thing == Some(id));
    let pressures = own.filter_map(|reading| match reading.measured {
        Measured::Signal(read) if read.dimension() == Dimension::Pressure => {
            Some((reading.date.value, facts.office.figure(read)))
        }
        _ => None,
    });
    pressures.max_by_key(|(date, _)| *date)
}

/// Latest gauge reading at a point of a line.
fn gauge_reading(facts: &Facts<'_>, route: &Line, metres: f64) -> Option<(Date, f64)> {
    if route.branch.is_some() {
        return None;
    }
    let own = facts
        .office
        .readings
        .iter()
        .filter(|reading| reading.of.thing == Some(route.thing));
    let gauges = own.filter_map(|reading| match reading.measured {
        Measured::Gauge(read) => {
            let at = (reading.of.numbers.0 as usize).checked_sub(1)?;
            let (_, _, fields) = facts.office.thing(route.thing).named(Key::Place).nth(at)?;
            let place = fields.quantity(Key::At)?.0.si();
            ((place - metres).abs() < SAME).then(|| (reading.date.value, facts.office.figure(read)))
        }
        _ => None,
    });
    gauges.max_by_key(|(date, _)| *date)
}

/// Head of water at the depth of a section, Pa.
fn water_head(section: &[Field]) -> Option<f64> {
    let depth = Length::of(section.quantity(Key::Depth)?.0)?;
    Some(water::head(depth, water::CONVENTIONAL).pascals())
}

/// Leak at the top of the band, and the largest leak. The band is limited to a multiple of the median: where little
/// more than a cut is reported, the smallest reported leak is so large that the others would not be visible.
fn scale(mut leaks: Vec<f64>) -> (f64, f64) {
    const TIMES_THE_MEDIAN: f64 = 10.0;
    leaks.sort_by(f64::total_cmp);
    let most = leaks.last().copied().unwrap_or_default();
    let median = leaks.get(leaks.len() / 2).copied().unwrap_or_default();
    (most.min(TIMES_THE_MEDIAN * median), most)
}

impl PressurePlot<'_, '_> {
    fn x(&self, metres: f64) -> f64 {
        self.plot.x(metres * self.one_metre)
    }

    /// Height of a pressure above the axis.
    fn rise(&self, pascals: f64) -> f64 {
        self.plot.rise(pascals * self.one_pascal)
    }

    fn draw(&self, name: &str) -> (Markup, f64) {
        let lanes = lanes(&self.labels());
        let highest = lanes.iter().flatten().max().map_or(0, |lane| lane + 1) as f64;
        let legend = self.legend();
        let head = self.heading.len() as f64 * NAME.line() + 6.0;
        let legend_height = legend.1;
        let top = head + legend_height + 20.0 + highest * SAID.line() + 8.0;
        let bottom = top + PLOT;
        let band = if self.leaks.is_empty() { 0.0 } else { BAND + BAND_BELOW };
        let height = (bottom + BELOW + band).ceil();
        let svg = html! {
            svg.profile xmlns="http://www.w3.org/2000/svg" viewBox=(format!("0 0 {WIDTH} {height}")) width=(WIDTH) height=(height) role="img" aria-label=(format!("computed pressure along {name}; its figures are in the table")) {
                (rectangle("paper", (0.0, 0.0), (WIDTH, height), 0.0))
                @for (at, said) in self.heading.iter().enumerate() {
                    (text(if at + 1 == self.heading.len() { "said" } else { "heading" }, (2.0, (at + 1) as f64 * NAME.line() - 3.0), Anchor::Start, said))
                }
                g transform=(format!("translate(0 {head})")) { (legend.0) }
                (self.plot.axes(bottom))
                (self.sections(bottom))
                (self.curve("pressure", &self.curve, bottom))
                @if let Some((_, curve)) = &self.beside { (self.curve("state", curve, bottom)) }
                @for (point, lane) in self.points.iter().zip(&lanes) { (self.point(point, *lane, top, bottom)) }
                @if !self.leaks.is_empty() { (self.band(bottom + BELOW + BAND)) }
            }
        };
        (svg, height)
    }

    /// Band of the smallest reported leaks, with the places where not even a cut is reported.
    fn band(&self, foot: f64) -> Markup {
        let (scale, most) = scale(self.leaks.iter().filter_map(|(_, leak)| *leak).collect());
        let shown = |flow: f64| self.facts.figure(Dimension::Flow, flow);
        let end = self.leaks.last().map_or(0.0, |(metres, _)| *metres);
        let rise = |leak: f64| {
            if scale > 0.0 {
                BAND * (leak / scale).min(1.0)
            } else {
                0.0
            }
        };
        let seen = |from: f64, to: f64, of: &[(f64, Option<f64>)]| {
            let heights = of.iter().filter_map(|(metres, leak)| Some((*metres, rise((*leak)?))));
            let heights: Vec<(f64, f64)> = heights.collect();
            let (first, last) = (heights.first(), heights.last());
            let ends = |of: Option<&(f64, f64)>, metres: f64| of.map(|(_, rise)| (metres, *rise));
            let top = ends(first, from)
                .into_iter()
                .chain(heights.iter().copied())
                .chain(ends(last, to));
            let top = top.map(|(metres, rise)| (self.x(metres), foot - rise));
            let corners: Vec<(f64, f64)> = [(self.x(from), foot)]
                .into_iter()
                .chain(top)
                .chain([(self.x(to), foot)])
                .collect();
            polygon("leaks", &corners)
        };
        let unseen = |from: f64, to: f64| {
            let (from, to) = (self.x(from), self.x(to));
            html! { (rectangle("unseen", (from, foot - BAND), (to - from, BAND), 0.0)) (hatching(from, to, foot)) }
        };
        let mut start = self.leaks.first().map_or(0.0, |(metres, _)| *metres);
        let mut rest = self.leaks.iter().skip(1);
        let pieces = self
            .leaks
            .chunk_by(|(_, one), (_, other)| one.is_some() == other.is_some())
            .map(|piece| {
                // The boundary lies somewhere between a place where leaks are reported and one where they are not.
                let last = piece.last().map_or(start, |(metres, _)| *metres);
                let next = rest
                    .nth(piece.len() - 1)
                    .map_or(last, |(metres, _)| f64::midpoint(last, *metres));
                let from = std::mem::replace(&mut start, next);
                match piece.first() {
                    Some((_, Some(_))) => seen(from, next, piece),
                    _ => unseen(from, next),
                }
            });
        let mut said = match () {
            () if most <= 0.0 => "no limit reports a leak here, not even a complete cut".to_owned(),
            () if scale < most => format!(
                "smallest leak that a limit reports; the band is cut off at {}, and may be more where it reaches that",
                shown(scale)
            ),
            () => format!("smallest leak that a limit reports, up to {}", shown(most)),
        };
        if most > 0.0 && self.leaks.iter().any(|(_, leak)| leak.is_none()) {
            said.push_str("; hatched: not even a complete cut");
        }
        html! {
            @for piece in pieces { (piece) }
            (line("axis", (self.x(0.0), foot), (self.x(end), foot)))
            (text("said", (self.x(0.0), foot + 15.0), Anchor::Start, &said))
        }
    }

    /// Position of each point, and its name if shown.
    fn labels(&self) -> Vec<(f64, Option<String>)> {
        let points = self.points.iter().map(|point| {
            let is_named = point.what != "start" && point.what != "lowest";
            (self.x(point.metres), is_named.then(|| label(&named(&point.what))))
        });
        points.collect()
    }

    /// Legend of the lines that occur, and its height.
    fn legend(&self) -> (Markup, f64) {
        const SAMPLE: f64 = 30.0;
        let has = |of: fn(&Point) -> bool| self.points.iter().any(of);
        let when = self
            .beside
            .as_ref()
            .map(|(when, _)| cut(&format!("once {when}"), WIDTH / 2.0));
        let normal = if when.is_some() {
            "normal pressure, computed"
        } else {
            "computed pressure"
        };
        let entries = [
            ("pressure", normal, true),
            ("state", when.as_deref().unwrap_or_default(), when.is_some()),
            (
                "least",
                "least pressure",
                self.sections.iter().any(|section| section.2.is_some()),
            ),
            (
                "head",
                "water at its depth",
                self.sections.iter().any(|section| section.3.is_some()),
            ),
            ("border", "end of a section", self.sections.len() > 1),
            (
                "sensor",
                "sensor, expected",
                has(|point| point.is_sensor && point.pascals.is_some()),
            ),
            ("limit", "its limits", has(|point| !point.limits.is_empty())),
            ("reading", "last reading", has(|point| point.reading.is_some())),
        ];
        let (mut x, mut y) = (2.0, 0.0);
        let mut places = Vec::new();
        for (class, said, _) in entries.into_iter().filter(|(_, _, is_there)| *is_there) {
            let width = SAMPLE + 6.0 + SAID.width(said) + 18.0;
            if x + width > WIDTH && x > 2.0 {
                (x, y) = (2.0, y + 16.0);
            }
            places.push((class, said, x, y + 9.0));
            x += width;
        }
        let drawn = html! {
            @for (class, said, x, y) in places {
                @match class {
                    "sensor" => (circle("sensor", (x + SAMPLE / 2.0, y), 4.5)),
                    "reading" => (cross(x + SAMPLE / 2.0, y)),
                    "limit" => (line("limit", (x + 6.0, y), (x + SAMPLE - 6.0, y))),
                    _ => (line(class, (x, y), (x + SAMPLE, y))),
                }
                (text("said", (x + SAMPLE + 6.0, y + 4.0), Anchor::Start, said))
            }
        };
        (drawn, y + 18.0)
    }

    fn sections(&self, bottom: f64) -> Markup {
        html! {
            @for (from, to, least, head) in &self.sections {
                @let (from, to) = (self.x(*from), self.x(*to));
                (line("border", (to, bottom - PLOT), (to, bottom)))
                @if let Some(least) = least { (line("least", (from, bottom - self.rise(*least)), (to, bottom - self.rise(*least)))) }
                @if let Some(head) = head { (line("head", (from, bottom - self.rise(*head)), (to, bottom - self.rise(*head)))) }
            }
        }
    }

    fn curve(&self, class: &str, curve: &[(f64, f64)], bottom: f64) -> Markup {
        let points: Vec<(f64, f64)> = curve
            .iter()
            .map(|(metres, pascals)| (self.x(*metres), bottom - self.rise(*pascals)))
            .collect();
        polyline(class, &points)
    }

    fn point(&self, point: &Point, lane: Option<usize>, top: f64, bottom: f64) -> Markup {
        const HALF: f64 = 8.0;
        let x = self.x(point.metres);
        let y = point.pascals.map(|pascals| bottom - self.rise(pascals));
        html! {
            @if let Some(lane) = lane {
                @let baseline = top - 8.0 - lane as f64 * SAID.line();
                (line("leader", (x, baseline - 8.0), (x, y.unwrap_or(bottom))))
                (text("said", (x + 4.0, baseline), Anchor::Start, &label(&named(&point.what))))
            }
            @for (is_low, pascals, _) in &point.limits {
                @let y = bottom - self.rise(*pascals);
                @let tip = if *is_low { y + 4.0 } else { y - 4.0 };
                (line("limit", (x - HALF, y), (x + HALF, y)))
                (line("limit", (x, y), (x, tip)))
            }
            @if let (true, Some(y)) = (point.is_sensor, y) { (circle("sensor", (x, y), 4.5)) }
            @if let (false, Some(y)) = (point.is_sensor, y) { (polygon("stop", &[(x - 2.5, y - 2.5), (x + 2.5, y - 2.5), (x + 2.5, y + 2.5), (x - 2.5, y + 2.5)])) }
            @if let Some((_, pascals)) = point.reading { (cross(x, bottom - self.rise(pascals))) }
        }
    }

    fn table(&self, name: &str, route: &Line) -> Table {
        let facts = self.facts;
        let thing = facts.office.thing(route.thing);
        let branch = route.branch_name(facts.office);
        let pressure = |pascals: f64| facts.figure(Dimension::Pressure, pascals);
        let rows = self.points.iter().map(|point| {
            let limits: Vec<&str> = point.limits.iter().map(|(_, _, said)| said.as_str()).collect();
            Row {
                mark: Mark::Plain,
                cells: vec![
                    Cell::Text(shown_length(thing, branch, point.metres)),
                    Cell::Text(point.what.clone()),
                    Cell::or_dash(point.pascals.map(pressure)),
                    Cell::or_dash(point.least.map(pressure)),
                    Cell::or_dash(Some(limits.join("; "))),
                    Cell::or_dash(
                        point
                            .reading
                            .map(|(date, pascals)| format!("{} on {date}", pressure(pascals))),
                    ),
                ],
            }
        });
        Table {
            about: format!("points along {name}"),
            columns: COLUMNS,
            rows: rows.collect(),
        }
    }
}

/// Hatching across the band, which distinguishes it from filled areas without colours.
fn hatching(from: f64, to: f64, foot: f64) -> Markup {
    const APART: f64 = 7.0;
    let starts = std::iter::successors(Some(from), |x| Some(x + APART)).take_while(|x| *x < to);
    html! {
        @for x in starts {
            @let merged = (to - x).min(BAND);
            (line("unseen", (x, foot), (x + merged, foot - merged)))
        }
    }
}

fn cross(x: f64, y: f64) -> Markup {
    html! {
        (line("reading", (x - 5.0, y - 5.0), (x + 5.0, y + 5.0)))
        (line("reading", (x - 5.0, y + 5.0), (x + 5.0, y - 5.0)))
    }
}

const STYLE: &str = include_str!("picture.css");

/// A picture and its table as a separate document.
pub fn document(picture: &Picture) -> String {
    const ROW: f64 = 17.0;
    let widths: Vec<f64> = COLUMNS.iter().map(|column| f64::from(column.width)).collect();
    let starts: Vec<f64> = widths
        .iter()
        .scan(2.0, |x, width| {
            let own = *x;
            *x += width;
            Some(own)
        })
        .collect();
    let heads: Vec<Vec<String>> = COLUMNS.iter().map(|column| vec![column.title.to_owned()]).collect();
    let wrapped = |row: &Row| {
        row.cells
            .iter()
            .zip(&widths)
            .map(|(cell, width)| cell.lines(width - 8.0, row.mark))
            .collect::<Vec<_>>()
    };
    let rows: Vec<Vec<Vec<String>>> = std::iter::once(heads)
        .chain(picture.table.rows.iter().map(wrapped))
        .collect();
    let mut y = picture.height;
    let mut placed = Vec::new();
    for row in rows {
        let lines = row.iter().map(Vec::len).max().unwrap_or_default();
        placed.push((y, row));
        y += lines as f64 * 15.0 + (ROW - 15.0) + 2.0;
    }
    let height = y + 8.0;
    let content = html! {
        (picture.svg)
        @for (number, (y, row)) in placed.iter().enumerate() {
            (line("grid", (2.0, *y), (WIDTH - 2.0, *y)))
            @for (x, lines) in starts.iter().zip(row) {
                @for (at, said) in lines.iter().enumerate() {
                    (text(if number == 0 { "heading" } else { "said" }, (*x, y + (at + 1) as f64 * 15.0 - 2.0), Anchor::Start, said))
                }
            }
        }
    };
    standalone(&picture.name, height, &content)
}

/// A drawing as a separate document of the common width, with its size in CSS pixels.
pub fn standalone(name: &str, height: f64, content: &Markup) -> String {
    let svg = html! {
        svg xmlns="http://www.w3.org/2000/svg" viewBox=(format!("0 0 {WIDTH} {height}")) width=(WIDTH) height=(height) {
            title { (name) }
            style { (STYLE) }
            (rectangle("paper", (0.0, 0.0), (WIDTH, height), 0.0))
            (content)
        }
    };
    drysheath_text::safe::xml(&svg.into_string()).into_owned()
}

#[cfg(test)]
mod tests {
    use super::scale;

    #[test]
    fn a_band_is_drawn_to_ten_times_its_median() {
        assert_eq!(scale(vec![]), (0.0, 0.0));
        assert_eq!(scale(vec![2.0, 1.0, 3.0]), (3.0, 3.0));
        assert_eq!(scale(vec![1.0, 1.0, 1.0, 1e7]), (10.0, 1e7));
    }
}
