//! Validation of a network's figures.

use super::{Conditions, ConnectedLink, Leak, Link, Network, NetworkElement, NoSolution, NodeId};
use crate::measure::Pressure;

/// Rejects impossible figures, and elements at nodes of another network.
pub(super) fn check(network: &Network, conditions: &Conditions) -> Result<(), NoSolution> {
    let refuse = |piece, why| Err(NoSolution::Impossible { piece, why });
    let ambient = conditions.ambient.pascals();
    if !(ambient.is_finite() && ambient > 0.0) {
        return refuse(
            NetworkElement::Conditions,
            "the pressure of the surrounding air is no pressure above vacuum",
        );
    }
    let kelvins = conditions.temperature.kelvins();
    if !(100.0..1000.0).contains(&kelvins) {
        return refuse(
            NetworkElement::Conditions,
            "the air's temperature lies outside what its viscosity is known for",
        );
    }
    let absolute = |gauge: Pressure| {
        let pressure = ambient + gauge.pascals();
        pressure > 0.0 && pressure < 1e9
    };
    let is_foreign = |node: NodeId| !network.nodes.contains_key(node);
    for (id, node) in network.nodes.enumerated() {
        if !(node.demand >= 0.0 && node.demand < 1e6) {
            return refuse(NetworkElement::Node(id), "a usage is less than nothing, or no number");
        }
        if !node.held.is_none_or(absolute) {
            return refuse(NetworkElement::Node(id), "a held pressure is no pressure above vacuum");
        }
    }
    for (id, (at, supply)) in network.supplies.enumerated() {
        if is_foreign(*at) {
            return refuse(NetworkElement::Supply(id), "a supply stands at no node of this network");
        }
        if !absolute(supply.delivers) {
            return refuse(NetworkElement::Supply(id), "a supply delivers no pressure above vacuum");
        }
    }
    for (id, (at, leak)) in network.leaks.enumerated() {
        if is_foreign(*at) {
            return refuse(NetworkElement::Leak(id), "a leak is at no node of this network");
        }
        let fits = match leak {
            Leak::Laminar { resistance } => positive(resistance.pascal_seconds_per_m3()),
            Leak::Orifice { hole, coefficient } => {
                positive(hole.metres()) && hole.metres() < 10.0 && positive(*coefficient) && *coefficient <= 1.0
            }
        };
        if !fits {
            return refuse(
                NetworkElement::Leak(id),
                "a leak's size is not above zero, or its coefficient not between 0 and 1",
            );
        }
    }
    for (id, ConnectedLink { from, to, link, .. }) in network.links.enumerated() {
        if is_foreign(*from) || is_foreign(*to) {
            return refuse(NetworkElement::Link(id), "a link ends at no node of this network");
        }
        if let Some(why) = objection(link, absolute) {
            return refuse(NetworkElement::Link(id), why);
        }
    }
    Ok(())
}

fn positive(figure: f64) -> bool {
    figure.is_finite() && figure > 0.0
}

fn within(figure: f64, most: f64) -> bool {
    (0.0..=most).contains(&figure)
}

fn objection(link: &Link, absolute: impl Fn(Pressure) -> bool) -> Option<&'static str> {
    const LENGTH: &str = "a length is less than nothing, or beyond any route";
    const USAGE: &str = "a usage is less than nothing, or no number";
    match link {
        Link::Tube(tube) => {
            let bore = tube.bore.metres();
            if !(1e-5..=10.0).contains(&bore) {
                Some("a bore is not between 0.01 mm and 10 m")
            } else if !within(tube.length.metres(), 1e7) {
                Some(LENGTH)
            } else if !within(tube.roughness.metres(), bore / 10.0) {
                Some("a tube's roughness is less than nothing or more than a tenth of its bore")
            } else if !within(tube.usage.cubic_metres_per_second(), 1e6) {
                Some(USAGE)
            } else {
                None
            }
        }
        Link::Section(section) => {
            if !within(section.resistance.pascal_seconds_per_m4(), 1e18) {
                Some("a pneumatic resistance is less than nothing, or no number")
            } else if !(positive(section.reference.pressure.pascals())
                && (100.0..1000.0).contains(&section.reference.temperature.kelvins()))
            {
                Some("a pneumatic resistance is counted at a pressure or a temperature that cannot be")
            } else if section
                .temperature
                .is_some_and(|temperature| !(100.0..1000.0).contains(&temperature.kelvins()))
            {
                Some("the air in a cable has a temperature that its viscosity is not known for")
            } else if !within(section.length.metres(), 1e7) {
                Some(LENGTH)
            } else if !within(section.usage.cubic_metres_per_second(), 1e6) {
                Some(USAGE)
            } else {
                None
            }
        }
        Link::Regulator(regulator) => {
            if !absolute(regulator.set) {
                Some("a regulator is set to no pressure above vacuum")
            } else if !within(regulator.droop.pascal_seconds_per_m3(), 1e15) {
                Some("a regulator's droop is less than nothing, or no number")
            } else if !within(regulator.differential.pascals(), 1e9) {
                Some("a regulator's least differential is less than nothing, or no number")
            } else if !regulator
                .rated
                .is_none_or(|rated| positive(rated.cubic_metres_per_second()))
            {
                Some("a regulator's greatest flow is not above zero")
            } else {
                None
            }
        }
        Link::Restriction { loss, .. } => loss.objection(),
        Link::CheckValve | Link::Fitting => None,
    }
}
