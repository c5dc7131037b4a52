//! The largest pressure loss on the path to a place, to name the cause in a result.

use drysheath_engineering::network::RegulatorState;
use drysheath_engineering::units::Quantity;
use drysheath_office::{Fields, ThingId};
use drysheath_prediction::{AirLocation, PathElement, PathStep};
use drysheath_text::Place;

use crate::figures::{difference, same};
use crate::finding::Finding;
use crate::lint::Inspection;

/// The element with the largest pressure loss on a path.
pub(crate) struct LargestLoss {
    /// Text with the name of the part and its share of the total loss.
    pub words: String,
    help: Option<String>,
    place: Place,
}

/// An element of a path that has a name of its own for users.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Element {
    /// A run, by the index of its first piece among the pieces of air runs; the losses of its pieces are added up.
    Run(usize),
    Thing(ThingId),
}

/// The element with the largest loss between the last regulator or the dryer and a place; figures in the unit of
/// `model`. `None` where that is `own`, the thing that the result is about, or where nothing is known.
pub(crate) fn largest_loss(
    inspection: &Inspection<'_>,
    at: &AirLocation<'_>,
    own: ThingId,
    model: Quantity,
) -> Option<LargestLoss> {
    let path = inspection.prediction.air.supply_path(at)?;
    let is_held = |step: &PathStep<'_>| step.state.regulator == Some(RegulatorState::Regulating);
    let first = path.steps.iter().rposition(is_held).map_or(0, |last| last + 1);
    let mut losses: Vec<(Element, f64)> = Vec::new();
    let mut all = 0.0;
    for step in path.steps.iter().skip(first) {
        let element = match step.element {
            PathElement::Run(piece) => Element::Run(first_piece(inspection, piece)?),
            PathElement::Thing(id) => Element::Thing(id),
            PathElement::OnLine(route, ..) => Element::Thing(route.thing),
            PathElement::Joint => continue,
        };
        let lost = step.before.pascals() - step.after.pascals();
        all += lost;
        match losses.iter_mut().find(|(other, _)| *other == element) {
            Some((_, sum)) => *sum += lost,
            None => losses.push((element, lost)),
        }
    }
    let (element, lost) = losses.into_iter().max_by(|one, other| one.1.total_cmp(&other.1))?;
    if element == Element::Thing(own) || lost <= 0.0 {
        return None;
    }
    let part = if same(lost, all) {
        "all".to_owned()
    } else {
        difference(model, lost).to_string()
    };
    let all = difference(model, all);
    let (name, place, help) = described(inspection, element)?;
    Some(LargestLoss {
        words: format!("{name} takes {part} of the {all} lost on the way"),
        help,
        place,
    })
}

impl LargestLoss {
    /// Adds it to a finding: to the message, as a related place, and to the advice.
    pub fn tell(self, finding: &mut Finding) {
        finding.message.push_str("; ");
        finding.message.push_str(&self.words);
        finding.related(self.place, "the largest loss on the way");
        if let Some(help) = self.help {
            finding.help(help);
        }
    }
}

/// The first piece of the run that a piece belongs to.
fn first_piece(inspection: &Inspection<'_>, piece: usize) -> Option<usize> {
    let mut pieces = inspection.networks.air.pieces(inspection.office);
    let (link, _) = pieces.nth(piece)?;
    let ends = (link.from.thing, link.to.thing, link.run);
    let mut pieces = inspection.networks.air.pieces(inspection.office);
    pieces.position(|(other, _)| (other.from.thing, other.to.thing, other.run) == ends)
}

/// Name of an element, its place, and advice.
fn described(inspection: &Inspection<'_>, element: Element) -> Option<(String, Place, Option<String>)> {
    let office = inspection.office;
    match element {
        Element::Run(piece) => {
            let (link, _) = inspection.networks.air.pieces(office).nth(piece)?;
            let place = office.place(link.from.range.cover(link.to.range));
            let [from, to] = [link.from, link.to].map(|side| office.name(side.thing));
            let name = format!("the tube from `{from}` to `{to}`");
            let help = "check the bore and the length of this tube, or take a wider or shorter one";
            Some((name, place, Some(help.to_owned())))
        }
        Element::Thing(id) => {
            let thing = office.thing(id);
            let name = office.name(id);
            let loss = thing.losses().next();
            let help =
                loss.map(|_| format!("check the loss that is stated for `{name}`, or put one there that takes less"));
            let place = loss.map_or(office.place(thing.name), |(_, place)| place);
            Some((format!("`{name}`"), place, help))
        }
    }
}
