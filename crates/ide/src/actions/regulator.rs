use std::sync::Arc;

use drysheath_engineering::units::{Quantity, find};
use drysheath_office::kinds::{Key, KindId};
use drysheath_office::{Fields, Link, Office, Part, ThingId};
use drysheath_rules::Finding;
use drysheath_text::{Edit, TextRange};
use drysheath_workspace::{Analysis, Snapshot};

use super::{Proposal, laid_out};
use crate::line_edits::below;

/// Differential between supply and set pressure to assume where none is stated.
const DIFFERENTIAL: (f64, &str) = (5.0, "psi");
/// Relief pressure to suggest for a regulator that declares none, as a factor of its set pressure.
const RELIEF: f64 = 1.25;
/// Note for figures that have to be confirmed from a data sheet or gauge.
const NOTE: &str = "a first guess";

/// Inserts a regulator between a piston dryer and things that must not be exposed to pulsation: a declared one that is
/// in no run, or a new one. Its set pressure is a guess that fits the rest of the office, with a note.
pub(super) fn between(snapshot: &Snapshot, analysis: &Analysis, finding: &Finding) -> Vec<Proposal> {
    let office = &analysis.office;
    let Some(dryer) = finding.on else { return Vec::new() };
    let air = &analysis.networks.air;
    let is_joined = |id: ThingId| air.leaving(id).next().is_some() || air.leading_to(id).next().is_some();
    let idle = office
        .of_kind(KindId::Regulator)
        .find(|(id, _)| !is_joined(*id))
        .map(|(id, _)| id);
    let links: Vec<&Link> = air.leaving(dryer).collect();
    let mut proposals = Vec::new();
    for link in links {
        let into = |name: &str| Edit {
            range: TextRange::empty(link.from.range.end),
            replacement: format!(" -> {name}"),
        };
        if let Some(idle) = idle {
            let name = office.name(idle);
            proposals.push(Proposal::new(
                format!("Lead the air through `{name}`"),
                vec![into(name)],
            ));
            continue;
        }
        let name = free_name(office);
        for statement in statements(snapshot, analysis, dryer, &name) {
            let after = office.thing(dryer).range.end;
            let title = format!("Put a regulator `{name}` between, and say what it is set to");
            proposals.push(Proposal::new(
                title,
                vec![into(&name), below(&office.text, after, &laid_out(&statement))],
            ));
        }
    }
    proposals
}

fn free_name(office: &Office) -> String {
    let is_free = |name: &str| !office.things().any(|(id, _)| office.name(id) == name);
    let most = office.things.len() + 1;
    let name = (1..=most).map(|number| format!("r{number}")).find(|name| is_free(name));
    name.unwrap_or_else(|| "regulator".to_owned())
}

/// Possible declarations of the regulator: with each part within reach, then with its own fields.
fn statements(snapshot: &Snapshot, analysis: &Analysis, dryer: ThingId, name: &str) -> Vec<String> {
    let office = &analysis.office;
    let Some((delivers, _)) = office.thing(dryer).quantity(Key::Delivers) else {
        return Vec::new();
    };
    let parts = snapshot.parts_within_reach(analysis);
    let parts: Vec<Arc<Part>> = parts
        .into_iter()
        .filter(|part| part.kind.id == KindId::Regulator)
        .collect();
    let mut statements = Vec::new();
    for part in &parts {
        if part.has(Key::Set) {
            statements.push(format!("regulator {name} : {}", part.name));
        }
        let differential = part.quantity(Key::Differential).map(|(differential, _)| differential);
        for set in sets(office, delivers, differential) {
            statements.push(format!(
                "regulator {name} : {} {{ set {set}, note \"set pressure is {NOTE}\" }}",
                part.name
            ));
        }
    }
    let usual = find(DIFFERENTIAL.1).map(|unit| Quantity {
        value: DIFFERENTIAL.0,
        unit,
    });
    let differential = usual.map(|usual| rounded(usual.in_unit(delivers.unit)));
    if let Some(differential) = differential {
        for set in sets(office, delivers, Some(differential)) {
            let relief = rounded(Quantity {
                value: set.value * RELIEF,
                ..set
            });
            statements.push(format!(
                "regulator {name} {{ set {set}, differential {differential}, relief {relief}, note \"set pressure, differential \
                 and relief are {NOTE}\" }}"
            ));
        }
    }
    statements
}

/// Candidate set pressures of a regulator behind a dryer: normal readings of sensors, then what the supply permits.
fn sets(office: &Office, delivers: Quantity, differential: Option<Quantity>) -> Vec<Quantity> {
    let supply = office.gauge_pascals(delivers);
    let most = supply - differential.map_or(0.0, Quantity::si);
    let unit = if delivers.unit.absolute {
        find(DIFFERENTIAL.1)
    } else {
        Some(delivers.unit)
    };
    let Some(unit) = unit else { return Vec::new() };
    let of_pascals = |pascals: f64| Quantity {
        value: unit.from_si(pascals),
        unit,
    };
    let sensors = office
        .of_kind(KindId::PressureSensor)
        .filter_map(|(_, sensor)| sensor.quantity(Key::Normal));
    let mut normals: Vec<Quantity> = sensors
        .map(|(normal, _)| of_pascals(office.gauge_pascals(normal)))
        .collect();
    normals.sort_by(|one, other| other.value.total_cmp(&one.value));
    let parts = [1.0, 0.8, 0.6, 0.4].map(|part| of_pascals(most * part));
    let mut sets: Vec<Quantity> = normals.into_iter().chain(parts).map(rounded).collect();
    sets.retain(|set| set.value > 0.0 && set.si() <= most * (1.0 + 1e-9));
    sets.dedup();
    sets
}

/// Rounds down to two digits: a regulator is set by a gauge.
fn rounded(quantity: Quantity) -> Quantity {
    let size = quantity.value.abs().log10().floor();
    if !size.is_finite() {
        return quantity;
    }
    let scale = 10_f64.powi(1 - size as i32);
    Quantity {
        value: (quantity.value * scale + 1e-6).floor() / scale,
        ..quantity
    }
}
