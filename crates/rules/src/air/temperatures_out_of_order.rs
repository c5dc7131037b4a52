use drysheath_office::kinds::{Key, SURROUNDINGS};
use drysheath_office::{Fields, GivenQuantity};

use crate::figures::below;
use crate::finding::Sink;
use crate::lint::Inspection;
use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};

pub(crate) static RULE: Rule = Rule {
    id: RuleId::TemperaturesOutOfOrder,
    level: Level::Error,
    while_planned: None,
    yields_to: &[],
    family: Family::Air,
    summary: "The coldest cable would be warmer than the air in it, or that air warmer than the hottest cable.",
    explanation: "`coldest` is the coldest that the cables ever get, `air-temperature` that of the air on its way on an ordinary day, `cable-temperature` that of the air in cable of each surroundings, \
                  and `hottest` the hottest that pairs get. They rise in this order. Where they do not, a sign or a unit is wrong, and \
                  air that would freeze in the cable passes as dry enough, or a loop that is too long on a hot day as short enough. \
                  Where the office does not state one of them, its default counts: then this is a warning, since in a \
                  hot country the default may be what is wrong.",
    source: Source::Derived("what the three temperatures mean"),
    example: Some(Example {
        failing: r#"
office elm-hollow {
    title "Elm Hollow"
    site "ELMH01"
    elevation 310 m
    coldest 25 degC
#   ^^^^^^^^^^^^^^^
    stage installed
    air-temperature 15 degC
    air-minimum { underground 5 psi, buried 3 psi, aerial 1 psi }
}
"#,
        passing: r#"
office elm-hollow {
    title "Elm Hollow"
    site "ELMH01"
    elevation 310 m
    coldest 15 degC
    stage installed
    air-temperature 15 degC
    air-minimum { underground 5 psi, buried 3 psi, aerial 1 psi }
}
"#,
    }),
    check: Check::Office(check),
};

const DIGITS: i32 = 4;

fn check(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {
    let office = inspection.office;
    let Some(itself) = office.itself else { return };
    let given = |key: Key| Some((key.word().to_owned(), office.given(itself, key)?));
    let of_cable = |key: Key| {
        let (quantity, place) = office.thing(itself).group(Key::CableTemperature)?.quantity(key)?;
        let name = format!("{} {}", Key::CableTemperature.word(), key.word());
        let place = Some(place);
        Some((name, GivenQuantity { quantity, place }))
    };
    let between = std::iter::once(given(Key::AirTemperature)).chain(SURROUNDINGS.map(of_cable));
    let orders = between.map(|air| [given(Key::Coldest), air, given(Key::Hottest)]);
    let orders: Vec<Vec<(String, GivenQuantity)>> = orders.map(|order| order.into_iter().flatten().collect()).collect();
    for pair in orders.iter().flat_map(|order| order.windows(2)) {
        let [(lower, low), (upper, high)] = pair else { continue };
        if !below(high.quantity.si(), low.quantity.si()) {
            continue;
        }
        // Report at the stated temperature rather than at a default.
        let (place, other) = match (low.place, high.place) {
            (Some(low), high) => (low, high.map(|high| (high, upper))),
            (None, Some(high)) => (high, None),
            (None, None) => continue,
        };
        // Show both in one unit.
        let name = |name: &str, given: &GivenQuantity| {
            let default = if given.place.is_some() { "" } else { ", the default" };
            let quantity = given.quantity.in_unit(low.quantity.unit).to_digits(DIGITS);
            format!("`{name}` ({quantity}{default})")
        };
        let message = format!("{} is above {}", name(lower, low), name(upper, high));
        let finding = sink.report(itself, place.range, message);
        if low.place.is_none() || high.place.is_none() {
            finding.level = finding.level.min(Level::Warning);
        }
        if let Some((place, name)) = other {
            finding.related(place, format!("`{name}` is stated here"));
        }
        finding.help("they rise in this order: coldest, air-temperature and each cable-temperature, hottest; check signs and units");
        return;
    }
}
