//! Sizing of the bore of an air pipe or tube: the least bore with which all sections that it feeds keep their required
//! pressure, regulators that it feeds stay in regulation, and the permitted loss is not exceeded.

use std::sync::Arc;

use drysheath_engineering::measure::{Length, Pressure};
use drysheath_engineering::network::RegulatorState;
use drysheath_engineering::units::{Dimension, Quantity, Unit, find};
use drysheath_office::kinds::{Key, KindId};
use drysheath_office::{Fields, Link, Part, ThingId};
use drysheath_prediction::{Air, BoreTarget, line_name, position_name};

use super::needs::{Need, needed};
use super::offer::{Verdict, ancestry, reaches};
use super::{
    Amount, Bound, Choice, FigureFormatter, Input, Origin, PartOffer, SizedFigure, SizedQuantity, Sizing, plain, stated,
};
use crate::figures::below;
use crate::lint::Inspection;
use crate::sections::SectionState;
use crate::supply;

/// Search range of bores in metres: those that the language accepts for a pipe or tube.
const BORES: (f64, f64) = (3e-4, 0.15);
/// Bisection steps: 24 leave less than a millionth of the range.
const HALVINGS: u32 = 24;
/// Rounding of the recommended bore, m: tube comes in many sizes.
const STEP: f64 = 1e-4;

/// The pipe or tubes to size, and what they feed.
struct BoreDemand<'a> {
    of: BoreTarget<'a>,
    name: String,
    fed: Fed,
    /// Unit of the stated bore, or else the millimetre.
    unit: Option<&'static Unit>,
}

/// Things that get their air through a pipe or tube, also through regulators.
#[derive(Default)]
struct Fed {
    things: Vec<ThingId>,
    regulators: Vec<ThingId>,
}

impl Fed {
    /// Adds a thing and everything downstream of it.
    fn add(&mut self, inspection: &Inspection<'_>, thing: ThingId) {
        let mut open = vec![thing];
        while let Some(at) = open.pop() {
            if self.things.contains(&at) {
                continue;
            }
            self.things.push(at);
            if inspection.office.thing(at).is(KindId::Regulator) {
                self.regulators.push(at);
            }
            self.things.extend_from_slice(&supply::behind(inspection, at));
            open.extend(supply::regulators_behind(inspection, at));
        }
    }
}

impl BoreDemand<'_> {
    fn amount(&self, si: f64) -> Amount {
        const DIGITS: i32 = 4;
        let shown = self.unit.map(|unit| Quantity {
            value: unit.from_si(si),
            unit,
        });
        Amount {
            si,
            shown: shown.map_or_else(|| format!("{si} m"), |shown| shown.to_digits(DIGITS).to_string()),
        }
    }

    fn bound(&self, si: f64, why: impl Into<String>, input: Input) -> Bound {
        Bound {
            amount: self.amount(si),
            why: why.into(),
            inputs: vec![input],
        }
    }
}

/// Sizes the bore of an air pipe, with its candidate parts.
pub(super) fn of_pipe(
    inspection: &Inspection<'_>,
    formatter: &FigureFormatter<'_>,
    parts: &[Arc<Part>],
    id: ThingId,
    loss: Option<Quantity>,
) -> Sizing {
    let office = inspection.office;
    let mut fed = Fed::default();
    fed.add(inspection, id);
    let stated = office.thing(id).quantity(Key::Bore);
    let demand = BoreDemand {
        of: BoreTarget::Pipe(id),
        name: office.name(id).to_owned(),
        fed,
        unit: unit(stated.map(|(bore, _)| bore)),
    };
    let mut figure = SizedFigure::new(SizedQuantity::Bore, Dimension::Length);
    figure.stated = stated.map(|(bore, place)| (formatter.written(bore), place));
    let mut sizing = size(inspection, formatter, &demand, figure, loss);
    offer(inspection, parts, id, &mut sizing);
    sizing
}

/// Sizes the bore of the tubes from one thing to another, and of those that the same run states with them. `None` where
/// no run leads there.
pub(super) fn of_tube(
    inspection: &Inspection<'_>,
    formatter: &FigureFormatter<'_>,
    (from, to): (ThingId, ThingId),
    loss: Option<Quantity>,
) -> Option<Sizing> {
    let (office, networks) = (inspection.office, inspection.networks);
    let pieces = || networks.air.pieces(office);
    let is_it = |link: &Link| link.from.thing == from && link.to.thing == to;
    let (_, with) = pieces().find(|(link, _)| is_it(link))?;
    let same = pieces()
        .enumerate()
        .filter(|(_, (_, other))| std::ptr::eq(*other, with));
    let (numbers, links): (Vec<usize>, Vec<&Link>) = same.map(|(number, (link, _))| (number, link)).unzip();
    let first = links.first()?;
    let mut fed = Fed::default();
    for link in &links {
        fed.add(inspection, link.to.thing);
    }
    let through: Vec<&str> = links.iter().map(|link| office.name(link.to.thing)).collect();
    let demand = BoreDemand {
        of: BoreTarget::Tubes(&numbers),
        name: format!("{} -> {}", office.name(first.from.thing), through.join(" -> ")),
        fed,
        unit: unit(with.bore.map(|bore| bore.value)),
    };
    let mut figure = SizedFigure::new(SizedQuantity::Bore, Dimension::Length);
    figure.stated = with
        .bore
        .map(|bore| (formatter.written(bore.value), office.place(bore.range)));
    Some(size(inspection, formatter, &demand, figure, loss))
}

fn unit(stated: Option<Quantity>) -> Option<&'static Unit> {
    stated.map(|stated| stated.unit).or_else(|| find("mm"))
}

fn size(
    inspection: &Inspection<'_>,
    formatter: &FigureFormatter<'_>,
    demand: &BoreDemand<'_>,
    mut figure: SizedFigure,
    loss: Option<Quantity>,
) -> Sizing {
    let mut is_enough = needs(inspection, formatter, demand, &mut figure);
    match loss {
        Some(loss) => is_enough &= wanted(inspection, demand, loss, &mut figure),
        None => figure
            .missing
            .push("a wanted loss: say one with --loss, such as --loss \"0.5 psi\"".to_owned()),
    }
    figure.sort();
    figure.choice = is_enough.then(|| choice(demand, &figure)).flatten();
    let mut notes = vec![
        "the flow is that of the normal state, and each bore is put in and the network solved again: laminar, turbulent and between".to_owned(),
    ];
    if let Some(choice) = &figure.choice {
        notes.extend(loss_with(inspection, formatter, demand, choice.amount.si));
    }
    notes.push(
        "air under pressure can kill: let it off before a fitting is opened, never above the lowest rating; local codes govern".to_owned(),
    );
    Sizing {
        of: demand.name.clone(),
        figures: vec![figure],
        parts: Vec::new(),
        notes,
    }
}

fn with_bore(inspection: &Inspection<'_>, demand: &BoreDemand<'_>, bore: f64) -> Option<Air> {
    let Inspection {
        office,
        networks,
        prediction,
        ..
    } = *inspection;
    prediction
        .air
        .with_bore(office, networks, demand.of, Length::from_metres(bore))
}

/// The least bore for which `holds` is true, assuming that it is true for all larger ones, and a slightly smaller bore
/// for which it is false, if any. `None` where it is false for the largest.
fn least(holds: impl Fn(f64) -> bool) -> Option<(f64, f64)> {
    let (mut narrow, mut wide) = BORES;
    if !holds(wide) {
        return None;
    }
    if holds(narrow) {
        return Some((narrow, narrow));
    }
    for _ in 0..HALVINGS {
        let middle = (narrow * wide).sqrt();
        if holds(middle) {
            wide = middle;
        } else {
            narrow = middle;
        }
    }
    Some((narrow, wide))
}

/// A requirement of something that the bore feeds.
struct Needed<'i> {
    of: NeededBy<'i>,
    /// Why a narrower bore would not do, without the place.
    why: String,
    input: Input,
}

enum NeededBy<'i> {
    /// A section, by its index among those of all lines, with its required pressure.
    Section(usize, SectionState<'i>, Pressure),
    /// A regulator, which needs sufficient inlet pressure.
    Regulator(ThingId),
}

impl Needed<'_> {
    fn lowest(&self, air: &Air) -> Option<(f64, Pressure)> {
        let NeededBy::Section(number, ..) = &self.of else {
            return None;
        };
        let mut sections = air
            .lines()
            .iter()
            .flat_map(|line| line.sections.iter().map(move |reach| (line, reach)));
        let (line, reach) = sections.nth(*number)?;
        air.lowest(line, reach)
    }

    /// Whether it is met. False where that is not known.
    fn is_met(&self, air: &Air) -> bool {
        match &self.of {
            NeededBy::Section(_, _, least) => {
                let lowest = self.lowest(air);
                lowest.is_some_and(|(_, lowest)| !below(lowest.pascals(), least.pascals()))
            }
            NeededBy::Regulator(id) => {
                let state = air.through(*id).and_then(|state| state.regulator);
                state.is_some_and(|state| state != RegulatorState::OutOfRegulation)
            }
        }
    }

    /// Name of the section's line or of the regulator.
    fn name(&self, inspection: &Inspection<'_>) -> String {
        match &self.of {
            NeededBy::Section(_, section, _) => plain(&line_name(inspection.office, section.line)),
            NeededBy::Regulator(id) => inspection.office.name(*id).to_owned(),
        }
    }

    /// Where it is not met: a point of the section, or the thing as a whole.
    fn place(&self, inspection: &Inspection<'_>, air: &Air) -> String {
        match (&self.of, self.lowest(air)) {
            (NeededBy::Section(_, section, _), Some((metres, _))) => {
                plain(&position_name(inspection.office, section.line, metres))
            }
            _ => format!("of {}", self.name(inspection)),
        }
    }
}

/// All requirements of the things fed.
fn needs_of<'i>(
    inspection: &'i Inspection<'_>,
    formatter: &FigureFormatter<'_>,
    demand: &BoreDemand<'_>,
    figure: &mut SizedFigure,
) -> Vec<Needed<'i>> {
    let office = inspection.office;
    let (mut all, mut without): (Vec<Needed<'_>>, Vec<String>) = (Vec::new(), Vec::new());
    // Pressures downstream of a regulator out of regulation are not known, so the requirement is that of the regulator.
    for id in &demand.fed.regulators {
        let set = office.thing(*id).quantity(Key::Set);
        all.extend(set.map(|(set, place)| Needed {
            of: NeededBy::Regulator(*id),
            why: "with less there would not be enough pressure at the inlet".to_owned(),
            input: stated("set", set, place),
        }));
    }
    let sections = inspection.sections().enumerate();
    for (number, section) in sections.filter(|(_, section)| demand.fed.things.contains(&section.line.thing)) {
        let needed = needed(inspection, formatter, &section);
        let name = plain(&line_name(office, section.line));
        if needed.is_empty() && !without.contains(&name) {
            without.push(name);
        }
        all.extend(needed.into_iter().map(|Need { least, why, input }| Needed {
            of: NeededBy::Section(number, section, least),
            why: format!("with less there would not be {why}"),
            input,
        }));
    }
    if !without.is_empty() {
        figure.missing.push(format!(
            "a minimum pressure or a depth of sections of {}: what they need is not counted",
            without.join(", ")
        ));
    }
    if all.is_empty() {
        figure
            .missing
            .push("a cable or pipe behind it that needs a pressure".to_owned());
    }
    all
}

/// Adds lower bounds from the requirements. Returns whether some bore meets all of them; false where the air is not
/// known.
fn needs(
    inspection: &Inspection<'_>,
    formatter: &FigureFormatter<'_>,
    demand: &BoreDemand<'_>,
    figure: &mut SizedFigure,
) -> bool {
    let all = needs_of(inspection, formatter, demand, figure);
    let Some(widest) = with_bore(inspection, demand, BORES.1) else {
        figure
            .missing
            .push("the length of it, or the pressures that come to it".to_owned());
        return false;
    };
    let (can_be_met, unmet): (Vec<_>, Vec<_>) = all.iter().partition(|need| need.is_met(&widest));
    for need in &unmet {
        let why = format!(
            "a bore that gives {} what it needs: none does, or the pressure there is not known",
            need.name(inspection)
        );
        if !figure.missing.contains(&why) {
            figure.missing.push(why);
        }
    }
    let first_unmet = |bore: f64| {
        let air = with_bore(inspection, demand, bore)?;
        let need = can_be_met.iter().find(|need| !need.is_met(&air))?;
        Some((*need, need.place(inspection, &air)))
    };
    let (narrow, wide) = least(|bore| {
        let air = with_bore(inspection, demand, bore);
        air.is_some_and(|air| can_be_met.iter().all(|need| need.is_met(&air)))
    })
    .unwrap_or(BORES);
    if let Some((need, place)) = first_unmet(narrow) {
        let why = format!("{} {place}", need.why);
        figure.least.push(demand.bound(wide, why, need.input.clone()));
    } else if let Some(need) = can_be_met.first() {
        let why = "the narrowest bore that is looked at, which does already";
        figure.least.push(demand.bound(narrow, why, need.input.clone()));
    }
    unmet.is_empty()
}

/// Adds a lower bound from the permitted loss. Returns whether some bore meets it.
fn wanted(inspection: &Inspection<'_>, demand: &BoreDemand<'_>, loss: Quantity, figure: &mut SizedFigure) -> bool {
    let most = loss.difference();
    let taken = |bore: f64| Some(with_bore(inspection, demand, bore)?.loss_of(demand.of)?.pascals());
    let Some((_, bore)) = least(|bore| taken(bore).is_some_and(|taken| !below(most, taken))) else {
        figure
            .missing
            .push("a bore that loses so little: none does, or its flow or length is not known".to_owned());
        return false;
    };
    figure.least.push(demand.bound(
        bore,
        "with less it loses more than is wanted",
        Input {
            what: "wanted loss".to_owned(),
            shown: loss.to_string(),
            from: Origin::Asked,
        },
    ));
    true
}

/// The pressure loss with a bore, as text.
fn loss_with(
    inspection: &Inspection<'_>,
    formatter: &FigureFormatter<'_>,
    demand: &BoreDemand<'_>,
    bore: f64,
) -> Option<String> {
    let loss: Pressure = with_bore(inspection, demand, bore)?.loss_of(demand.of)?;
    Some(format!(
        "with {} it loses {}",
        demand.amount(bore).shown,
        formatter.show(Dimension::Pressure, loss.pascals())
    ))
}

fn choice(demand: &BoreDemand<'_>, figure: &SizedFigure) -> Option<Choice> {
    let least = figure.at_least()?.amount.si;
    if let Some(kept) = figure.kept() {
        return Some(kept);
    }
    let si = (least / STEP - 1e-9).ceil() * STEP;
    let amount = match demand.unit {
        Some(unit) => figure.written_down(Quantity {
            value: unit.from_si(si),
            unit,
        }),
        None => demand.amount(si),
    };
    Some(Choice {
        amount,
        why: "the least that does all of this, to a tenth of a millimetre: take the next size that is made".to_owned(),
    })
}

/// Adds the parts of a pipe that have a bore, and recommends the narrowest one that suffices unless the bore may stay as it is.
fn offer(inspection: &Inspection<'_>, parts: &[Arc<Part>], id: ThingId, sizing: &mut Sizing) {
    let Some(figure) = sizing.figures.first() else { return };
    let office = inspection.office;
    let reaches = reaches(inspection, id);
    let rough = office.given(id, Key::Roughness).map(|given| given.quantity.si());
    let pipes = parts.iter().filter(|part| part.kind.id == KindId::AirPipe);
    let mut offers: Vec<(f64, PartOffer)> = pipes
        .filter_map(|part| {
            let chain = ancestry(parts, part);
            let of = |key| chain.iter().find_map(|part| Some(part.quantity(key)?.0));
            let bore = of(Key::Bore)?;
            let mut verdict = Verdict::default();
            if let Some(least) = figure.at_least() {
                let least = format!("at least {}", least.amount.shown);
                verdict.judge(figure.holds(bore.si()), least, "it is narrower");
            }
            if figure.choice.is_none() {
                verdict.missing.push("a bore that is known to do".to_owned());
            }
            match (of(Key::Rating), &reaches) {
                (Some(rating), Some(reaches)) => verdict.judge(
                    !below(office.figure(rating), reaches.figure),
                    format!("rating {rating} against {} that can reach it", reaches.quantity),
                    "too weak",
                ),
                (None, _) => verdict.missing.push("its `rating`".to_owned()),
                (_, None) => verdict.missing.push("the pressure that can reach it".to_owned()),
            }
            if of(Key::Roughness)
                .map(Quantity::si)
                .zip(rough)
                .is_some_and(|(own, rough)| below(rough, own))
            {
                verdict
                    .missing
                    .push("what it loses by its roughness, which is more than that of the pipe in the file".to_owned());
            }
            Some((
                bore.si(),
                verdict.offer(part.name.to_string(), part.place, format!("bore {bore}")),
            ))
        })
        .collect();
    let is_changed = figure.kept().is_none();
    let fitting = offers
        .iter_mut()
        .filter(|(_, offer)| is_changed && offer.fits == Some(true));
    if let Some((_, best)) = fitting.min_by(|one, other| one.0.total_cmp(&other.0)) {
        best.is_chosen = true;
    }
    sizing.parts = offers.into_iter().map(|(_, offer)| offer).collect();
}
