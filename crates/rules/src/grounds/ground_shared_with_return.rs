use drysheath_office::kinds::{Key, KindId, Role};
use drysheath_office::{Fields, Link, LinkEnd, Office, Run};
use drysheath_syntax::Medium;

use super::ends::sides;
use crate::finding::Sink;
use crate::lint::Inspection;
use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};
use crate::runs::whole_runs;

pub(crate) static RULE: Rule = Rule {
    id: RuleId::GroundSharedWithReturn,
    level: Level::Error,
    while_planned: None,
    yields_to: &[],
    family: Family::Grounds,
    summary: "A frame ground and a battery return share a conductor, or meet away from the office's own point.",
    explanation: "The return carries battery current all day; a frame ground carries none until something fails. On one conductor, or on \
                  a bar in the bays, the load's current flows over frames and grounds: they take voltage, corrode and make noise on \
                  the pairs. In an office with an isolated return, which is common practice and what this rule holds to, return and \
                  frame ground meet at one point only, the battery's return on the principal ground bar. In one with a common return \
                  (ETSI EN 300 253 knows both) they meet in many places on purpose: switch the rule off there. Battery plant can give \
                  thousands of amperes into a short circuit: this is work for qualified people with insulated tools and no jewellery, \
                  and local code governs.",
    source: Source::FromMemory("ETSI EN 300 253 and ATIS-0600333, isolated return"),
    example: Some(Example {
        failing: r"
ground m1 frame -> main return with 6 awg, 3 m
#                  ^^^^^^^^^^^
",
        passing: r"
ground main return -> ogb with 6 awg, 3 m
",
    }),
    check: Check::Office(check),
};

fn check(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {
    let office = inspection.office;
    for run in whole_runs(office, Medium::Ground) {
        shared(office, run, sink);
    }
    for link in inspection.networks.ground.iter() {
        if let Some((back, bar)) = sides(link, Role::Return, Role::Bar)
            && !is_shared(office, link)
        {
            meets(office, back, bar, sink);
        }
    }
}

/// Reports a run that joins both a frame and a return.
fn shared(office: &Office, run: &Run, sink: &mut Sink<'_>) {
    let end = |role: Role| run.ends.iter().find(move |end| end_role(office, end) == Some(role));
    let (Some(frame), Some(back)) = (end(Role::Frame), end(Role::Return)) else {
        return;
    };
    let (Some(chassis), Some(source)) = (frame.thing, back.thing) else {
        return;
    };
    let (name, other) = (office.name(chassis), office.name(source));
    let message = format!("the frame ground of `{name}` shares its conductor with the battery return of `{other}`");
    sink.report(chassis, back.range, message).help(format!(
        "take the frame of `{name}` to a ground bar by a conductor of its own, and leave the return out of it"
    ));
}

fn end_role(office: &Office, end: &drysheath_office::End) -> Option<Role> {
    match end.port {
        Some(port) => Some(port.role),
        None => office
            .thing(end.thing?)
            .kind?
            .ports_in(Medium::Ground)
            .next()
            .map(|port| port.role),
    }
}

fn is_shared(office: &Office, link: &Link) -> bool {
    let mut ends = office.run(link.run).ends.iter();
    ends.any(|end| end_role(office, end) == Some(Role::Frame))
}

/// Reports a return on a bar other than the single point where return and ground meet.
fn meets(office: &Office, back: LinkEnd, bar: LinkEnd, sink: &mut Sink<'_>) {
    let (thing, other) = (office.thing(back.thing), office.thing(bar.thing));
    let (name, bar_name) = (office.name(back.thing), office.name(bar.thing));
    if !thing.is(KindId::Battery) {
        let message = format!(
            "the battery return of `{name}` ends on the ground bar `{bar_name}`, which then carries its current"
        );
        sink.report(back.thing, back.range, message).help(format!(
            "bring the return back to the battery with its feed; for the frame ground write `{name} frame`"
        ));
        return;
    }
    let principal = office
        .of_kind(KindId::GroundBar)
        .find(|(_, bar)| bar.yes_no(Key::Principal) == Some(true));
    if let Some((first, _)) = principal.filter(|_| !other.damaged && other.yes_no(Key::Principal) != Some(true)) {
        let first = office.name(first);
        let message = format!(
            "the return of `{name}` meets the grounds at `{bar_name}`, which is not the office's principal bar"
        );
        sink.report(back.thing, bar.range, message).help(format!(
            "end it on `{first}`: return and frame ground meet at one point only"
        ));
    }
}
