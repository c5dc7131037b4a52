use drysheath_office::kinds::{KindId, Role};
use drysheath_syntax::Medium;

use super::is_on_mains;
use crate::finding::Sink;
use crate::lint::Inspection;
use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};

pub(crate) static RULE: Rule = Rule {
    id: RuleId::LoadUnfed,
    level: Level::Error,
    while_planned: Some(Level::Note),
    yields_to: &[],
    family: Family::Power,
    summary: "No power run leads to a monitor.",
    explanation: "A monitor without battery reports nothing, and its record tells nobody which fuse to pull before working on it. Draw \
                  the run from the battery through a fuse position to the monitor, along the arrows. A monitor that runs from the \
                  mains states `supply mains`. In an office without a battery `supply-unrecorded` is the result instead. Battery plant can give thousands of \
                  amperes into a short circuit: it is for qualified people with insulated tools and no jewellery.",
    source: Source::CommonPractice,
    example: Some(Example {
        failing: r#"
# without power pdf
spare pdf fuse 1
monitor m1 { sensors 8, contacts 4, draws 40 W, window -40.5 V .. -57 V, link lan "192.0.2.11" }
#       ^^
"#,
        passing: r"
# without power pdf
spare pdf fuse 1
power main -> m1 with 3 A, 14 awg, 6 m
",
    }),
    check: Check::Office(check),
};

fn check(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {
    let office = inspection.office;
    if office.unsure.about(Medium::Power) {
        return;
    }
    // Without any battery the monitors may run from the mains; `supply-unrecorded` reports that.
    if office.of_kind(KindId::Battery).next().is_none() {
        return;
    }
    let networks = inspection.networks;
    for (id, thing) in office.of_kind(KindId::Monitor) {
        let mut feeds = networks.feeding(id).peekable();
        let is_fed = match feeds.peek() {
            None => false,
            // A panel without a battery is reported by `panel-unfed`.
            Some(_) => feeds.any(|feed| feed.from.port.role != Role::Load || networks.battery_of(feed).is_some()),
        };
        if thing.damaged || is_fed || is_on_mains(thing) {
            continue;
        }
        let name = office.name(id);
        match networks.power.leaving(id).next() {
            Some(link) => sink
                .report(
                    id,
                    link.from.range,
                    format!("this power run leads away from the monitor `{name}`, and none leads to it"),
                )
                .help("turn the run round: battery flows along the arrows"),
            None => sink
                .report(id, thing.name, format!("no power run leads to the monitor `{name}`"))
                .help(format!(
                    "draw its feed: `power … -> … fuse … -> {name}` with fuse, wire size and length; or state `supply mains`"
                )),
        };
    }
}
