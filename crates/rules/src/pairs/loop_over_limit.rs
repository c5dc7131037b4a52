use drysheath_engineering::loops::LoopError;
use drysheath_office::{Office, ThingId, printed};
use drysheath_prediction::{Loop, LoopLimit, LoopPart, LoopStretch, SetBy};

use crate::coverage::MissingFigure;
use crate::figures::{below, names};
use crate::finding::Sink;
use crate::lint::Inspection;
use crate::pairs::{place_of, reported_loops};
use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};

pub(crate) static RULE: Rule = Rule {
    id: RuleId::LoopOverLimit,
    level: Level::Error,
    while_planned: None,
    yields_to: &[],
    family: Family::Pairs,
    summary: "A signal's loop has more resistance than its device or monitor allows.",
    explanation: "A device at the end of too much copper gets too little voltage: it reads wrong or not at all, and does so first on \
                  the hottest day, when copper has most resistance (`hottest`). The loop is the cable's pair from the office to the device, over both conductors, and what the runs \
                  in the office state; the highest resistance allowed is the least of the device's `loop-max`, \
                  the monitor's, and what the monitor's `loop-voltage` leaves for the pair when the device has what it needs at its \
                  current. Take a pair of thicker wire or two pairs in parallel, a device or monitor that works over more, or one \
                  that is nearer. Pairs may carry battery, ringing, foreign or lightning voltage: test first, never in a storm.",
    source: Source::Derived("copper by IEC 60028 and ASTM B258; the limits are the makers'"),
    example: Some(Example {
        failing: r"
pressure-sensor ps1 {
#               ^^^
    at    c101 3.2 km
    span  0 .. 15 psi
    step  0.1 psi
    error 0.2 psi
    proof 30 psi
    loop-max 623 ohm
    limit low 6.7 psi minor deadband 0.3 psi
}
",
        passing: r"
pressure-sensor ps1 {
    at    c101 3.2 km
    span  0 .. 15 psi
    step  0.1 psi
    error 0.2 psi
    proof 30 psi
    loop-max 624 ohm
    limit low 6.7 psi minor deadband 0.3 psi
}
",
    }),
    check: Check::Office(check),
};

/// Why a loop does not work.
#[derive(Clone, Copy)]
pub(crate) enum Over {
    /// The resistance exceeds this limit.
    Resistance(LoopLimit),
    /// The monitor's loop voltage is below the voltage that the device needs, however short the loop.
    Voltage,
}

fn over(one: &Loop) -> Option<Over> {
    compared(one).ok()?
}

/// Whether a loop is over its limit.
pub(crate) fn compared(one: &Loop) -> Result<Option<Over>, MissingFigure> {
    match one.limit {
        Ok(Some(limit)) => Ok(below(limit.resistance.ohms(), one.resistance.ohms()).then_some(Over::Resistance(limit))),
        Err(LoopError::SupplyTooLow { .. }) => Ok(Some(Over::Voltage)),
        Ok(None) => Err(MissingFigure::LoopLimit),
        Err(LoopError::Unusable) => Err(MissingFigure::Figure),
    }
}

fn check(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {
    let loops: Vec<&Loop> = reported_loops(inspection).collect();
    if !loops.iter().any(|one| over(one).is_some()) {
        return;
    }
    let mut monitors: Vec<ThingId> = loops.iter().map(|one| one.input.thing).collect();
    monitors.sort_unstable();
    monitors.dedup();
    for monitor in monitors {
        of_monitor(inspection, &loops, monitor, sink);
    }
}

fn of_monitor(inspection: &Inspection<'_>, loops: &[&Loop], monitor: ThingId, sink: &mut Sink<'_>) {
    // Contacts are subject to the monitor's resistance limit only, so they tell nothing about its voltage.
    let own = || loops.iter().copied().filter(|one| one.input.thing == monitor);
    for by_voltage in [false, true] {
        let is_concerned = |one: &&Loop| match (by_voltage, one.limits.supply.is_some()) {
            (true, has_supply) => has_supply,
            (false, _) => one.limits.monitor.is_some(),
        };
        let is_reported = |one: &Loop| match over(one) {
            Some(Over::Voltage) => by_voltage,
            Some(Over::Resistance(limit)) => match limit.by {
                SetBy::Supply => by_voltage,
                SetBy::Monitor => !by_voltage,
                SetBy::Device => false,
            },
            None => false,
        };
        let reported: Vec<&Loop> = own().filter(|one| is_reported(one)).collect();
        // If a monitor suits none of several devices, the monitor itself is probably wrong.
        let is_here = inspection.office.has(monitor);
        if is_here && reported.len() > 1 && own().filter(is_concerned).all(is_reported) {
            let all = inspection.networks.merged(inspection.office).office;
            report_monitor(all, monitor, &reported, by_voltage, sink);
        } else {
            for one in reported {
                report(inspection, one, sink);
            }
        }
    }
    let of_device = |limit: LoopLimit| limit.by == SetBy::Device;
    for one in own() {
        if matches!(over(one), Some(Over::Resistance(limit)) if of_device(limit)) {
            report(inspection, one, sink);
        }
    }
}

fn report_monitor(office: &Office, monitor: ThingId, reported: &[&Loop], by_voltage: bool, sink: &mut Sink<'_>) {
    const SHOWN: usize = 6;
    let Some(first) = reported.first() else { return };
    let limits = &first.limits;
    let stated = if by_voltage {
        limits.supply.map(|supply| supply.voltage)
    } else {
        limits.monitor
    };
    let Some(stated) = stated else { return };
    let thing = office.thing(monitor);
    let devices: Vec<ThingId> = reported.iter().map(|one| one.signal.thing).collect();
    let name = office.name(monitor);
    let message = if by_voltage {
        format!(
            "`{name}` puts {} on its loops, too little for every device that says what it needs: {}",
            stated.quantity,
            names(office, &devices)
        )
    } else {
        format!(
            "`{name}` works over at most {}, and every loop that it has is longer: {}",
            stated.quantity,
            names(office, &devices)
        )
    };
    let range = match stated.place {
        Some(place) if place.file == office.file => place.range,
        _ => thing.name,
    };
    let finding = sink.report(monitor, range, message);
    if let Some(place) = stated.place.filter(|place| place.file != office.file) {
        finding.related(place, format!("the part states {}", stated.quantity));
    }
    for one in reported.iter().take(SHOWN) {
        let device = office.thing(one.signal.thing);
        finding.related(office.written(office.place(device.name)), has(office, one));
    }
    finding.help("correct the figure, or take a monitor that works over these loops");
}

/// A clause: "the loop of `ps1` has 561 ohm there and back at 60 degC".
fn has(office: &Office, one: &Loop) -> String {
    let ohms = ohms(one.resistance.ohms());
    format!(
        "the loop of `{}` has {ohms} there and back at {}",
        office.name(one.signal.thing),
        one.temperature.quantity
    )
}

/// Formats a computed resistance.
fn ohms(figure: f64) -> String {
    let value = if figure < 100.0 {
        (figure * 10.0).round() / 10.0
    } else {
        figure.round()
    };
    format!("{value} ohm")
}

fn report(inspection: &Inspection<'_>, one: &Loop, sink: &mut Sink<'_>) {
    let merged = inspection.networks.merged(inspection.office);
    let office = merged.office;
    let (device, monitor) = (one.signal.thing, one.input.thing);
    let Some(over) = over(one) else { return };
    let thing = office.thing(device);
    // A device in another office is reported where its wire reaches the monitor.
    let (on, range) = if inspection.office.has(device) {
        (device, thing.name)
    } else {
        let wire = &merged.networks.wire;
        let input = wire.find(monitor, one.input.port, one.input.number);
        (
            monitor,
            input.map_or(office.thing(monitor).name, |id| place_of(wire, id)),
        )
    };
    let (name, reader) = (office.name(device), office.name(monitor));
    let limits = &one.limits;
    let quantity = |given: Option<drysheath_office::GivenQuantity>| {
        given.map(|given| given.quantity.to_string()).unwrap_or_default()
    };
    let mut places = Vec::new();
    let message = match over {
        Over::Resistance(limit) => {
            let allowed = match limit.by {
                SetBy::Device => {
                    places.push((limits.device, "the highest loop resistance of the device"));
                    format!("it works over at most {}", quantity(limits.device))
                }
                SetBy::Monitor => {
                    places.push((limits.monitor, "the highest loop resistance of the monitor"));
                    format!("`{reader}` works over at most {}", quantity(limits.monitor))
                }
                SetBy::Supply => supplied(office, one, &ohms(limit.resistance.ohms()), &mut places),
            };
            format!("{}, and {allowed}", has(office, one))
        }
        Over::Voltage => {
            let supply = supplied(office, one, "nothing", &mut places);
            let how = if one.others.is_empty() {
                ", however short its loop"
            } else {
                ""
            };
            format!("`{name}` cannot work on `{reader}`{how}: {supply}")
        }
    };
    let finding = sink.report(on, range, message);
    if on != device {
        finding.related(office.written(office.place(thing.name)), "the device");
    }
    for (given, says) in places {
        if let Some(place) = given.and_then(|given| given.place) {
            finding.related(place, says);
        }
    }
    let longest = one
        .stretches
        .iter()
        .max_by(|one, other| one.resistance.ohms().total_cmp(&other.resistance.ohms()));
    if let Some(longest) = longest {
        finding.related(longest.place, part(office, longest));
    }
    finding.help(
        "take a pair of thicker wire or two pairs in parallel, or a device or monitor that works over more; pairs may carry \
         dangerous voltage: test first",
    );
}

/// Describes the voltage left for a loop.
fn supplied(
    office: &Office,
    one: &Loop,
    left: &str,
    places: &mut Vec<(Option<drysheath_office::GivenQuantity>, &'static str)>,
) -> String {
    let Some(supply) = one.limits.supply else {
        return String::new();
    };
    places.push((Some(supply.voltage), "the least that the monitor puts on the pair"));
    places.push((Some(supply.needs), "what the device needs"));
    places.push((Some(supply.current), "what it draws"));
    let dropped = if one.others.is_empty() {
        String::new()
    } else {
        for other in &one.others {
            places.push((Some(other.current), "what another device on the pair draws"));
        }
        let volts = (one.dropped_by_others().volts() * 100.0).round() / 100.0;
        format!(", less {volts} V that the currents of {} drop,", others(office, one))
    };
    format!(
        "the {} of `{}` less the {} that it needs{dropped} leave {left} for {}",
        supply.voltage.quantity,
        office.name(one.input.thing),
        supply.needs.quantity,
        supply.current.quantity
    )
}

/// Names of the other devices on the pair.
fn others(office: &Office, one: &Loop) -> String {
    let devices: Vec<ThingId> = one.others.iter().map(|other| other.thing).collect();
    names(office, &devices)
}

/// Describes the largest part of a loop: "most of it, 552 ohm, is the pair in `c101`, 24 awg".
fn part(office: &Office, stretch: &LoopStretch) -> String {
    let what = match &stretch.of {
        LoopPart::Run(_) => "this run".to_owned(),
        LoopPart::Lead { thing, pair } | LoopPart::Cable { thing, pair, .. } => {
            format!("pair {} of `{}`", printed(*pair), office.name(*thing))
        }
    };
    let gauge = stretch.wire.map(|(gauge, _)| format!(" of {gauge}"));
    format!(
        "most of it is {what}: {}{}",
        ohms(stretch.resistance.ohms()),
        gauge.unwrap_or_default()
    )
}
