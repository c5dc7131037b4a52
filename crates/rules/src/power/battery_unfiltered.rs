use drysheath_office::kinds::{Key, KindId};
use drysheath_office::{Fields, Thing};

use super::feeds::loads_of;
use crate::finding::Sink;
use crate::lint::Inspection;
use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};

pub(crate) static RULE: Rule = Rule {
    id: RuleId::BatteryUnfiltered,
    level: Level::Error,
    while_planned: None,
    yields_to: &[],
    family: Family::Power,
    summary: "A monitor that needs filtered battery is fed from a battery that is not filtered.",
    explanation: "A monitor measures small currents on long pairs, and the ripple of unfiltered battery shows in every reading. It \
                  needs filtered battery unless its maker says otherwise: then its part says `wants-filtered no`. Feed it from the \
                  filtered side of the plant. Battery plant can give thousands of amperes into a short circuit: it is for \
                  qualified people with insulated tools and no jewellery.",
    source: Source::CommonPractice,
    example: Some(Example {
        failing: r"
battery main { nominal -48 V, working -43 V .. -54 V, filtered no }
#                                                     ^^^^^^^^^^^
",
        passing: r#"
battery main { nominal -48 V, working -43 V .. -54 V, filtered no }
monitor m1 { sensors 8, contacts 4, draws 40 W, window -40.5 V .. -57 V, wants-filtered no, link lan "192.0.2.11" }
"#,
    }),
    check: Check::Office(check),
};

fn check(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {
    let office = inspection.office;
    for (id, battery) in office.of_kind(KindId::Battery) {
        if battery.yes_no(Key::Filtered) != Some(false) {
            continue;
        }
        let mut loads = loads_of(inspection, id).iter().filter(|feed| {
            let load = office.thing(feed.to.thing);
            // A missing field means `yes`; an unreadable one is neither `yes` nor `no`.
            let unsaid = |load: &Thing| !load.damaged && !load.has(Key::WantsFiltered);
            load.yes_no(Key::WantsFiltered).unwrap_or(unsaid(load))
        });
        // One result for each battery, however many loads it has.
        let Some(first) = loads.next() else { continue };
        let (name, load) = (office.name(id), office.name(first.to.thing));
        let message = format!("`{name}` is not filtered, and `{load}`, which it feeds, needs filtered battery");
        sink.report(id, battery.place_of(Key::Filtered, office.file), message)
            .related(office.place(first.to.range), format!("the feed of `{load}`"))
            .help("feed it from a filtered battery; if its maker allows the other, say `wants-filtered no` of it");
    }
}
