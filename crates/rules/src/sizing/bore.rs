//! The bore of an air pipe, or of a tube between two things: the least with which all that it feeds has what it needs, and with which it
//! loses no more than is wanted.

use std::sync::Arc;

use drysheath_engineering::measure::{Length, Pressure};
use drysheath_engineering::units::{Dimension, Quantity, Unit, find};
use drysheath_office::kinds::{Key, KindId};
use drysheath_office::{Fields, Link, Part, ThingId};
use drysheath_prediction::{Air, Bored, line_name, position_name};

use super::needs::{Need, needed};
use super::{Amount, Bound, Choice, Input, Origin, PartOffer, Scales, SizedFigure, Sizing, plain};
use crate::figures::below;
use crate::lint::Inspection;
use crate::supply;

/// The bores that are looked at: those that the language takes for a pipe or a tube.
const BORES: (f64, f64) = (3e-4, 0.15);
/// Steps of the search, which halve what is open each.
const HALVINGS: u32 = 40;
/// What a bore to take is rounded up to, m: tube comes in many sizes.
const STEP: f64 = 1e-4;

/// What has the bore, and what it feeds.
struct Asked<'a> {
    of: Bored<'a>,
    name: String,
    fed: Vec<ThingId>,
    /// The unit of the bore that is stated, or the millimetre.
    unit: Option<&'static Unit>,
}

impl Asked<'_> {
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

/// The bounds on the bore of an air pipe, with the parts that have one.
pub(super) fn of_pipe(
    inspection: &Inspection<'_>,
    scales: &Scales<'_>,
    parts: &[Arc<Part>],
    id: ThingId,
    loss: Option<Quantity>,
) -> Sizing {
    let office = inspection.office;
    let mut fed = supply::behind(inspection, id).to_vec();
    fed.push(id);
    let stated = office.thing(id).quantity(Key::Bore);
    let asked = Asked {
        of: Bored::Pipe(id),
        name: office.name(id).to_owned(),
        fed,
        unit: unit(stated.map(|(bore, _)| bore)),
    };
    let mut figure = SizedFigure::new("bore", Dimension::Length);
    figure.stated = stated.map(|(bore, place)| (scales.written(bore), place));
    let mut sizing = size(inspection, scales, &asked, figure, loss);
    offer(parts, &mut sizing);
    sizing
}

/// The bounds on the bore of the tubes that lead from one thing to another, and of those that the same run states with them. None where no run
/// leads there.
pub(super) fn of_tube(
    inspection: &Inspection<'_>,
    scales: &Scales<'_>,
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
    let mut fed = Vec::new();
    for link in &links {
        fed.extend_from_slice(&supply::behind(inspection, link.to.thing));
        fed.push(link.to.thing);
    }
    let through: Vec<&str> = links.iter().map(|link| office.name(link.to.thing)).collect();
    let asked = Asked {
        of: Bored::Tubes(&numbers),
        name: format!("{} -> {}", office.name(first.from.thing), through.join(" -> ")),
        fed,
        unit: unit(with.bore.map(|bore| bore.value)),
    };
    let mut figure = SizedFigure::new("bore", Dimension::Length);
    figure.stated = with
        .bore
        .map(|bore| (scales.written(bore.value), office.place(bore.range)));
    Some(size(inspection, scales, &asked, figure, loss))
}

fn unit(stated: Option<Quantity>) -> Option<&'static Unit> {
    stated.map(|stated| stated.unit).or_else(|| find("mm"))
}

fn size(
    inspection: &Inspection<'_>,
    scales: &Scales<'_>,
    asked: &Asked<'_>,
    mut figure: SizedFigure,
    loss: Option<Quantity>,
) -> Sizing {
    needs(inspection, scales, asked, &mut figure);
    match loss {
        Some(loss) => wanted(inspection, asked, loss, &mut figure),
        None => figure
            .missing
            .push("a wanted loss: say one with --loss, such as --loss \"0.5 psi\"".to_owned()),
    }
    figure.sort();
    figure.choice = choice(asked, &figure);
    let mut notes = vec![
        "the flow is that of the normal state, and each bore is put in and the network solved again: laminar, turbulent and between".to_owned(),
    ];
    if let Some(choice) = &figure.choice {
        notes.extend(loss_with(inspection, scales, asked, choice.amount.si));
    }
    notes.push(
        "air under pressure can kill: let it off before a fitting is opened, never above the lowest rating; local codes govern".to_owned(),
    );
    Sizing {
        of: asked.name.clone(),
        figures: vec![figure],
        parts: Vec::new(),
        notes,
    }
}

fn with_bore(inspection: &Inspection<'_>, asked: &Asked<'_>, bore: f64) -> Option<Air> {
    let Inspection {
        office,
        networks,
        prediction,
        ..
    } = *inspection;
    prediction
        .air
        .with_bore(office, networks, asked.of, Length::from_metres(bore))
}

/// The least bore with which something holds that larger ones hold too. None where it does not hold with the largest.
fn least(holds: impl Fn(f64) -> bool) -> Option<f64> {
    let (mut narrow, mut wide) = BORES;
    if !holds(wide) {
        return None;
    }
    if holds(narrow) {
        return Some(narrow);
    }
    for _ in 0..HALVINGS {
        let middle = (narrow * wide).sqrt();
        if holds(middle) {
            wide = middle;
        } else {
            narrow = middle;
        }
    }
    Some(wide)
}

/// What each section and pipe that it feeds needs.
fn needs(inspection: &Inspection<'_>, scales: &Scales<'_>, asked: &Asked<'_>, figure: &mut SizedFigure) {
    let office = inspection.office;
    let sections: Vec<_> = inspection.sections().collect();
    let is_fed = |thing: ThingId| asked.fed.contains(&thing);
    let mut neediest: Option<(f64, Need, String)> = None;
    let (mut is_any, mut unneeded) = (false, Vec::new());
    for (number, section) in sections
        .iter()
        .enumerate()
        .filter(|(_, section)| is_fed(section.line.thing))
    {
        let all = needed(inspection, scales, section);
        if all.is_empty() {
            unneeded.push(plain(&line_name(office, section.line)));
        }
        for need in all {
            is_any = true;
            let lowest = |air: &Air| {
                let mut sections = air
                    .lines()
                    .iter()
                    .flat_map(|line| line.sections.iter().map(move |reach| (line, reach)));
                let (line, reach) = sections.nth(number)?;
                air.lowest(line, reach)
            };
            let holds = |bore: f64| {
                let found = with_bore(inspection, asked, bore);
                let found = found.as_ref().and_then(lowest);
                found.is_some_and(|(_, lowest)| !below(lowest.pascals(), need.least.pascals()))
            };
            match least(holds) {
                Some(bore) => {
                    if neediest.as_ref().is_none_or(|(most, ..)| bore > *most) {
                        let at = with_bore(inspection, asked, bore);
                        let at = at.as_ref().and_then(lowest).map(|(metres, _)| metres);
                        let place = at.map_or_else(String::new, |metres| {
                            plain(&position_name(office, section.line, metres))
                        });
                        neediest = Some((bore, need, place));
                    }
                }
                None => figure.missing.push(format!(
                    "a bore that gives {} what it needs: none does, or the pressure there is not known",
                    plain(&line_name(office, section.line))
                )),
            }
        }
    }
    figure.missing.dedup();
    unneeded.dedup();
    if !unneeded.is_empty() {
        figure.missing.push(format!(
            "a minimum pressure or a depth of sections of {}: what they need is not counted",
            unneeded.join(", ")
        ));
    }
    if !is_any {
        figure
            .missing
            .push("a cable or pipe behind it that needs a pressure".to_owned());
    }
    if let Some((bore, need, place)) = neediest {
        let why = format!("with less there would not be {} {place}", need.why);
        figure.least.push(asked.bound(bore, why, need.input));
    }
}

/// What it may lose.
fn wanted(inspection: &Inspection<'_>, asked: &Asked<'_>, loss: Quantity, figure: &mut SizedFigure) {
    let most = loss.difference();
    let taken = |bore: f64| Some(with_bore(inspection, asked, bore)?.loss_of(asked.of)?.pascals());
    let holds = |bore: f64| taken(bore).is_some_and(|taken| !below(most, taken));
    let Some(bore) = least(holds) else {
        figure
            .missing
            .push("a bore that loses so little: none does, or its flow or length is not known".to_owned());
        return;
    };
    figure.least.push(asked.bound(
        bore,
        "with less it loses more than is wanted",
        Input {
            what: "wanted loss".to_owned(),
            shown: loss.to_string(),
            from: Origin::Published("as asked for"),
        },
    ));
}

/// What it loses with a bore.
fn loss_with(inspection: &Inspection<'_>, scales: &Scales<'_>, asked: &Asked<'_>, bore: f64) -> Option<String> {
    let loss: Pressure = with_bore(inspection, asked, bore)?.loss_of(asked.of)?;
    Some(format!(
        "with {} it loses {}",
        asked.amount(bore).shown,
        scales.show(Dimension::Pressure, loss.pascals())
    ))
}

fn choice(asked: &Asked<'_>, figure: &SizedFigure) -> Option<Choice> {
    let least = figure.at_least()?.amount.si;
    if let Some((now, _)) = figure.stated.as_ref().filter(|(now, _)| figure.holds(now.si)) {
        return Some(Choice {
            amount: now.clone(),
            why: "as it is: within the bounds".to_owned(),
        });
    }
    let si = (least / STEP - 1e-9).ceil() * STEP;
    Some(Choice {
        amount: asked.amount(si),
        why: "the least that does all of this, to a tenth of a millimetre: take the next size that is made".to_owned(),
    })
}

/// The parts of a pipe with a bore, with the narrowest that does taken.
fn offer(parts: &[Arc<Part>], sizing: &mut Sizing) {
    let Some(figure) = sizing.figures.first() else { return };
    let bored = parts.iter().filter(|part| part.kind.id == KindId::AirPipe);
    let bored = bored.filter_map(|part| Some((part, part.fields().quantity(Key::Bore)?.0)));
    let mut offers: Vec<(f64, PartOffer)> = bored
        .map(|(part, bore)| {
            let si = bore.si();
            let fits = figure.at_least().map(|_| figure.holds(si));
            let offer = PartOffer {
                name: part.name.to_string(),
                place: part.place,
                figures: format!("bore {bore}"),
                fits,
                is_chosen: false,
                merits: Vec::new(),
                faults: (fits == Some(false))
                    .then(|| "narrower than what is needed".to_owned())
                    .into_iter()
                    .collect(),
                missing: Vec::new(),
            };
            (si, offer)
        })
        .collect();
    let fitting = offers.iter_mut().filter(|(_, offer)| offer.fits == Some(true));
    if let Some((_, best)) = fitting.min_by(|one, other| one.0.total_cmp(&other.0)) {
        best.is_chosen = true;
    }
    sizing.parts = offers.into_iter().map(|(_, offer)| offer).collect();
}
