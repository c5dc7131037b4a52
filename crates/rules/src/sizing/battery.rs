//! Sizing of a battery: the capacity that carries its loads for the time in the settings.

use drysheath_engineering::battery::{AT_END_OF_LIFE, RATED_HOURS, carries, needed};
use drysheath_engineering::feeds::VoltageCollapse;
use drysheath_engineering::measure::{Charge, Current, Time, Voltage};
use drysheath_engineering::units::{Dimension, Quantity, find, time};
use drysheath_office::kinds::Key;
use drysheath_office::{Fields, ThingId};
use drysheath_syntax::Medium;

use super::{
    Amount, Bound, Choice, FigureFormatter, Input, Origin, SizedFigure, SizedQuantity, Sizing, practice, stated,
};
use crate::lint::Inspection;
use crate::power::feeds::nearer_zero;
use crate::settings::PracticeKey;

const SECONDS_PER_HOUR: f64 = 3600.0;

/// Sizes the capacity of a battery.
pub(super) fn size(inspection: &Inspection<'_>, formatter: &FigureFormatter<'_>, id: ThingId) -> Sizing {
    let office = inspection.office;
    let mut figure = SizedFigure::new(SizedQuantity::Capacity, Dimension::Charge);
    let capacity = office.thing(id).quantity(Key::Capacity);
    figure.stated = capacity.map(|(capacity, place)| (formatter.written(capacity), place));
    let mut notes = Vec::new();
    let drawn = Drawn::of(inspection, formatter, id, &mut figure);
    if let Some(drawn) = &drawn {
        if let Some(lasts) = inspection.settings.quantity(PracticeKey::BatteryLasts) {
            figure.least.push(drawn.bound(inspection, lasts));
        }
        if let Some(capacity) = capacity.and_then(|(capacity, _)| Charge::of(capacity)) {
            notes.push(drawn.carried(capacity));
        }
    }
    figure.choice = choice(&figure);
    notes.extend(drawn.and_then(|drawn| drawn.without_losses(inspection)));
    notes.push(
        "only the loads in this file count, at a current that does not change; a battery that carries more carries these for less long".to_owned(),
    );
    notes.push(
        "capacity counts as rated, in 8 h at 25 degC; cold takes some of it: sizing proper is IEEE 485, and local practice governs".to_owned(),
    );
    notes.push(
        "battery plant: a slip carries thousands of amperes; work on it is for qualified people with insulated tools and no jewellery"
            .to_owned(),
    );
    Sizing {
        of: office.name(id).to_owned(),
        figures: vec![figure],
        parts: Vec::new(),
        notes,
    }
}

/// Current of a battery's loads.
struct Drawn {
    current: Current,
    inputs: Vec<Input>,
    /// Loads whose wires are not stated, so that what these lose does not count.
    without_losses: Vec<ThingId>,
}

impl Drawn {
    /// Total current of all loads at the battery's end of discharge, where a constant-power load draws most: its power by the
    /// voltage that arrives, or by that of the battery where its wires are not stated. Loads with a second battery count
    /// in full, since that may be dead. `None` where the power of a load or the battery's voltage is not known, and where
    /// no voltage arrives that a load could run on.
    fn of(
        inspection: &Inspection<'_>,
        formatter: &FigureFormatter<'_>,
        id: ThingId,
        figure: &mut SizedFigure,
    ) -> Option<Self> {
        let office = inspection.office;
        if office.unsure.about(Medium::Power) {
            figure
                .missing
                .push("what it feeds: some of the power in the file cannot be read".to_owned());
            return None;
        }
        let loads = inspection.networks.loads_behind(id);
        if loads.is_empty() {
            figure.missing.push("a load that it feeds".to_owned());
        }
        let (mut powers, mut inputs) = (Vec::new(), Vec::new());
        for load in &loads {
            let name = office.name(*load);
            match office.drawn_power(*load) {
                Some((power, place)) => {
                    powers.push((*load, power.si()));
                    inputs.push(stated(format!("{name} draws"), power, place));
                }
                None if office.thing(*load).has(Key::Draws) => figure
                    .missing
                    .push(format!("the `window` of {name}, at whose low end it draws its current")),
                None => figure.missing.push(format!("what {name} `draws`")),
            }
        }
        let working = office.thing(id).range(Key::Working);
        let end = working.map(|(one, other, place)| (nearer_zero(one, other), place));
        let end = end.filter(|(volts, _)| volts.si() != 0.0);
        let Some((volts, place)) = end else {
            figure.missing.push("its `working` voltage".to_owned());
            return None;
        };
        inputs.push(stated("battery at its end of discharge", volts, place));
        let (mut amperes, mut without_losses) = (0.0, Vec::new());
        for (load, watts) in powers {
            let name = office.name(load);
            match arriving(inspection, id, load) {
                Some(Ok(arriving)) => {
                    inputs.push(formatter.computed(format!("arrives at {name}"), Dimension::Voltage, arriving.volts()));
                    amperes += watts / arriving.volts().abs();
                }
                Some(Err(collapse)) => figure
                    .missing
                    .push(format!("what {name} draws at the end of discharge: {collapse}")),
                None => {
                    without_losses.push(load);
                    amperes += watts / volts.si().abs();
                }
            }
        }
        if !figure.missing.is_empty() {
            return None;
        }
        let current = Current::from_amperes(amperes);
        inputs.push(formatter.computed("so its loads draw", Dimension::Current, current.amperes()));
        Some(Self {
            current,
            inputs,
            without_losses,
        })
    }

    /// The note on loads whose wires are not stated.
    fn without_losses(&self, inspection: &Inspection<'_>) -> Option<String> {
        let names = self.without_losses.iter().map(|load| inspection.office.name(*load));
        let names: Vec<&str> = names.collect();
        (!names.is_empty()).then(|| {
            format!(
                "what the wires to {} lose is not known and does not count: state size and length of each run from the battery",
                names.join(", ")
            )
        })
    }

    fn bound(&self, inspection: &Inspection<'_>, lasts: Quantity) -> Bound {
        let needed = needed(self.current, Time::from_seconds(lasts.si())) * AT_END_OF_LIFE.recip();
        let mut inputs = self.inputs.clone();
        inputs.push(practice(inspection, PracticeKey::BatteryLasts));
        inputs.push(Input {
            what: "part of its capacity that it has at the end of its life".to_owned(),
            shown: format!("{:.0} %", AT_END_OF_LIFE * 100.0),
            from: Origin::Published("IEEE 450 and 1188, from memory"),
        });
        Bound {
            amount: amount(needed.coulombs()),
            why: format!(
                "it carries its loads for {lasts} also at the end of its life, and gives its capacity in no less than the {RATED_HOURS} h that it \
                 is rated in"
            ),
            inputs,
        }
    }

    /// How long a battery carries its loads, as text.
    fn carried(&self, capacity: Charge) -> String {
        let hours = |part: f64| carries(capacity * part, self.current).and_then(|carries| time(carries.seconds()));
        let faster = || {
            format!(
                "less than {RATED_HOURS} h, in which it gives less than its capacity: the maker's table says how much"
            )
        };
        match (hours(1.0), hours(AT_END_OF_LIFE)) {
            (Some(new), Some(old)) => {
                format!("new it carries its loads for {new}, and at the end of its life for {old}")
            }
            (Some(new), None) => format!(
                "new it carries its loads for {new}, and at the end of its life for {}",
                faster()
            ),
            (None, _) => format!("it carries its loads for {}", faster()),
        }
    }
}

/// The lowest voltage that arrives at a load from a battery at its end of discharge, over any of its runs. `None` where no run
/// states its wire all the way.
fn arriving(inspection: &Inspection<'_>, battery: ThingId, load: ThingId) -> Option<Result<Voltage, VoltageCollapse>> {
    let feeds = inspection.prediction.feeds.iter();
    let ends = feeds
        .filter(|feed| feed.battery == battery && feed.load == load)
        .map(|feed| feed.receiving_end.map(|end| end.voltage));
    ends.reduce(|one, other| {
        let (one, other) = (one?, other?);
        Ok(if other.volts().abs() < one.volts().abs() {
            other
        } else {
            one
        })
    })
}

fn amount(coulombs: f64) -> Amount {
    const DIGITS: i32 = 3;
    let shown = find("Ah").map(|unit| Quantity {
        value: unit.from_si(coulombs),
        unit,
    });
    Amount {
        si: coulombs,
        shown: shown.map_or_else(|| format!("{coulombs} C"), |shown| shown.to_digits(DIGITS).to_string()),
    }
}

/// The present capacity if it is sufficient, otherwise the least one rounded up to an ampere-hour.
fn choice(figure: &SizedFigure) -> Option<Choice> {
    let least = figure.at_least()?.amount.si;
    if let Some(kept) = figure.kept() {
        return Some(kept);
    }
    let hours = (least / SECONDS_PER_HOUR - 1e-9).ceil();
    Some(Choice {
        amount: Amount {
            si: hours * SECONDS_PER_HOUR,
            shown: format!("{hours} Ah"),
        },
        why: "the least, to a whole ampere-hour: take the next size that is made".to_owned(),
    })
}
