//! Sizing of a regulator's set pressure: between the needs of the cables and pipes downstream and the ratings of the
//! things downstream.

use drysheath_engineering::measure::{AbsolutePressure, Pressure};
use drysheath_engineering::network::RegulatorState;
use drysheath_engineering::units::Dimension;
use drysheath_office::kinds::Key;
use drysheath_office::{Fields, ThingId};
use drysheath_prediction::{line_name, position_name};

use super::needs::{Need, needed};
use super::{Bound, Choice, FigureFormatter, Input, Origin, SizedFigure, Sizing, plain, practice, stated};
use crate::lint::Inspection;
use crate::settings::PracticeKey;
use crate::supply;

/// Sizes the set pressure of a regulator.
pub(super) fn size(inspection: &Inspection<'_>, formatter: &FigureFormatter<'_>, id: ThingId) -> Sizing {
    let office = inspection.office;
    let mut figure = SizedFigure::new("set pressure", Dimension::Pressure);
    if let Some((set, place)) = office.thing(id).quantity(Key::Set) {
        figure.stated = Some((formatter.written(set), place));
    }
    let mut notes = Vec::new();
    needs(inspection, formatter, id, &mut figure, &mut notes);
    ratings(inspection, formatter, id, &mut figure);
    supply_leaves(inspection, formatter, id, &mut figure);
    figure.sort();
    figure.choice = choice(inspection, formatter, &figure);
    notes.push(
        "a regulator is set with its supply and a gauge watched: a part that is rated for less can burst; the makers' sheets and \
         local codes govern"
            .to_owned(),
    );
    Sizing {
        of: office.name(id).to_owned(),
        figures: vec![figure],
        parts: Vec::new(),
        notes,
    }
}

/// Adds lower bounds from the sections and pipes downstream, converted to the regulator's outlet. At constant flow the
/// difference of squared absolute pressures along the path does not depend on the set pressure (laminar flow of an
/// ideal gas); the droop is added.
fn needs(
    inspection: &Inspection<'_>,
    formatter: &FigureFormatter<'_>,
    id: ThingId,
    figure: &mut SizedFigure,
    notes: &mut Vec<String>,
) {
    let (office, air) = (inspection.office, &inspection.prediction.air);
    let through = air.through(id);
    let regulates = through.is_some_and(|state| state.regulator == Some(RegulatorState::Regulating));
    let Some((outlet, state)) = air.outlet(id).zip(through).filter(|_| regulates) else {
        figure.missing.push(format!(
            "what is lost behind {}: its flow is not known, or it does not regulate",
            office.name(id)
        ));
        return;
    };
    let droop = office.given(id, Key::Droop);
    let flow = state.flow;
    let drooped = droop.map_or(0.0, |droop| droop.quantity.si() * flow.cubic_metres_per_second());
    let mut unneeded = Vec::new();
    let mut is_shared = false;
    let fed = supply::behind(inspection, id);
    for section in inspection
        .sections()
        .filter(|section| fed.contains(&section.line.thing))
    {
        let needed = needed(inspection, formatter, &section);
        if needed.is_empty() {
            unneeded.push(plain(&line_name(office, section.line)));
        }
        let Some((metres, lowest)) = section.figures.lowest else {
            figure
                .missing
                .push(format!("the pressure in {}", plain(&line_name(office, section.line))));
            continue;
        };
        is_shared |= supply::sources(inspection, section.line.thing).len() > 1;
        let place = plain(&position_name(office, section.line, metres));
        for Need { least, why, input } in needed {
            let at_outlet = moved(least, lowest, outlet, air.conditions.ambient);
            let mut inputs = vec![
                input,
                formatter.computed(format!("pressure {place} now"), Dimension::Pressure, lowest.pascals()),
                formatter.computed("pressure at its outlet now", Dimension::Pressure, outlet.pascals()),
                formatter.computed("flow", Dimension::Flow, flow.cubic_metres_per_second()),
            ];
            if let Some(droop) = droop {
                inputs.push(match droop.place {
                    Some(place) => stated("droop", droop.quantity, place),
                    None => Input {
                        what: "droop".to_owned(),
                        shown: droop.quantity.to_string(),
                        from: Origin::Published("default"),
                    },
                });
            }
            figure.least.push(formatter.bound(
                Dimension::Pressure,
                at_outlet.pascals() + drooped,
                format!("{why} {place}, with what is lost on the way there and the droop"),
                inputs,
            ));
        }
    }
    unneeded.dedup();
    if !unneeded.is_empty() {
        figure.missing.push(format!(
            "a minimum pressure or a depth of sections of {}: what they need is not counted",
            unneeded.join(", ")
        ));
    }
    if figure.least.is_empty() && figure.missing.is_empty() {
        figure
            .missing
            .push("a cable or pipe behind it that needs a pressure".to_owned());
    }
    notes.push(
        "the flow is that of the normal state; at the same flow the squares of the absolute pressures fall on the way as they do now \
         (laminar flow of an ideal gas)"
            .to_owned(),
    );
    if is_shared {
        notes.push(
            "other sources feed some of the same cables: their flows change with this one, which is not counted"
                .to_owned(),
        );
    }
}

/// Outlet pressure that gives `least` at a place which has `lowest` at the present outlet pressure `outlet`.
fn moved(least: Pressure, lowest: Pressure, outlet: Pressure, ambient: AbsolutePressure) -> Pressure {
    let square = |pressure: Pressure| (pressure.pascals() + ambient.pascals()).powi(2);
    let wanted = square(least) + square(outlet) - square(lowest);
    Pressure::from_pascals(wanted.max(0.0).sqrt() - ambient.pascals())
}

/// Adds upper bounds from the things downstream up to the next regulator, and from its own relief.
fn ratings(inspection: &Inspection<'_>, formatter: &FigureFormatter<'_>, id: ThingId, figure: &mut SizedFigure) {
    let office = inspection.office;
    let fed = supply::behind(inspection, id);
    let of_fed = fed.iter().flat_map(|id| [(*id, Key::Rating), (*id, Key::Proof)]);
    for (thing, key) in of_fed.chain([(id, Key::Relief)]) {
        let Some(found) = supply::stated(office, thing, key) else {
            continue;
        };
        let why = match key {
            Key::Relief => "its relief must stay shut",
            Key::Proof => "a sensor behind it bears no more",
            _ => "what stands behind it is rated for no more",
        };
        figure.most.push(Bound {
            amount: formatter.written(found.quantity),
            why: why.to_owned(),
            inputs: vec![stated(
                format!("{} of {}", key.word(), office.name(thing)),
                found.quantity,
                found.place,
            )],
        });
    }
}

/// Adds an upper bound from its supply.
fn supply_leaves(inspection: &Inspection<'_>, formatter: &FigureFormatter<'_>, id: ThingId, figure: &mut SizedFigure) {
    let (office, air) = (inspection.office, &inspection.prediction.air);
    let Some(inlet) = air.inlet(id) else {
        figure.missing.push("the pressure of its supply".to_owned());
        return;
    };
    let differential = office.thing(id).quantity(Key::Differential);
    let taken = differential.map_or(0.0, |(differential, _)| differential.difference());
    let mut inputs = vec![formatter.computed("supply at its inlet", Dimension::Pressure, inlet.pascals())];
    match differential {
        Some((differential, place)) => inputs.push(stated("differential", differential, place)),
        None => figure
            .missing
            .push("its `differential`, which counts as none".to_owned()),
    }
    figure.most.push(formatter.bound(
        Dimension::Pressure,
        inlet.pascals() - taken,
        "its supply must exceed it by the differential",
        inputs,
    ));
}

/// The present set pressure if it stays within the bounds given the accuracy of a regulator, otherwise the least one
/// that does.
fn choice(inspection: &Inspection<'_>, formatter: &FigureFormatter<'_>, figure: &SizedFigure) -> Option<Choice> {
    let (least, most) = (figure.at_least()?.amount.si, figure.at_most()?.amount.si);
    if figure.is_empty() {
        return None;
    }
    let within = inspection.settings.fraction(PracticeKey::SetWithin);
    let said = practice(inspection, PracticeKey::SetWithin).shown;
    let (low, high) = (least / (1.0 - within).max(f64::EPSILON), most / (1.0 + within));
    if let Some((now, _)) = &figure.stated
        && (low..=high).contains(&now.si)
    {
        return Some(Choice {
            amount: now.clone(),
            why: format!("as it is: also {said} off (set-within) it is within the bounds"),
        });
    }
    if low <= high {
        return Some(Choice {
            amount: formatter.choice(figure, low),
            why: format!(
                "the least that is within the bounds also {said} off (set-within): less pressure loses less air"
            ),
        });
    }
    Some(Choice {
        amount: formatter.choice(figure, f64::midpoint(least, most)),
        why: format!(
            "the middle: the bounds leave less than {said} (set-within) on either side, so set it with a good gauge"
        ),
    })
}
