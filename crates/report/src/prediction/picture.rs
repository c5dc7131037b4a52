//! The pressure along a cable, a branch or a pipe as a picture: what is computed, what is the least in each section, and where
//! the sensors are drawn with their limits.

use drysheath_engineering::units::Dimension;
use drysheath_office::UnitPreferences;
use drysheath_text::safe::xml;
use svg::Document;
use svg::node::element::{Circle, Group, Line as Stroke, Polyline, Rectangle, Text, Title};

use super::record::{LineRecord, OfficeRecord, SensorRecord};

const WIDTH: f64 = 900.0;
const HEIGHT: f64 = 420.0;
const LEFT: f64 = 64.0;
const RIGHT: f64 = 24.0;
const TOP: f64 = 56.0;
const BOTTOM: f64 = 64.0;

/// The style of the picture: readable in print and on a dark page, and distinguishable without colour.
const STYLE: &str = "text { font: 12px sans-serif; fill: #222 } \
     .frame { fill: #fff } .grid { stroke: #ddd } .axis { stroke: #555 } \
     .pressure { fill: none; stroke: #0b5fa5; stroke-width: 2.5 } \
     .least { stroke: #b3261e; stroke-width: 2; stroke-dasharray: 7 4 } \
     .head { stroke: #6a4c93; stroke-width: 1.5; stroke-dasharray: 2 3 } \
     .border { stroke: #999; stroke-dasharray: 1 4 } \
     .sensor { fill: #fff; stroke: #0b5fa5; stroke-width: 2 } .limit { stroke: #c77700; stroke-width: 2 }";

/// The points of a computed line: metres and Pa above the surrounding air.
pub type Profile = Vec<(f64, f64)>;

/// The scales of the picture.
struct Scales {
    /// The length that the picture is wide, m.
    length: f64,
    /// The pressure at its top, Pa.
    top: f64,
}

impl Scales {
    fn x(&self, metres: f64) -> f64 {
        LEFT + (WIDTH - LEFT - RIGHT) * metres / self.length
    }

    fn y(&self, pascals: f64) -> f64 {
        HEIGHT - BOTTOM - (HEIGHT - TOP - BOTTOM) * pascals / self.top
    }
}

/// The picture of a line, as SVG. None where nothing is known of it.
pub fn picture(office: &OfficeRecord, line: &LineRecord, profile: &Profile, units: &UnitPreferences) -> Option<String> {
    let length = line.length_m.filter(|length| *length > 0.0)?;
    let sensors: Vec<&SensorRecord> = office.sensors.iter().filter(|sensor| stands_on(sensor, line)).collect();
    let highest = highest(line, profile, &sensors)?;
    let (most, _) = units.figure(Dimension::Pressure, highest);
    let (one, _) = units.figure(Dimension::Pressure, 1.0);
    let step = tick_step(most);
    let scales = Scales {
        length,
        top: (most / step).ceil().max(1.0) * step / one,
    };
    let document = Document::new()
        .set("viewBox", (0, 0, WIDTH, HEIGHT))
        .set("width", WIDTH)
        .set("height", HEIGHT)
        .set("role", "img")
        .add(Title::new(xml(&heading(office, line))))
        .add(svg::node::element::Style::new(STYLE))
        .add(
            Rectangle::new()
                .set("class", "frame")
                .set("width", WIDTH)
                .set("height", HEIGHT),
        )
        .add(text(LEFT, 24.0, "start", &heading(office, line)).set("font-weight", "bold"))
        .add(legend())
        .add(axes(&scales, units, step))
        .add(sections(line, &scales, units))
        .add(curve(profile, &scales))
        .add(marks(&sensors, &scales, units));
    Some(document.to_string())
}

fn heading(office: &OfficeRecord, line: &LineRecord) -> String {
    let name = office.title.as_deref().unwrap_or(&office.office);
    match &line.branch {
        Some(branch) => format!("{name}: {}, branch {branch}", line.name),
        None => format!("{name}: {}", line.name),
    }
}

fn stands_on(sensor: &SensorRecord, line: &LineRecord) -> bool {
    sensor.unit == "Pa" && sensor.line.as_ref() == Some(&line.name) && sensor.branch == line.branch
}

/// The highest figure in the picture. None where nothing is computed.
fn highest(line: &LineRecord, profile: &Profile, sensors: &[&SensorRecord]) -> Option<f64> {
    let computed = profile.iter().map(|(_, pressure)| *pressure).reduce(f64::max)?;
    let least = line
        .sections
        .iter()
        .flat_map(|section| [section.minimum_pa, section.water_head_pa]);
    let limits = sensors
        .iter()
        .flat_map(|sensor| sensor.limits.iter().map(|limit| Some(limit.value)));
    let highest = least.chain(limits).flatten().fold(computed, f64::max);
    (highest > 0.0).then_some(highest)
}

/// A step between ticks that makes about six of them: 1, 2 or 5 times a power of ten.
fn tick_step(most: f64) -> f64 {
    const TICKS: f64 = 6.0;
    let rough = most / TICKS;
    let power = 10_f64.powf(rough.log10().floor());
    let times = [1.0, 2.0, 5.0, 10.0].into_iter().find(|times| times * power >= rough);
    times.unwrap_or(10.0) * power
}

fn text(x: f64, y: f64, anchor: &str, content: &str) -> Text {
    Text::new(xml(content))
        .set("x", tenths(x))
        .set("y", tenths(y))
        .set("text-anchor", anchor)
}

/// A place in the picture: more digits would say nothing.
fn tenths(place: f64) -> f64 {
    (place * 10.0).round() / 10.0
}

fn stroke(class: &str, (x1, y1): (f64, f64), (x2, y2): (f64, f64)) -> Stroke {
    Stroke::new()
        .set("class", class)
        .set("x1", tenths(x1))
        .set("y1", tenths(y1))
        .set("x2", tenths(x2))
        .set("y2", tenths(y2))
}

fn legend() -> Group {
    const ENTRIES: [(&str, &str); 4] = [
        ("pressure", "computed"),
        ("least", "minimum pressure"),
        ("head", "water at its depth"),
        ("limit", "limits of a sensor"),
    ];
    let mut group = Group::new();
    let mut x = LEFT;
    for (class, what) in ENTRIES {
        group = group
            .add(stroke(class, (x, 40.0), (x + 28.0, 40.0)))
            .add(text(x + 34.0, 44.0, "start", what));
        x += 170.0;
    }
    group
}

/// The ticks from 0 up to `most`.
fn ticks(most: f64, step: f64) -> impl Iterator<Item = f64> {
    const MANY: u32 = 50;
    (0..MANY)
        .map(move |number| f64::from(number) * step)
        .take_while(move |tick| *tick <= most * 1.000_001)
}

fn axes(scales: &Scales, units: &UnitPreferences, step: f64) -> Group {
    let (bottom, right) = (HEIGHT - BOTTOM, WIDTH - RIGHT);
    let (one_pascal, unit) = units.figure(Dimension::Pressure, 1.0);
    let mut group = Group::new();
    for tick in ticks(scales.top * one_pascal, step) {
        let y = scales.y(tick / one_pascal);
        group = group
            .add(stroke("grid", (LEFT, y), (right, y)))
            .add(text(LEFT - 8.0, y + 4.0, "end", &shown(tick)));
    }
    let (one_metre, length_unit) = units.figure(Dimension::Length, 1.0);
    let length = scales.length * one_metre;
    for tick in ticks(length, tick_step(length)) {
        let x = scales.x(tick / one_metre);
        group = group.add(stroke("axis", (x, bottom), (x, bottom + 5.0))).add(text(
            x,
            bottom + 18.0,
            "middle",
            &shown(tick),
        ));
    }
    group
        .add(stroke("axis", (LEFT, bottom), (right, bottom)))
        .add(stroke("axis", (LEFT, TOP), (LEFT, bottom)))
        .add(text(LEFT - 8.0, TOP - 8.0, "end", unit))
        .add(text(right, bottom + 34.0, "end", length_unit))
}

fn shown(tick: f64) -> String {
    let text = format!("{tick:.6}");
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
}

fn sections(line: &LineRecord, scales: &Scales, units: &UnitPreferences) -> Group {
    let bottom = HEIGHT - BOTTOM;
    let mut group = Group::new();
    for section in &line.sections {
        let (from, to) = (scales.x(section.from_m), scales.x(section.to_m));
        let name = section.name.as_deref().unwrap_or("");
        let surroundings = section.surroundings.as_deref().unwrap_or("");
        group = group.add(stroke("border", (to, TOP), (to, bottom))).add(text(
            f64::midpoint(from, to),
            bottom + 34.0,
            "middle",
            format!("{name} {surroundings}").trim(),
        ));
        for (class, pressure, what) in [
            ("least", section.minimum_pa, "minimum pressure"),
            ("head", section.water_head_pa, "water at its depth"),
        ] {
            if let Some(pressure) = pressure {
                let y = scales.y(pressure);
                let said = format!("{what} {}", units.show(Dimension::Pressure, pressure));
                group = group.add(stroke(class, (from, y), (to, y)).add(Title::new(xml(&said))));
            }
        }
    }
    group
}

fn curve(profile: &Profile, scales: &Scales) -> Polyline {
    let points: Vec<String> = profile
        .iter()
        .map(|(metres, pressure)| format!("{:.1},{:.1}", scales.x(*metres), scales.y(*pressure)))
        .collect();
    Polyline::new().set("class", "pressure").set("points", points.join(" "))
}

fn marks(sensors: &[&SensorRecord], scales: &Scales, units: &UnitPreferences) -> Group {
    const HALF: f64 = 9.0;
    let mut group = Group::new();
    for sensor in sensors {
        let Some(x) = sensor.distance_m.map(|metres| scales.x(metres)) else {
            continue;
        };
        for limit in &sensor.limits {
            let y = scales.y(limit.value);
            let said = format!(
                "{} {} {}",
                sensor.name,
                limit.level,
                units.show(Dimension::Pressure, limit.value)
            );
            group = group.add(stroke("limit", (x - HALF, y), (x + HALF, y)).add(Title::new(xml(&said))));
        }
        let Some(expected) = sensor.expected else { continue };
        let y = scales.y(expected);
        let said = format!(
            "{} should read {}",
            sensor.name,
            units.show(Dimension::Pressure, expected)
        );
        // At the right edge there is no room to the right.
        let (anchor, shift) = if x > WIDTH - 140.0 {
            ("end", -10.0)
        } else {
            ("start", 10.0)
        };
        group = group
            .add(
                Circle::new()
                    .set("class", "sensor")
                    .set("cx", tenths(x))
                    .set("cy", tenths(y))
                    .set("r", 5)
                    .add(Title::new(xml(&said))),
            )
            .add(text(x + shift, y - 8.0, anchor, &sensor.name));
    }
    group
}
