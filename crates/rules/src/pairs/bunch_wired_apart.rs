use drysheath_office::NumberRange;
use drysheath_office::kinds::Role;
use drysheath_syntax::PairState;

use super::circuit::{called, circuit, place_of};
use crate::finding::Sink;
use crate::lint::Inspection;
use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};
use crate::runs::run_around;

pub(crate) static RULE: Rule = Rule {
    id: RuleId::BunchWiredApart,
    level: Level::Error,
    while_planned: None,
    yields_to: &[],
    family: Family::Pairs,
    summary: "Bunched pairs are wired apart, or there is only one of them.",
    explanation: "Bunched pairs are joined at both ends, so that they carry one signal together with less resistance. The run names one \
                  of them. A second run on another one would put a second signal on the same conductors, and a single pair has \
                  nothing to be joined with, so that its loop is what it was. Correct the range, or take the second wire off.",
    source: Source::CommonPractice,
    example: Some(Example {
        failing: r#"
# without spare c101 pair 38
bunched c101 pair 37 .. 37 because "one pair alone is over the loop limit"
#            ^^^^^^^^^^^^^
spare c101 pair 38 .. 50
"#,
        passing: r#"
# without spare c101 pair 38
bunched c101 pair 37 .. 38 because "one pair alone is over the loop limit"
spare c101 pair 39 .. 50
"#,
    }),
    check: Check::Office(check),
};

fn check(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {
    let (office, wire) = (inspection.office, &inspection.networks.wire);
    for bunch in office.wired.iter().filter(|wired| wired.state == PairState::Bunched) {
        let Some(range) = NumberRange::of(&bunch.end) else {
            continue;
        };
        let name = office.name(range.thing);
        if range.port.role != Role::Pair {
            let message = format!("only pairs can be bunched, not the `{}` of `{name}`", range.port.word);
            sink.report(range.thing, range.range, message)
                .help("name the pairs of the cable or lead that are joined at both ends");
            continue;
        }
        if range.from == range.to {
            let message = format!("pair {} of `{name}` is bunched, and with no other", range.from);
            sink.report(range.thing, range.range, message)
                .help("name all that are joined, as in `pair 37 .. 38`");
            continue;
        }
        let wired = inspection.allocation().used_within(&range).iter();
        let mut wired = wired.filter_map(|own| wire.find(own.thing, own.port, own.from));
        let (Some(first), Some(second)) = (wired.next(), wired.next()) else {
            continue;
        };
        let other = called(office, wire.terminal(first));
        let message = format!(
            "{} is wired by itself, though it is bunched with {other}",
            called(office, wire.terminal(second))
        );
        let place = place_of(wire, second);
        sink.report(range.thing, place, message)
            .about([circuit(wire, second)])
            .related(office.place(bunch.range), "said to be bunched here")
            .related(
                office.place(place_of(wire, first)),
                format!("{other} is used by {}", run_around(office, place_of(wire, first))),
            )
            .help("a run names one pair of a bunch: take this one off, or shorten the bunch");
    }
}
