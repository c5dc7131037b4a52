use drysheath_office::{Fitting, FittingType};

use super::fittings_do_not_mate::{FittedEnd, threads_mate};
use crate::finding::Sink;
use crate::lint::Inspection;
use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};

pub(crate) static RULE: Rule = Rule {
    id: RuleId::ThreadStandardUnknown,
    level: Level::Note,
    while_planned: None,
    yields_to: &[],
    family: Family::Air,
    summary: "Two threads are joined, and the standard of one is not stated.",
    explanation: "A `thread` fits another by size and sex as far as this record knows. Threads of one size by ASME B1.20.1 (`npt`), \
                  ISO 7-1 (`iso-7`) and ISO 228-1 (`iso-228`) look alike and do not seal in one another. Whoever has the joint apart \
                  writes down which it is: a gauge for the pitch tells 18 threads an inch from 19, and a washer at the face is \
                  the sign of ISO 228-1. One result is given for each run.",
    source: Source::FromMemory("ISO 7-1, ISO 228-1 and ASME B1.20.1"),
    example: Some(Example {
        failing: r"
pressure-sensor p1 {
    span   0 .. 15 psi
    step   0.1 psi
    error  0.2 psi
    normal 10 psi
    proof  30 psi
    limit  low 8 psi major deadband 0.3 psi
    inlet  1/4 in npt male
}
air mf port 2 -> p1 with 1/4 in tube, 0.17 in bore, 0.5 m, adapter 1/4 in thread female at p1
#                                                          ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^
",
        passing: r"
pressure-sensor p1 {
    span   0 .. 15 psi
    step   0.1 psi
    error  0.2 psi
    normal 10 psi
    proof  30 psi
    limit  low 8 psi major deadband 0.3 psi
    inlet  1/4 in npt male
}
air mf port 2 -> p1 with 1/4 in tube, 0.17 in bore, 0.5 m, adapter 1/4 in npt female at p1
",
    }),
    check: Check::Office(check),
};

fn check(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {
    let office = inspection.office;
    let mut reported = None;
    for link in inspection.networks.air.iter() {
        if reported == Some(link.run) || !FittedEnd::declared_at(inspection, link) || link.is_unread(office) {
            continue;
        }
        let joints = [link.from, link.to].map(|side| FittedEnd::at(inspection, side));
        let [near, far] = joints;
        let screwed = near
            .zip(far)
            .filter(|(near, far)| mates_unknown(near.fitting, far.fitting));
        if let Some((near, far)) = screwed {
            reported = Some(link.run);
            let (one, other) = (office.name(near.side.thing), office.name(far.side.thing));
            let message = format!(
                "`{one}` ends in {}, and `{other}` in {}: whether they seal depends on the standard of their threads",
                near.fitting, far.fitting
            );
            sink.report(far.side.thing, far.side.range, message)
                .related(near.place, format!("the fitting of `{one}`"))
                .related(far.place, format!("the fitting of `{other}`"))
                .help("write `npt`, `iso-7` or `iso-228` in the place of `thread`");
            continue;
        }
        for joint in joints.into_iter().flatten() {
            let adapters = office.run(link.run).adapters.iter();
            let mut here = adapters.filter(|adapter| adapter.at.is_none_or(|at| at == joint.side.thing));
            let Some(adapter) = here.find(|adapter| mates_unknown(adapter.fitting.value, joint.fitting)) else {
                continue;
            };
            reported = Some(link.run);
            let name = office.name(joint.side.thing);
            let message = format!(
                "the {} of `{name}` is {}, and the adapter {}: whether they seal depends on the standard of their threads",
                joint.side.port.word, joint.fitting, adapter.fitting.value
            );
            sink.report(joint.side.thing, adapter.range, message)
                .related(joint.place, "the fitting")
                .help("write `npt`, `iso-7` or `iso-228` in the place of `thread`");
            break;
        }
    }
}

/// Whether two threads mate as far as known, but the standard of one is unknown.
fn mates_unknown(one: Fitting, other: Fitting) -> bool {
    let is_unknown = |fitting: Fitting| fitting.kind == FittingType::Thread;
    (is_unknown(one) || is_unknown(other)) && threads_mate(one, other)
}
