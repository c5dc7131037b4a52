use drysheath_engineering::feeds::most_resistance;
use drysheath_engineering::measure::Voltage;
use drysheath_engineering::units::Quantity;
use drysheath_office::kinds::{Key, KindId};
use drysheath_office::{Fields, ThingId};
use drysheath_prediction::{Conductor, Feed};

use super::feeds::{loads_of, nearer_zero};
use crate::coverage::MissingFigure;
use crate::figures::{below, computed, names};
use crate::finding::Sink;
use crate::lint::Inspection;
use crate::precedence::{Scope, Subject};
use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};

pub(crate) static RULE: Rule = Rule {
    id: RuleId::VoltageBelowWindow,
    level: Level::Error,
    while_planned: None,
    yields_to: &[(
        Scope::Thing,
        &[
            RuleId::PolarityWrong,
            RuleId::NominalWrong,
            RuleId::WorkingWithoutNominal,
            RuleId::FuseBelowLoad,
        ],
    )],
    family: Family::Power,
    summary: "At the end of discharge the voltage at a load is below its window.",
    explanation: "When the mains fail the battery runs down, and what is left of it at its end of discharge has to reach the load through every wire on the way, over both conductors, at the highest temperature of the wires \
                  (`hottest-wire`). A load that holds its power draws \
                  more the less arrives, so that a long thin feed takes more than it seems, and may collapse. Take thicker wire, a \
                  shorter run or a feed of its own; where the battery itself ends below the load's window, another battery or load. \
                  Loads that lack voltage through one wire are one result. Battery plant gives thousands of amperes into a \
                  short circuit: this is for qualified people with insulated tools and no jewellery; advisory, local code governs.",
    source: Source::Derived("V = (V0 + sqrt(V0\u{b2} - 4PR))/2 at a constant power, copper by IEC 60028"),
    example: Some(Example {
        failing: r"
power pdf fuse 1 -> m1 with 3 A, 14 awg, 141 m
#                                ^^^^^^^^^^^^^
",
        passing: r"
power pdf fuse 1 -> m1 with 3 A, 14 awg, 140 m
",
    }),
    check: Check::Office(check),
};

/// A load with too little voltage.
struct UndervoltedLoad<'i> {
    feed: &'i Feed,
    /// The end of its window that is nearer to zero.
    least: Quantity,
    /// The conductor with the largest voltage drop.
    worst: &'i Conductor,
}

fn check(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {
    report_without_wire(inspection, sink);
    let feeds = &inspection.prediction.feeds;
    if !feeds.iter().any(|feed| starved(inspection, feed).is_some()) {
        return;
    }
    let mut found: Vec<_> = feeds.iter().filter_map(|feed| starved(inspection, feed)).collect();
    found.sort_by_key(|starved| starved.worst.place);
    for together in found.chunk_by(|one, other| one.worst.place == other.worst.place) {
        if let [first, others @ ..] = together {
            report(inspection, first, others, sink);
        }
    }
}

/// Reports loads whose feed could not be computed, but whose battery ends its discharge below their window in any case.
fn report_without_wire(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {
    let office = inspection.office;
    for (id, battery) in office.of_kind(KindId::Battery) {
        let Some((one, other, _)) = battery.range(Key::Working) else {
            continue;
        };
        let end = nearer_zero(one, other);
        for feed in loads_of(inspection, id) {
            let load = feed.to.thing;
            let thing = office.thing(load);
            let Some((from, to, _)) = thing.range(Key::Window) else {
                continue;
            };
            let least = nearer_zero(from, to);
            let is_computed = || inspection.prediction.feeds.iter().any(|feed| feed.load == load);
            if !below(end.si().abs(), least.si().abs()) || is_computed() {
                continue;
            }
            let (name, other) = (office.name(load), office.name(id));
            let message =
                format!("`{name}` works down to {least}, but `{other}` falls to {end} at the end of discharge");
            let finding = sink.report(load, thing.place_of(Key::Window, office.file), message);
            if let Some(working) = battery.field(Key::Working) {
                finding.related(working.place, format!("the working range of `{other}`"));
            }
            finding
                .help("the battery itself ends below the window of the load: no wire is thick enough")
                .about([Subject::Thing(id)]);
        }
    }
}

/// The end of a load's window that is nearer to zero, and the magnitude of the voltage at the load.
pub(crate) fn compared(inspection: &Inspection<'_>, feed: &Feed) -> Result<(Quantity, f64), MissingFigure> {
    let window = inspection.office.thing(feed.load).range(Key::Window);
    let (from, to, _) = window.ok_or(MissingFigure::Window)?;
    // A feed that cannot carry its load leaves it no usable voltage.
    let arrives = feed
        .receiving_end
        .map_or(0.0, |receiving_end| receiving_end.voltage.volts().abs());
    Ok((nearer_zero(from, to), arrives))
}

fn starved<'i>(inspection: &Inspection<'_>, feed: &'i Feed) -> Option<UndervoltedLoad<'i>> {
    let (least, arrives) = compared(inspection, feed).ok()?;
    if !below(arrives, least.si().abs()) {
        return None;
    }
    let ohms = |conductor: &&Conductor| conductor.resistance.ohms();
    let worst = feed
        .conductors
        .iter()
        .max_by(|one, other| ohms(one).total_cmp(&ohms(other)))?;
    Some(UndervoltedLoad { feed, least, worst })
}

fn report(
    inspection: &Inspection<'_>,
    first: &UndervoltedLoad<'_>,
    others: &[UndervoltedLoad<'_>],
    sink: &mut Sink<'_>,
) {
    let office = inspection.office;
    let UndervoltedLoad { feed, least, worst } = first;
    let (name, source, hot) = (office.name(feed.load), feed.source.quantity, feed.temperature.quantity);
    let mut message = match &feed.receiving_end {
        Ok(receiving_end) => format!(
            "`{name}` works down to {least}, but gets {} at the end of discharge ({source} at the battery), with wires at {hot}",
            computed(*least, receiving_end.voltage.volts(), office)
        ),
        Err(error) => format!("`{name}` cannot run at the end of discharge ({source} at the battery): {error}"),
    };
    if !others.is_empty() {
        let others: Vec<ThingId> = others.iter().map(|other| other.feed.load).collect();
        message.push_str("; the same wire also starves ");
        message.push_str(&names(office, &others));
    }
    let finding = sink.report(feed.load, worst.place, message);
    finding.about([Subject::Thing(feed.battery)]);
    for UndervoltedLoad { feed, .. } in others {
        finding.and_about([feed.load, feed.battery].map(Subject::Thing));
    }
    let window = office.thing(feed.load).field(Key::Window);
    if let Some(window) = window {
        finding.related(window.place, format!("`{name}` works down to {least}"));
    }
    if let Some(place) = feed.source.place {
        finding.related(place, format!("it falls to {source} at the end of discharge"));
    }
    for conductor in feed.conductors.iter().filter(|other| other.place != worst.place) {
        let says = format!("this part has {:.3} ohm, there and back", conductor.resistance.ohms());
        finding.related(office.place(conductor.place), says);
    }
    finding.help(help(first));
}

fn help(starved: &UndervoltedLoad<'_>) -> String {
    let UndervoltedLoad { feed, least, worst } = starved;
    let source = Voltage::from_volts(feed.source.quantity.si());
    let total = feed.total.ohms();
    match most_resistance(source, feed.power(), Voltage::from_volts(least.si())) {
        Some(most) => format!(
            "all wires on the way have {total:.3} ohm there and back, this one {:.3}, and the load alone would allow {:.3}: take thicker \
             wire or a shorter run here",
            worst.resistance.ohms(),
            most.ohms()
        ),
        None => "the battery itself ends below the window of the load: no wire is thick enough".to_owned(),
    }
}
