use drysheath_engineering::air::Regime;
use drysheath_engineering::measure::Flow;
use drysheath_engineering::network::LinkState;
use drysheath_engineering::units::Quantity;
use drysheath_office::kinds::Key;
use drysheath_office::{Fields, Link, Networks};
use drysheath_prediction::{Air, Route};

use crate::figures::{report_said, shown_flow};
use crate::finding::{Finding, Sink};
use crate::lint::Inspection;
use crate::precedence::Scope;
use crate::registry::RuleId;
use crate::reliability::air_system;
use crate::rule::{Check, Example, Family, Level, Rule, Source};

pub(crate) static RULE: Rule = Rule {
    id: RuleId::FlowNotLaminar,
    level: Level::Note,
    while_planned: None,
    yields_to: &[(
        Scope::AirSystem,
        &[RuleId::DryerCapacityShort, RuleId::UsageBeyondLines],
    )],
    family: Family::Air,
    summary: "So much air passes through a tube or pipe that its flow is turbulent, or may be.",
    explanation: "Up to a Reynolds number of 2000 air slides through a bore in layers, and the arithmetic with a pneumatic \
                  resistance holds. From 4000 on the flow is turbulent: it loses more pressure, here computed with a friction law, \
                  and figures from laminar tables are wrong by half and more. Between the two nobody can say, and the \
                  true drop lies between the laminar and the turbulent one. A bigger bore ends the doubt and most of the drop; \
                  where the run is short and the drop does not matter, accept the note. It is given once for a run or pipe, \
                  and not where the dryers are reported for too much air.",
    source: Source::Derived("Reynolds number of a round bore; 2000 and 4000 are common practice"),
    example: Some(Example {
        failing: r"
air mf port 1 -> c101 with 1/8 in tube, 0.09 in bore, 0.3 m
#                                       ^^^^^^^^^^^^
",
        passing: r"
air mf port 1 -> c101 with 1/8 in tube, 0.1 in bore, 0.3 m
",
    }),
    check: Check::Office(check),
};

fn check(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {
    let air = &inspection.prediction.air;
    let mut reported = None;
    for (link, state) in runs(inspection.networks, air) {
        let Some(found) = state.and_then(|state| Restless::of(&state)) else {
            continue;
        };
        let Some(bore) = link.with.bore.filter(|_| reported != Some(link.run)) else {
            continue;
        };
        reported = Some(link.run);
        let message = found.message(inspection, "this tube", bore.value);
        help(sink.report(link.to.thing, bore.range, message)).about(air_system(inspection, link.to.thing));
    }
    for line in air.routes() {
        let states = air.segments(line).filter_map(|(.., state)| state);
        let found = states.filter_map(|state| Restless::of(&state));
        if let Some(found) = found.max_by(|one, other| one.reynolds.total_cmp(&other.reynolds)) {
            of_pipe(inspection, line, &found, sink);
        }
    }
}

/// The air links with their states.
fn runs<'i>(networks: &'i Networks, air: &'i Air) -> impl Iterator<Item = (&'i Link, Option<LinkState>)> {
    networks.air.iter().zip(air.runs())
}

fn of_pipe(inspection: &Inspection<'_>, line: &Route, found: &Restless, sink: &mut Sink<'_>) {
    let office = inspection.office;
    let Some((bore, place)) = office.thing(line.thing).quantity(Key::Bore) else {
        return;
    };
    let what = format!("`{}`", office.name(line.thing));
    let message = found.message(inspection, &what, bore);
    help(report_said(sink, office, line.thing, place, message)).about(air_system(inspection, line.thing));
}

fn help(finding: &mut Finding) -> &mut Finding {
    finding.help("choose a bigger bore, or accept it where the drop does not matter")
}

/// A flow that is not laminar.
struct Restless {
    reynolds: f64,
    regime: Regime,
    state: LinkState,
}

impl Restless {
    fn of(state: &LinkState) -> Option<Self> {
        let regime = state.regime.filter(|regime| *regime != Regime::Laminar)?;
        Some(Self {
            reynolds: state.reynolds?,
            regime,
            state: *state,
        })
    }

    fn message(&self, inspection: &Inspection<'_>, what: &str, bore: Quantity) -> String {
        let [start, end] = [self.state.inflow, self.state.outflow].map(|flow| flow.cubic_metres_per_second().abs());
        let most = Flow::from_cubic_metres_per_second(start.max(end));
        let flow = shown_flow(inspection.office, most);
        let follows = match self.regime {
            Regime::Turbulent => "above 4000 the flow is turbulent, and laminar arithmetic would find too small a drop",
            _ => "between 2000 and 4000 the flow may be laminar or turbulent, and the true drop lies between the two",
        };
        format!(
            "{flow} pass through {what} of {bore} bore, a Reynolds number of {:.0}: {follows}",
            self.reynolds
        )
    }
}
