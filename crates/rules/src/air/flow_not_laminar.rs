use drysheath_engineering::air::Regime;
use drysheath_engineering::measure::Flow;
use drysheath_engineering::network::LinkState;
use drysheath_engineering::units::{Dimension, Quantity};
use drysheath_office::Fields;
use drysheath_office::kinds::Key;
use drysheath_prediction::Line;

use crate::figures::{below, report_said, shown_flow};
use crate::finding::{Finding, Sink};
use crate::lint::Inspection;
use crate::precedence::Scope;
use crate::registry::RuleId;
use crate::reliability::air_system;
use crate::rule::{Check, Example, Family, Level, Rule, Source};
use crate::spans::readings;

pub(crate) static RULE: Rule = Rule {
    id: RuleId::FlowNotLaminar,
    level: Level::Note,
    while_planned: None,
    yields_to: &[(
        Scope::AirSystem,
        &[
            RuleId::DryerCapacityShort,
            RuleId::DryerMarginShort,
            RuleId::UsageBeyondLines,
        ],
    )],
    family: Family::Air,
    summary: "The flow in a tube or pipe is turbulent, or may be, and that moves a pressure that a sensor reads.",
    explanation: "Up to a Reynolds number of 2000 the flow in a bore is laminar, and the arithmetic with a pneumatic resistance \
                  holds. Above 4000 it is turbulent and loses more pressure, which is computed here with a friction law; \
                  figures from laminar tables are wrong by half and more. Between the two the flow may be either, and the \
                  true drop lies between the laminar and the turbulent one. The note is given only where that makes more \
                  difference than the office's finest pressure sensor can tell: its error and half its step. A bigger bore \
                  settles it. One result is given for a run or pipe.",
    source: Source::Derived("Reynolds number of a round bore; 2000 and 4000 are common practice"),
    example: Some(Example {
        failing: r"
air mf port 1 -> c101 with 1/8 in tube, 0.09 in bore, 3.3 m
#                                       ^^^^^^^^^^^^
",
        passing: r"
air mf port 1 -> c101 with 1/8 in tube, 0.09 in bore, 2 m
",
    }),
    check: Check::Office(check),
};

fn check(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {
    let air = &inspection.prediction.air;
    // Links of one run are adjacent, and so are pieces of a link.
    let pieces = inspection.networks.air.pieces(inspection.office);
    let pieces: Vec<_> = pieces.zip(air.runs()).collect();
    for run in pieces.chunk_by(|((one, _), _), ((other, _), _)| one.run == other.run) {
        let states = run.iter().filter_map(|(piece, state)| Some((piece, (*state)?)));
        let Some(((link, piece), found)) = NonLaminarFlow::of_all(states) else {
            continue;
        };
        let Some(bore) = piece.bore.filter(|_| found.matters(inspection)) else {
            continue;
        };
        let message = found.message(inspection, "this tube", bore.value);
        help(sink.report(link.to.thing, bore.range, message)).about(air_system(inspection, link.to.thing));
    }
    for line in air.lines() {
        let states = air.segments(line).filter_map(|(.., state)| Some(((), state?)));
        if let Some(((), found)) = NonLaminarFlow::of_all(states).filter(|((), found)| found.matters(inspection)) {
            of_pipe(inspection, line, &found, sink);
        }
    }
}

fn of_pipe(inspection: &Inspection<'_>, line: &Line, found: &NonLaminarFlow, sink: &mut Sink<'_>) {
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

/// A flow that is not laminar: the state where it is fastest, and its effect on the pressure drop.
struct NonLaminarFlow {
    reynolds: f64,
    regime: Regime,
    state: LinkState,
    /// Difference in pressure drop from laminar flow, Pa.
    worth: f64,
}

impl NonLaminarFlow {
    /// Sums the effect over the links of a run or pipe that are not laminar, and keeps the link where the flow is
    /// fastest.
    fn of_all<T>(states: impl Iterator<Item = (T, LinkState)>) -> Option<(T, Self)> {
        let found = states.filter_map(|(link, state)| Some((link, Self::of(&state)?)));
        found.reduce(|(link, one), (other_link, other)| {
            let worth = one.worth + other.worth;
            if one.reynolds < other.reynolds {
                (other_link, Self { worth, ..other })
            } else {
                (link, Self { worth, ..one })
            }
        })
    }

    fn of(state: &LinkState) -> Option<Self> {
        // At a Reynolds number of 2000 turbulent flow loses 1.5 times as much as laminar flow, at 4000 2.5 times: where either
        // may be, up to this part of the drop is in doubt.
        const IN_DOUBT: f64 = 0.6;
        let regime = state.regime.filter(|regime| *regime != Regime::Laminar)?;
        let (reynolds, friction) = (state.reynolds?, state.friction?);
        let laminar = 64.0 / reynolds / friction;
        Some(Self {
            reynolds,
            regime,
            state: *state,
            worth: state.drop.pascals().abs() * (1.0 - laminar).max(IN_DOUBT),
        })
    }

    /// Whether the difference exceeds the tolerance of the office's finest pressure sensor.
    fn matters(&self, inspection: &Inspection<'_>) -> bool {
        // Threshold for an office without pressure sensors, 0.1 psi in Pa.
        const FINE: f64 = 690.0;
        let pressures = readings(inspection).filter(|reading| reading.dimension == Dimension::Pressure);
        let tolerances = pressures.filter_map(|reading| reading.tolerance());
        let finest = tolerances.map(|(tolerance, _)| tolerance).min_by(f64::total_cmp);
        below(finest.unwrap_or(FINE), self.worth)
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
            "{flow} passes through {what} of {bore} bore, a Reynolds number of {:.0}: {follows}",
            self.reynolds
        )
    }
}
