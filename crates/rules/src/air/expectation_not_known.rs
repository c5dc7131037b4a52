use drysheath_office::Expectation;
use drysheath_prediction::{Doubt, ExpectationOutcome, StateError, line_name};

use super::expectation_unmet::{events, said, states, unread_elsewhere};
use crate::finding::Sink;
use crate::lint::Inspection;
use crate::listed::listed;
use crate::precedence::{Scope, Subject};
use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};

pub(crate) static RULE: Rule = Rule {
    id: RuleId::ExpectationNotKnown,
    level: Level::Warning,
    while_planned: None,
    // The field that is missing may be what it needs.
    yields_to: &[(Scope::Office, &[RuleId::FieldMissing])],
    family: Family::Air,
    summary: "Whether something holds in a state that a `when` describes cannot be computed.",
    explanation: "An expectation that nothing is held against passes every change of the office. A state is computed only where the \
                  normal one is: every section says its usage and resistance, and its normal pressure is above that of the \
                  surrounding air, since the leakage in another state follows from it. `above minimum` needs a declared least \
                  pressure. Where a source cannot give what the sections use, the pressures to start from are not known. \
                  `for` and `within` need the `volume` of the sections that are joined there. \
                  The outlet of a regulator that lacks pressure is somewhere between its supply less its differential and its set pressure, and the \
                  relief of one that opens may let off any part of its air: what holds at only one end of that range is not known. Nor is what \
                  could fail because air flows back into a source that has stopped. \
                  Where something of the air cannot be read, nothing is judged: in the office's own file that is reported where it is, in the file of \
                  an assembly, a route or a part it is said here.",
    source: Source::Derived("what the air network can be computed from"),
    example: Some(Example {
        failing: r"
# without spare mf port 3
air-pipe ap1        { length 200 m, bore 0.5 in, rating 60 psi }
air mf port 3       -> ap1 with 3/8 in tube, 1/4 in bore, 3 m
spare mf port 4
when r1 has set 9.8 psi             expect ap1 above minimum
#                                          ^^^^^^^^^^^^^^^^^
",
        passing: r"
# without spare mf port 3
air-pipe ap1        { length 200 m, bore 0.5 in, rating 60 psi, minimum 5 psi }
air mf port 3       -> ap1 with 3/8 in tube, 1/4 in bore, 3 m
spare mf port 4
when r1 has set 9.8 psi             expect ap1 above minimum
",
    }),
    check: Check::Office(check),
};

fn check(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {
    let office = inspection.office;
    unread_in_another_file(inspection, sink);
    for (when, state, outcomes) in states(inspection) {
        let Some(first) = when.events.first() else { continue };
        let happens = said(office, when);
        match state {
            Ok(_) => {}
            // Unreadable text is reported where it is.
            Err(StateError::Missing(missing)) if missing.is_empty() => continue,
            Err(why) => {
                let reason = why.reason(office);
                sink.report(
                    first.thing,
                    first.range,
                    format!("what holds when {happens} is not checked: {reason}"),
                )
                .about([Subject::Office])
                .help(help(why));
                continue;
            }
        }
        // Several that lack the same are one result, at the first of them.
        let mut lacking: Vec<(String, &str, Vec<&Expectation>)> = Vec::new();
        for (expected, found) in when.expected.iter().zip(outcomes) {
            let (why, help) = match found {
                ExpectationOutcome::NotKnown => (
                    "a pressure or flow that this needs is not known in that state".to_owned(),
                    "see `drysheath predict` for what is known in that state",
                ),
                ExpectationOutcome::Doubtful(doubt) => (doubt.reason(office), help_in_doubt(*doubt)),
                ExpectationOutcome::NoTransient(why) => (why.reason(office), help(why)),
                ExpectationOutcome::NoMinimum(line, section) => (
                    match line.section(office, section).filter(|_| section.surroundings.is_some()) {
                        Some((name, _)) => format!(
                            "no least pressure is declared for section `{name}` of {}",
                            line_name(office, line)
                        ),
                        None => format!("no least pressure is declared for {}", line_name(office, line)),
                    },
                    "declare it with `minimum` or `air-minimum`, or write `above` and a pressure",
                ),
                _ => continue,
            };
            match lacking.iter_mut().find(|(other, ..)| *other == why) {
                Some((.., all)) => all.push(expected),
                None => lacking.push((why, help, vec![expected])),
            }
        }
        for (why, help, all) in lacking {
            let Some(first_of_them) = all.first() else { continue };
            let whats = all
                .iter()
                .map(|expected| format!("`{}`", expected.range.of(&office.text)));
            let whats: Vec<String> = whats.collect();
            let hold = if all.len() == 1 { "holds" } else { "hold" };
            sink.report(
                first.thing,
                first_of_them.range,
                format!("whether {} {hold} when {happens} is not checked: {why}", listed(&whats)),
            )
            .about([Subject::Office])
            .help(help);
        }
    }
}

/// Reports once that nothing expected is checked because of another file. What cannot be read in the office's own file is reported there.
fn unread_in_another_file(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {
    let office = inspection.office;
    let Some((unread, place)) = unread_elsewhere(office) else {
        return;
    };
    let whens = office.whens.iter().filter(|when| office.is_own(when.range));
    let known = whens.filter_map(|when| {
        let first = when.events.first()?;
        Some((first.thing, first.range, events(when)))
    });
    let lost = office.unread_whens.iter().filter(|when| !when.is_reported);
    let lost = lost.filter_map(|when| Some((office.itself?, when.events, when.events)));
    let mut all: Vec<_> = known.chain(lost).collect();
    all.sort_by_key(|(_, range, _)| range.start);
    let Some((on, range, events)) = all.first().copied() else {
        return;
    };
    let others = match all.len() - 1 {
        0 => String::new(),
        1 => " and in another state".to_owned(),
        others => format!(" and in {others} other states"),
    };
    let message = format!(
        "what holds when {}{others} is not checked: something of {unread} cannot be read",
        events.of(&office.text)
    );
    let finding = sink.report(on, range, message);
    finding.related(office.place(place), "it is part of this office here");
    finding.help("correct what is reported in that file");
}

/// Advice for an expectation that holds only in a part of what its state may be.
fn help_in_doubt(doubt: Doubt) -> &'static str {
    match doubt {
        Doubt::LacksPressure(_) => {
            "provide a source with more pressure, expect less, or state a smaller `differential` if the data sheet has one"
        }
        Doubt::Overfed(_) => "choose a regulator with a greater `flow-max`, or expect less of what is behind it",
        Doubt::Relieves(_) => "expect only what holds with and without the relief",
        Doubt::FlowsBack(_) => "draw the check valve that keeps it in",
    }
}

/// Advice for an expectation that cannot be evaluated.
fn help(why: &StateError) -> &'static str {
    match why {
        StateError::Missing(missing) if missing.is_empty() => "see `drysheath predict` for what is known in that state",
        StateError::Missing(_) => "state it",
        StateError::NormalUnknown(_) => "expect something of a state in which no air reaches it",
        StateError::NormalOverdrawn(_) => "repair leaks, or provide a source with enough capacity",
        StateError::Shared => "correct what is reported in that office",
        StateError::ManyRegulators => "expect something of the settled state",
        StateError::Unsettled => "nothing in the file need be wrong: work this state out by hand",
    }
}
