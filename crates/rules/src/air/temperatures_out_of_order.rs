use drysheath_office::Given;
use drysheath_office::kinds::Key;

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
    explanation: "`coldest` is the coldest that the cables ever get, `air-temperature` that of the air on its way on an ordinary day, \
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
    let given = |key: Key| Some((key, office.given(itself, key)?));
    let order: Vec<(Key, Given)> = [Key::Coldest, Key::AirTemperature, Key::Hottest]
        .into_iter()
        .filter_map(given)
        .collect();
    for pair in order.windows(2) {
        let [(lower, low), (upper, high)] = pair else { continue };
        if !below(high.quantity.si(), low.quantity.si()) {
            continue;
        }
        // What is stated is what was meant; a default is only where nothing was said.
        let (place, other) = match (low.place, high.place) {
            (Some(low), high) => (low, high.map(|high| (high, upper))),
            (None, Some(high)) => (high, None),
            (None, None) => continue,
        };
        // In one unit, whatever the two are written in.
        let name = |key: &Key, given: &Given| {
            let default = if given.place.is_some() { "" } else { ", the default" };
            let quantity = given.quantity.in_unit(low.quantity.unit).to_digits(DIGITS);
            format!("`{}` ({quantity}{default})", key.word())
        };
        let message = format!("{} is above {}", name(lower, low), name(upper, high));
        let finding = sink.report(itself, place.range, message);
        if low.place.is_none() || high.place.is_none() {
            finding.level = finding.level.min(Level::Warning);
        }
        if let Some((place, key)) = other {
            finding.related(place, format!("`{}` is stated here", key.word()));
        }
        finding.help("they rise in this order: coldest, air-temperature, hottest; check signs and units");
        return;
    }
}
