use drysheath_engineering::units::Quantity;
use drysheath_office::kinds::{Key, Role};
use drysheath_office::{Attributes, Fields, Fitting, FittingType, Link, Side, inches};
use drysheath_text::Place;

use crate::figures::same;
use crate::finding::Sink;
use crate::lint::Inspection;
use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};

pub(crate) static RULE: Rule = Rule {
    id: RuleId::FittingsDoNotMate,
    level: Level::Error,
    while_planned: None,
    yields_to: &[],
    family: Family::Air,
    summary: "A fitting does not take the tube, adapter or fitting that is led to it.",
    explanation: "A compression or push-in fitting takes tube of its own size, which is the outside diameter. A barb takes hose \
                  by its bore. A thread takes a thread of its own size and the other sex, on the other end or on an adapter of \
                  the run. A joint that is forced together leaks, and may come apart under pressure. Sizes of tube count as \
                  the same within a hundredth, so that 8 mm tube and a 5/16 in fitting mate; threads of 8 mm and 5/16 in do \
                  not. Only fittings that are declared are compared, and one result is given for each run.",
    source: Source::CommonPractice,
    example: Some(Example {
        failing: r"
regulator r1 {
    set          10 psi
    differential 5 psi
    inlet-max    60 psi
    relief       15 psi
    inlet        1/4 in thread female
    outlet       3/8 in compression
}
air d1 -> r1 -> f1 -> mf with 3/8 in tube, 1/4 in bore, 4 m
#         ^^
",
        passing: r"
regulator r1 {
    set          10 psi
    differential 5 psi
    inlet-max    60 psi
    relief       15 psi
    inlet        1/4 in thread female
    outlet       3/8 in compression
}
air d1 -> r1 -> f1 -> mf with 3/8 in tube, 1/4 in bore, adapter 1/4 in thread male, 4 m
",
    }),
    check: Check::Office(check),
};

fn check(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {
    // One slip, such as a tube of the wrong size, affects several joints of a run: only the first is reported.
    let mut reported = None;
    for link in inspection
        .networks
        .air
        .iter()
        .filter(|link| !link.with.damaged && Joint::declared_at(inspection, link))
    {
        if reported != Some(link.run) && judge(inspection, link, sink) {
            reported = Some(link.run);
        }
    }
}

/// A declared fitting at one side of a link.
#[derive(Clone, Copy)]
struct Joint {
    side: Side,
    fitting: Fitting,
    place: Place,
}

impl Joint {
    fn at(inspection: &Inspection<'_>, side: Side) -> Option<Self> {
        let key = match side.port.role {
            Role::Inlet => Key::Inlet,
            Role::Outlet => Key::Outlet,
            _ => return None,
        };
        // A field that could not be read may have been a fitting that replaces the part's.
        let thing = Some(inspection.office.thing(side.thing)).filter(|thing| !thing.damaged)?;
        let (fitting, place) = thing.fitting(key)?;
        Some(Self { side, fitting, place })
    }

    fn declared_at(inspection: &Inspection<'_>, link: &Link) -> bool {
        Self::at(inspection, link.from).is_some() || Self::at(inspection, link.to).is_some()
    }
}

/// Reports the first joint of a link that does not mate. Returns whether there was one.
fn judge(inspection: &Inspection<'_>, link: &Link, sink: &mut Sink<'_>) -> bool {
    let near = Joint::at(inspection, link.from);
    let far = Joint::at(inspection, link.to);
    // Two that are screwed together need no tube: it is elsewhere in the run.
    if near
        .zip(far)
        .is_some_and(|(near, far)| threads_mate(near.fitting, far.fitting))
    {
        return false;
    }
    if let (Some(near), Some(far), None) = (near, far, link.with.tube) {
        if pair_mates(near.fitting, far.fitting, &link.with) {
            return false;
        }
        let (from, to) = (
            inspection.office.name(near.side.thing),
            inspection.office.name(far.side.thing),
        );
        let message = format!(
            "`{from}` ends in {}, and `{to}` in {}: they do not mate",
            near.fitting, far.fitting
        );
        sink.report(far.side.thing, far.side.range, message)
            .related(near.place, format!("the fitting of `{from}`"))
            .related(far.place, format!("the fitting of `{to}`"))
            .help("choose fittings that mate, or say which tube and adapter join them");
        return true;
    }
    let mut joints = [near, far].into_iter().flatten();
    let Some((joint, message)) = joints.find_map(|joint| Some((joint, mismatch(inspection, joint, &link.with)?)))
    else {
        return false;
    };
    let finding = sink.report(joint.side.thing, joint.side.range, message);
    finding.related(joint.place, "the fitting");
    finding.help(match joint.fitting.kind {
        FittingType::Thread => {
            "say which adapter joins tube and thread, as in `adapter 1/4 in thread male`, or correct the fitting"
        }
        _ => "lead a tube of that size to it, or correct the fitting",
    });
    true
}

/// Why a fitting does not mate with the run's tube or adapter. A tube that is not stated may be of any size.
fn mismatch(inspection: &Inspection<'_>, joint: Joint, with: &Attributes) -> Option<String> {
    let fitting = joint.fitting;
    let what = || {
        format!(
            "the {} of `{}` is {fitting}",
            joint.side.port.word,
            inspection.office.name(joint.side.thing)
        )
    };
    if fitting.kind == FittingType::Barb {
        let bore = with.bore.filter(|bore| !same_size(bore.value, fitting.size))?;
        return Some(format!("{} and takes no hose of {} bore", what(), inches(bore.value)));
    }
    if fitting.kind != FittingType::Thread {
        let tube = with.tube.filter(|tube| !same_size(tube.value, fitting.size))?;
        return Some(format!("{} and takes no {} tube", what(), inches(tube.value)));
    }
    match (with.adapter, with.tube) {
        (Some(adapter), _) if threads_mate(adapter.value, fitting) => None,
        (Some(adapter), _) => Some(format!(
            "{} and does not mate with the adapter, {}",
            what(),
            adapter.value
        )),
        (None, Some(tube)) => Some(format!("{}, and {} tube has no thread", what(), inches(tube.value))),
        (None, None) => None,
    }
}

/// Whether two fittings mate, with nothing between but an adapter and a tube that is not stated.
fn pair_mates(near: Fitting, far: Fitting, with: &Attributes) -> bool {
    let adapts = |thread| with.adapter.is_some_and(|adapter| threads_mate(adapter.value, thread));
    match (near.kind == FittingType::Thread, far.kind == FittingType::Thread) {
        (true, true) => adapts(near) && adapts(far),
        (true, false) => adapts(near),
        (false, true) => adapts(far),
        // The tube need not be stated if one tube fits both. The bore of a hose and its outside differ.
        (false, false) => {
            (near.kind == FittingType::Barb) != (far.kind == FittingType::Barb) || same_size(near.size, far.size)
        }
    }
}

fn threads_mate(one: Fitting, other: Fitting) -> bool {
    let are_threads = one.kind == FittingType::Thread && other.kind == FittingType::Thread;
    are_threads && one.sex != other.sex && same(one.size.si(), other.size.si())
}

/// Whether a tube seals in a fitting of a nominal size.
fn same_size(one: Quantity, other: Quantity) -> bool {
    const LEEWAY: f64 = 0.01;
    let (one, other) = (one.si(), other.si());
    (one - other).abs() <= LEEWAY * one.max(other)
}
