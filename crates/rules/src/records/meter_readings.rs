//! Meter readings: loop resistances and the supply voltage of monitors.

use drysheath_engineering::feeds::ReceivingEnd;
use drysheath_engineering::measure::Temperature;
use drysheath_engineering::units::Quantity;
use drysheath_office::kinds::Key;
use drysheath_office::{Fields, Measured, Office, Reading, ThingId};
use drysheath_prediction::{Feed, Loop, LoopPart, LoopStretch};
use drysheath_text::TextRange;

use crate::figures::{below, computed};
use crate::finding::Sink;
use crate::lint::Inspection;
use crate::settings::PracticeKey;

/// Reports the latest readings of loops and supplies that deviate from the computed values.
pub(super) fn check(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {
    let readings = &inspection.office.readings;
    for (number, reading) in readings.iter().enumerate() {
        let of = |reading: &Reading| match reading.measured {
            Measured::Loop(_) => Some((
                true,
                reading.of.thing,
                reading.of.port.map(|port| port.word),
                reading.of.numbers,
            )),
            Measured::Supply(_) => Some((false, reading.of.thing, None, (0, 0))),
            _ => None,
        };
        let Some(own) = of(reading) else { continue };
        let is_off = match reading.measured {
            Measured::Loop(ohms) => loop_off(inspection, reading, ohms),
            Measured::Supply(volts) => supply_off(inspection, reading, volts),
            _ => None,
        };
        let Some(off) = is_off else { continue };
        let is_later = |(at, other): (usize, &Reading)| {
            of(other) == Some(own) && (other.date.value, at) > (reading.date.value, number)
        };
        if !readings.iter().enumerate().any(is_later) {
            let range = TextRange::new(reading.of.range.start, reading.range.end);
            let finding = sink.report(off.on, range, off.message);
            finding.help(off.help);
            if let Some((place, says)) = off.related {
                finding.related(place, says);
            }
        }
    }
}

struct Deviation {
    on: ThingId,
    message: String,
    help: &'static str,
    related: Option<(drysheath_text::Place, &'static str)>,
}

fn leeway(inspection: &Inspection<'_>) -> f64 {
    inspection.settings.fraction(PracticeKey::MeterLeeway)
}

/// A clause: "`meter-leeway` allows 5 % on either side".
fn allowed(inspection: &Inspection<'_>) -> String {
    let percent = (1000.0 * leeway(inspection)).round() / 10.0;
    format!("`meter-leeway` allows {percent} % on either side")
}

fn loop_off(inspection: &Inspection<'_>, reading: &Reading, read: Quantity) -> Option<Deviation> {
    let office = inspection.office;
    let on = reading.of.thing?;
    let port = reading.of.port?;
    let is_it = |one: &&Loop| {
        one.signal.thing == on && std::ptr::eq(one.signal.port, port) && one.signal.number == reading.of.numbers.0
    };
    let one = inspection.prediction.loops.iter().find(is_it)?;
    // In a loop without cable, contacts and the meter's own leads outweigh the wire.
    let is_cable = |stretch: &LoopStretch| matches!(stretch.of, LoopPart::Cable { .. });
    one.stretches.iter().find(|stretch| is_cable(stretch))?;
    let hottest = one.resistance.ohms();
    // A loop may pass cables of other offices, which need not state how cold they get.
    let is_here = office.has(one.input.thing);
    let coldest = at_the_coldest(office, one).filter(|_| is_here);
    let leeway = leeway(inspection);
    let is_high = below(hottest * (1.0 + leeway), read.si());
    let is_low = coldest.is_some_and(|coldest| below(read.si(), coldest * (1.0 - leeway)));
    if !is_high && !is_low {
        return None;
    }
    let shown = |ohms| computed(read, ohms, office);
    let follows = match coldest {
        Some(coldest) => format!(
            "{} to {} follow from the record between its coldest and its hottest",
            shown(coldest),
            shown(hottest)
        ),
        None => format!("at most {} follow from the record, at its hottest", shown(hottest)),
    };
    Some(Deviation {
        on,
        message: format!(
            "the loop of `{}` measured {read} on {}, and {follows}: {}",
            office.name(on),
            reading.date.value,
            allowed(inspection)
        ),
        help: if is_high {
            "look for a bad joint or another pair on the way, or correct the lengths and sizes that the record has"
        } else {
            "look for a short or another pair on the way, or correct the lengths and sizes that the record has"
        },
        related: one
            .temperature
            .place
            .map(|place| (place, "the hottest that the pairs get")),
    })
}

/// Resistance of a loop at the coldest temperature of the cable. `None` where the office does not state that.
fn at_the_coldest(office: &Office, one: &Loop) -> Option<f64> {
    const COLD: f64 = 20.0;
    let itself = office.itself.map(|id| office.thing(id))?;
    let coldest = Temperature::of(itself.quantity(Key::Coldest)?.0)?.celsius();
    let hottest = Temperature::of(one.temperature.quantity)?.celsius();
    let (hot, cold) = (one.resistance.ohms(), one.resistance_at_20.ohms());
    // The resistance of copper is linear in temperature.
    let slope = (hot - cold) / (hottest - COLD);
    Some(cold + slope * (coldest.min(hottest) - COLD)).filter(|ohms| ohms.is_finite())
}

fn supply_off(inspection: &Inspection<'_>, reading: &Reading, read: Quantity) -> Option<Deviation> {
    let office = inspection.office;
    let on = reading.of.thing?;
    let feeds = || inspection.prediction.feeds.iter().filter(|feed| feed.load == on);
    let receiving_ends = feeds().filter_map(|feed| Some((feed, feed.receiving_end.ok()?)));
    let volts = |(_, receiving_end): &(&Feed, ReceivingEnd)| receiving_end.voltage.volts().abs();
    let (feed, receiving_end) = receiving_ends.min_by(|one, other| volts(one).total_cmp(&volts(other)))?;
    let least = receiving_end.voltage.volts();
    // The charger's float voltage is the upper bound; a load with several feeds may run on any of them.
    let most = feeds()
        .filter_map(|feed| office.thing(feed.battery).range(Key::Working))
        .flat_map(|(from, to, _)| [from, to])
        .max_by(|one, other| one.si().abs().total_cmp(&other.si().abs()))?;
    let leeway = leeway(inspection);
    let size = read.si().abs();
    let is_turned = read.si() * least < 0.0;
    let is_low = below(size, least.abs() * (1.0 - leeway));
    let is_high = below(most.si().abs() * (1.0 + leeway), size);
    if !is_turned && !is_low && !is_high {
        return None;
    }
    Some(Deviation {
        on,
        message: format!(
            "`{}` had {read} on {}, and from {} at the end of discharge to {most} follow from the record: {}",
            office.name(on),
            reading.date.value,
            computed(read, least, office),
            allowed(inspection)
        ),
        help: if is_turned {
            "prove the polarity at the terminals, or correct the sign that was noted"
        } else if is_low {
            "look for a loose joint or a wire that is thinner or longer than the record has, and ask whether the battery was discharged"
        } else {
            "have the charger looked at, or correct what the battery works between"
        },
        related: feed.source.place.map(|place| (place, "what the battery works between")),
    })
}
