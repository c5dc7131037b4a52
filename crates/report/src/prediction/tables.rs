//! The prediction of an office as tables.

use std::fmt::Write as _;

use drysheath_engineering::measure::AbsolutePressure;
use drysheath_engineering::units::{Dimension, time};
use drysheath_office::UnitPreferences;
use drysheath_prediction::{LONGEST_HOLD_UP, back_flow_note, relief_note};
use drysheath_text::safe::terminal;

use super::record::{
    DetectionRecord, LeftOutRecord, LineRecord, OfficeRecord, RegulatorRecord, SensorRecord, StateRecord, UnmetRecord,
};
use super::resolution::DisplayResolution;
use crate::cautions::CAUTIONS;
use crate::text_table::{CellAlignment, text_table};

/// The prediction of an office as plain text.
pub fn tables(record: &OfficeRecord, units: &UnitPreferences) -> String {
    let mut out = String::new();
    let name = record.title.as_deref().unwrap_or(&record.office);
    let _ = writeln!(out, "{name} ({})", record.file);
    conditions(record, units, &mut out);
    left_out(&record.left_out, &mut out);
    for unread in &record.unread {
        let _ = writeln!(
            out,
            "not read: {}:{}: {}; nothing of it is in these figures",
            unread.place.file, unread.place.line, unread.why
        );
    }
    for missing in &record.missing {
        let _ = writeln!(
            out,
            "missing: {} ({}:{}); it would let one compute {}",
            missing.what, missing.place.file, missing.place.line, missing.unlocks
        );
    }
    for failure in &record.failures {
        let on = failure.on.as_ref().map_or(String::new(), |on| format!(" at {on}"));
        let _ = writeln!(out, "not computed{on}: {}", failure.why);
    }
    let fine = DisplayResolution::of(&record.sensors, units);
    dryers(record, &fine, &mut out);
    bottles(record, &fine, &mut out);
    hold_up(record, units, &mut out);
    regulators(record, &fine, &mut out);
    tubes(record, &fine, &mut out);
    losses(record, &fine, &mut out);
    for line in &record.lines {
        points(record, line, &fine, &mut out);
    }
    sensors(record, units, &mut out);
    detection(record, &fine, &mut out);
    feeds(record, units, &mut out);
    loops(record, units, &mut out);
    controls(record, units, &mut out);
    for state in &record.states {
        self::state(state, &fine, &mut out);
    }
    if !record.feeds.is_empty() || !record.lines.is_empty() {
        let _ = write!(out, "\nThese figures are computed, not measured. {CAUTIONS}");
    }
    terminal(&out).into_owned()
}

fn conditions(record: &OfficeRecord, units: &UnitPreferences, out: &mut String) {
    let ambient = AbsolutePressure::from_pascals(record.conditions.ambient_absolute_pa);
    let at = match record.conditions.elevation_m {
        Some(metres) => format!("at {}", units.show(Dimension::Length, metres)),
        None => "at sea level, since no elevation is stated".to_owned(),
    };
    let _ = writeln!(
        out,
        "air around the office {} {at}, air in the network {}",
        units.show_absolute(ambient),
        units.show(Dimension::Temperature, record.conditions.air_temperature_k)
    );
    let _ = writeln!(
        out,
        "flows are counted at {} and {}",
        units.show_absolute(AbsolutePressure::from_pascals(record.conditions.standard_absolute_pa)),
        units.show(Dimension::Temperature, record.conditions.standard_temperature_k)
    );
}

/// The things left out because of their stage, and how to include planned ones.
fn left_out(things: &[LeftOutRecord], out: &mut String) {
    for (stage, how) in [("planned", "; --planned computes it with them"), ("disused", "")] {
        let of_stage = things.iter().filter(|thing| thing.stage == stage);
        let names: Vec<&str> = of_stage.map(|thing| thing.name.as_str()).collect();
        if !names.is_empty() {
            let _ = writeln!(out, "left out, since {stage}: {}{how}", names.join(", "));
        }
    }
}

const LEFT: CellAlignment = CellAlignment::Left;
const RIGHT: CellAlignment = CellAlignment::Right;

fn percent(part: Option<f64>) -> String {
    part.map_or_else(|| "-".to_owned(), |part| format!("{:.0} %", part * 100.0))
}

fn bottles(record: &OfficeRecord, fine: &DisplayResolution<'_>, out: &mut String) {
    let rows = record.bottles.iter().map(|bottle| {
        vec![
            bottle.name.clone(),
            fine.pressure_or_dash(bottle.delivers_pa),
            fine.flow_or_dash(bottle.flow_m3_per_s),
            fine.flow_or_dash(bottle.usage_m3_per_s),
            bottle
                .lasts_s
                .and_then(time)
                .map_or_else(|| "-".to_owned(), |lasts| lasts.to_string()),
        ]
    });
    let columns = [
        ("bottle", LEFT),
        ("pressure", RIGHT),
        ("flow", RIGHT),
        ("usage", RIGHT),
        ("lasts when full", RIGHT),
    ];
    text_table(out, "Bottles", &columns, &rows.collect::<Vec<_>>());
}

fn dryers(record: &OfficeRecord, fine: &DisplayResolution<'_>, out: &mut String) {
    let rows = record.dryers.iter().map(|dryer| {
        let dry = dryer.saturation.as_ref().map_or_else(
            || "-".to_owned(),
            |point| {
                format!(
                    "{} ({})",
                    fine.units.show(Dimension::Temperature, point.temperature_k),
                    point.name
                )
            },
        );
        vec![
            record.called(&dryer.name),
            fine.pressure_or_dash(dryer.delivers_pa),
            fine.flow_or_dash(dryer.flow_m3_per_s),
            fine.units.show_or_dash(Dimension::Flow, dryer.capacity_m3_per_s),
            percent(dryer.duty),
            dry,
            match (dryer.asked_m3_per_s, dryer.starts_per_hour) {
                _ if dryer.backed_up => "backed up".to_owned(),
                (Some(asked), _) => format!("asked for {}", fine.flow(asked)),
                (None, Some(starts)) => format!("{starts:.1} starts an hour"),
                (None, None) => String::new(),
            },
        ]
    });
    let columns = [
        ("dryer", LEFT),
        ("pressure", RIGHT),
        ("flow", RIGHT),
        ("capacity here", RIGHT),
        ("duty", RIGHT),
        ("dew point", LEFT),
        ("", LEFT),
    ];
    text_table(out, "Dryers", &columns, &rows.collect::<Vec<_>>());
}

fn hold_up(record: &OfficeRecord, units: &UnitPreferences, out: &mut String) {
    let rows = record.hold_up.iter().map(|holds| {
        let place = holds.line.iter().zip(holds.distance_m).map(|(line, metres)| {
            let line = record.line_called(line, holds.branch.as_deref());
            format!("{line} {}", units.show_distance(metres))
        });
        let under = holds.under.as_ref().map_or_else(String::new, |under| {
            format!("{under} {}", units.show_or_dash(Dimension::Pressure, holds.least_pa))
        });
        let lasts = match (&holds.not_known, holds.lasts) {
            (Some(why), _) => format!("not known: {why}"),
            (None, true) => {
                time(LONGEST_HOLD_UP.seconds()).map_or_else(String::new, |longest| format!("more than {longest}"))
            }
            (None, false) if holds.time_s.is_some_and(|seconds| seconds <= 0.0) => "already too low".to_owned(),
            (None, false) => holds
                .time_s
                .and_then(time)
                .map_or_else(|| "-".to_owned(), |time| time.to_string()),
        };
        let stops: Vec<String> = holds.stops.iter().map(|name| record.called(name)).collect();
        vec![stops.join(", "), lasts, place.collect(), under]
    });
    let columns = [
        ("once this stops", LEFT),
        ("pressures hold for", LEFT),
        ("first too low at", LEFT),
        ("below", LEFT),
    ];
    text_table(out, "Hold-up", &columns, &rows.collect::<Vec<_>>());
    let mut open: Vec<&String> = record.hold_up.iter().flat_map(|holds| &holds.back_flow).collect();
    open.sort_unstable();
    open.dedup();
    for source in open {
        let _ = writeln!(out, " {}", back_flow_note(source));
    }
}

fn regulators(record: &OfficeRecord, fine: &DisplayResolution<'_>, out: &mut String) {
    let outlet = |regulator: &RegulatorRecord| match (regulator.outlet_least_pa, regulator.outlet_most_pa) {
        (Some(least), Some(most)) => format!("{} .. {}", fine.pressure(least), fine.pressure(most)),
        (None, Some(most)) => format!("at most {}", fine.pressure(most)),
        (_, None) => fine.pressure_or_dash(regulator.outlet_pa),
    };
    let rows = record.regulators.iter().map(|regulator| {
        vec![
            record.called(&regulator.name),
            fine.units.show_or_dash(Dimension::Pressure, regulator.set_pa),
            fine.pressure_or_dash(regulator.inlet_pa),
            outlet(regulator),
            fine.flow_or_dash(regulator.flow_m3_per_s),
            regulator.state.clone().unwrap_or_else(|| "-".to_owned()),
        ]
    });
    let columns = [
        ("regulator", LEFT),
        ("set", RIGHT),
        ("supply", RIGHT),
        ("downstream", RIGHT),
        ("flow", RIGHT),
        ("state", LEFT),
    ];
    text_table(out, "Regulators", &columns, &rows.collect::<Vec<_>>());
}

fn tubes(record: &OfficeRecord, fine: &DisplayResolution<'_>, out: &mut String) {
    let rows = record.tubes.iter().map(|tube| {
        vec![
            match tube.piece {
                Some(piece) => format!("{} -> {}, piece {piece}", tube.from, tube.to),
                None => format!("{} -> {}", tube.from, tube.to),
            },
            fine.flow(tube.flow_m3_per_s),
            fine.pressure(tube.drop_pa),
            format!("{:.0}", tube.reynolds),
            tube.regime.clone(),
        ]
    });
    let columns = [
        ("tube", LEFT),
        ("flow", RIGHT),
        ("pressure drop", RIGHT),
        ("Reynolds", RIGHT),
        ("regime", LEFT),
    ];
    text_table(out, "Tubes", &columns, &rows.collect::<Vec<_>>());
}

fn losses(record: &OfficeRecord, fine: &DisplayResolution<'_>, out: &mut String) {
    let rows = record.losses.iter().map(|loss| {
        vec![
            record.called(&loss.name),
            fine.flow_or_dash(loss.flow_m3_per_s),
            fine.pressure_or_dash(loss.loses_pa),
            fine.units.show_or_dash(Dimension::Flow, loss.stated_to_m3_per_s),
        ]
    });
    let columns = [
        ("drop in", LEFT),
        ("flow", RIGHT),
        ("pressure drop", RIGHT),
        ("stated up to", RIGHT),
    ];
    text_table(out, "Losses", &columns, &rows.collect::<Vec<_>>());
}

fn points(record: &OfficeRecord, line: &LineRecord, fine: &DisplayResolution<'_>, out: &mut String) {
    let rows = line.points.iter().map(|point| {
        vec![
            fine.units.show_distance(point.distance_m),
            fine.pressure_or_dash(point.pressure_pa),
            fine.flow_or_dash(point.flow_m3_per_s),
            fine.units.show_or_dash(Dimension::Pressure, point.minimum_pa),
            fine.pressure_or_dash(point.margin_pa),
            point.what.clone(),
        ]
    });
    let columns = [
        ("distance", RIGHT),
        ("pressure", RIGHT),
        ("flow", RIGHT),
        ("minimum", RIGHT),
        ("margin", RIGHT),
        ("place", LEFT),
    ];
    let heading = record.line_called(&line.name, line.branch.as_deref());
    text_table(out, &heading, &columns, &rows.collect::<Vec<_>>());
}

/// Dimension of a sensor's figures.
fn dimension(sensor: &SensorRecord) -> Dimension {
    match sensor.unit.as_str() {
        "Pa" => Dimension::Pressure,
        "m3/s" => Dimension::Flow,
        "1" => Dimension::Humidity,
        _ => Dimension::Temperature,
    }
}

fn sensors(record: &OfficeRecord, units: &UnitPreferences, out: &mut String) {
    let rows = record.sensors.iter().map(|sensor| {
        let dimension = dimension(sensor);
        let show = |si| units.show(dimension, si);
        let span = sensor.span.map_or_else(
            || "-".to_owned(),
            |[bottom, top]| format!("{} .. {}", show(bottom), show(top)),
        );
        let limits: Vec<String> = sensor
            .limits
            .iter()
            .map(|limit| format!("{} {}", limit.level, show(limit.value)))
            .collect();
        vec![
            record.called(&sensor.name),
            sensor.signal.clone(),
            sensor
                .expected
                .map_or_else(|| "-".to_owned(), |si| units.show_reading(dimension, si, sensor.step)),
            span,
            percent(sensor.span_part),
            limits.join(", "),
        ]
    });
    let columns = [
        ("sensor", LEFT),
        ("signal", LEFT),
        ("should read", RIGHT),
        ("span", LEFT),
        ("of span", RIGHT),
        ("limits", LEFT),
    ];
    text_table(out, "Sensors", &columns, &rows.collect::<Vec<_>>());
}

/// A state other than the normal one.
fn state(state: &StateRecord, fine: &DisplayResolution<'_>, out: &mut String) {
    let when = &state.when;
    if let Some(why) = &state.not_known {
        let _ = writeln!(out, "\nWhen {when}\n not known: {why}");
        return;
    }
    let lines = state.lines.iter().map(|line| {
        vec![
            line.name.clone(),
            fine.pressure_or_dash(line.normal_pa),
            fine.pressure_or_dash(line.pressure_pa),
            line.distance_m
                .map_or_else(|| "-".to_owned(), |metres| fine.units.show_distance(metres)),
        ]
    });
    let columns = [
        ("lowest along", LEFT),
        ("normal", RIGHT),
        ("then", RIGHT),
        ("at", RIGHT),
    ];
    text_table(out, &format!("When {when}"), &columns, &lines.collect::<Vec<_>>());
    let sensors = state.sensors.iter().map(|sensor| {
        let dimension = if sensor.unit == "m3/s" {
            Dimension::Flow
        } else {
            Dimension::Pressure
        };
        let reads = |si| fine.units.show_reading(dimension, si, sensor.step);
        vec![
            sensor.name.clone(),
            sensor.signal.clone(),
            sensor.normal.map_or_else(|| "-".to_owned(), reads),
            sensor.reading.map_or_else(|| "-".to_owned(), reads),
            match sensor.reading {
                Some(_) => sensor.passes.join(", "),
                None => "not known".to_owned(),
            },
        ]
    });
    let columns = [
        ("sensor", LEFT),
        ("signal", LEFT),
        ("normal", RIGHT),
        ("then", RIGHT),
        ("passes its limit", LEFT),
    ];
    text_table(
        out,
        &format!("Sensors when {when}"),
        &columns,
        &sensors.collect::<Vec<_>>(),
    );
    for regulator in &state.regulators {
        let Some(most) = regulator.outlet_most_pa else { continue };
        let most = fine.pressure(most);
        let downstream = match regulator.outlet_least_pa {
            Some(least) => format!("between {} and {most}", fine.pressure(least)),
            None => format!("at most {most}"),
        };
        let _ = writeln!(
            out,
            " {} is out of regulation: the pressure downstream of it is {downstream}",
            regulator.name
        );
    }
    for source in &state.at_capacity {
        let _ = writeln!(
            out,
            " {} gives all of the {} that it can, and would have to give {} to hold its pressure",
            source.name,
            fine.flow(source.flow_m3_per_s),
            fine.flow_or_dash(source.asked_m3_per_s)
        );
    }
    for bank in &state.bottles {
        let flow = fine.flow(bank.flow_m3_per_s);
        let _ = match bank.lasts_s.and_then(time) {
            Some(lasts) => writeln!(out, " {} counts as full here: at {flow} it lasts {lasts}", bank.name),
            None => writeln!(out, " {} counts as full here, and gives {flow}", bank.name),
        };
    }
    for source in &state.back_flow {
        let _ = writeln!(out, " {}", back_flow_note(source));
    }
    if let Some(regulator) = &state.relieves {
        let _ = writeln!(out, " {}", relief_note(regulator));
    }
    for expected in &state.expected {
        let holds = match expected.holds {
            Some(true) => "holds",
            Some(false) => "does not hold",
            None => "is not known",
        };
        let unmet: Vec<String> = expected.unmet.iter().map(|unmet| shown_unmet(unmet, fine)).collect();
        let why = if unmet.is_empty() { "" } else { ": " };
        let _ = writeln!(out, " expected: {} {holds}{why}{}", expected.what, unmet.join("; "));
    }
}

/// "0 psi at 3.2 km on c101 after 2 h, against 3 psi, below that from 50 min on".
fn shown_unmet(unmet: &UnmetRecord, fine: &DisplayResolution<'_>) -> String {
    let shown = |si| match unmet.unit.as_str() {
        "m3/s" => fine.flow(si),
        _ => fine.pressure(si),
    };
    let at = match unmet.distance_m {
        Some(metres) => format!("at {} on {}", fine.units.show_distance(metres), unmet.name),
        None => format!("at {}", unmet.name),
    };
    let after = match unmet.after_s {
        Some(seconds) if seconds < 1.0 => " at once".to_owned(),
        after => after
            .and_then(time)
            .map_or_else(String::new, |after| format!(" after {after}")),
    };
    let fell = unmet.below_after_s.filter(|fell| *fell >= 1.0).and_then(time);
    let fell = fell.map_or_else(String::new, |fell| format!(", below that from {fell} on"));
    format!(
        "{} {at}{after}, against {}{fell}",
        shown(unmet.computed),
        shown(unmet.bound)
    )
}

/// For each line, the place where the smallest reported leak is largest.
fn detection(record: &OfficeRecord, fine: &DisplayResolution<'_>, out: &mut String) {
    let size = |place: &DetectionRecord| place.smallest_leak_m3_per_s.unwrap_or(f64::INFINITY);
    let lines = record
        .detection
        .chunk_by(|one, other| (&one.line, &one.branch) == (&other.line, &other.branch));
    let worst = lines.filter_map(|places| {
        let places = places.iter();
        places.reduce(|worst, place| if size(place) > size(worst) { place } else { worst })
    });
    let rows = worst.map(|place| {
        let limit = place
            .first
            .iter()
            .map(|first| record.called(first))
            .chain(place.limit.clone());
        vec![
            record.line_called(&place.line, place.branch.as_deref()),
            fine.units.show_distance(place.distance_m),
            match place.smallest_leak_m3_per_s {
                Some(leak) => fine.flow(leak),
                None => "even a cut trips none".to_owned(),
            },
            limit.collect::<Vec<_>>().join(" "),
        ]
    });
    let columns = [
        ("line", LEFT),
        ("hardest to detect at", RIGHT),
        ("smallest leak reported", RIGHT),
        ("first limit", LEFT),
    ];
    text_table(out, "Leaks that limits report", &columns, &rows.collect::<Vec<_>>());
    for alike in record.detection_not_known.chunk_by(|one, other| one.why == other.why) {
        let Some(first) = alike.first() else { continue };
        let lines = alike
            .iter()
            .map(|line| record.line_called(&line.line, line.branch.as_deref()));
        let lines: Vec<String> = lines.collect();
        let _ = writeln!(
            out,
            "which leaks and cuts trip a limit is not known along {}: {}",
            lines.join(", "),
            first.why
        );
    }
}

fn feeds(record: &OfficeRecord, units: &UnitPreferences, out: &mut String) {
    let rows = record.feeds.iter().map(|feed| {
        vec![
            format!("{} -> {}", feed.battery, record.called(&feed.load)),
            units.show(Dimension::Voltage, feed.source_v),
            units.show(Dimension::Power, feed.power_w),
            units.show(Dimension::Resistance, feed.resistance_ohm),
            units.show_or_dash(Dimension::Voltage, feed.voltage_v),
            units.show_or_dash(Dimension::Current, feed.current_a),
            units.show_or_dash(Dimension::Voltage, feed.least_v),
            feed.failure.clone().unwrap_or_default(),
        ]
    });
    let columns = [
        ("feed", LEFT),
        ("battery at end of discharge", RIGHT),
        ("load", RIGHT),
        ("wire resistance", RIGHT),
        ("voltage at load", RIGHT),
        ("current", RIGHT),
        ("minimum", RIGHT),
        ("", LEFT),
    ];
    text_table(out, "Feeds", &columns, &rows.collect::<Vec<_>>());
}

fn loops(record: &OfficeRecord, units: &UnitPreferences, out: &mut String) {
    let rows = record.loops.iter().map(|one| {
        vec![
            format!("{} {}", record.called(&one.device), one.signal),
            format!("{} {} {}", one.monitor, one.input_kind, one.input),
            units.show(Dimension::Resistance, one.resistance_at_20_ohm),
            units.show(Dimension::Resistance, one.resistance_ohm),
            units.show_or_dash(Dimension::Resistance, one.limit_ohm),
            one.limited_by.clone().unwrap_or_default(),
        ]
    });
    let columns = [
        ("loop", LEFT),
        ("input", LEFT),
        ("at 20 degC", RIGHT),
        ("at hottest", RIGHT),
        ("maximum", RIGHT),
        ("set by", LEFT),
    ];
    text_table(out, "Loops", &columns, &rows.collect::<Vec<_>>());
}

fn controls(record: &OfficeRecord, units: &UnitPreferences, out: &mut String) {
    if record.controls.is_empty() {
        return;
    }
    let rows = record.controls.iter().map(|one| {
        vec![
            format!("{} control {}", record.called(&one.device), one.control),
            format!("{} output {}", one.monitor, one.output),
            units.show(Dimension::Resistance, one.resistance_ohm),
            units.show_or_dash(Dimension::Voltage, one.source_v),
            units.show_or_dash(Dimension::Current, one.current_a),
            units.show_or_dash(Dimension::Voltage, one.left_v),
            units.show_or_dash(Dimension::Voltage, one.least_v),
        ]
    });
    let columns = [
        ("control", LEFT),
        ("output", LEFT),
        ("loop at hottest", RIGHT),
        ("output voltage", RIGHT),
        ("current", RIGHT),
        ("voltage at control", RIGHT),
        ("minimum", RIGHT),
    ];
    text_table(out, "Controls", &columns, &rows.collect::<Vec<_>>());
}
