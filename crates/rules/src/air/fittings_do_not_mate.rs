use drysheath_engineering::units::Quantity;
use drysheath_office::kinds::{Key, Role};
use drysheath_office::{Adapter, Attributes, Fields, Fitting, FittingType, Link, LinkEnd, inches};
use drysheath_syntax::Fix;
use drysheath_text::{Place, TextRange};

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
    summary: "A fitting does not take the tube, adapter or fitting that is joined to it.",
    explanation: "A compression or push-in fitting takes tube of its own size, which is the outside diameter. A barb takes hose \
                  by its bore. A thread takes a thread of its own size and standard and the other sex, on the other end or on an \
                  adapter at that end of the run. ASME B1.20.1 (`npt`) has flanks of 60\u{b0} and ISO 7-1 (`iso-7`) and ISO 228-1 \
                  (`iso-228`) flanks of 55\u{b0}, mostly with another pitch: they bind after a turn or two and never seal. ISO 7-1 seals on \
                  its flanks and ISO 228-1 on a washer at its face, so that these two fit into each other and leak. A `thread` whose \
                  standard is not known mates with any by size and sex: see thread-standard-unknown. A joint that is forced \
                  together leaks, and may come apart under pressure. Sizes of tube count as the same within a hundredth, so that 8 mm \
                  tube and a 5/16 in fitting mate; threads of 8 mm and 5/16 in do not. Only fittings that are declared are compared, \
                  and one result is given for each run.",
    source: Source::FromMemory("ISO 7-1, ISO 228-1 and ASME B1.20.1; tube and hose are common practice"),
    example: Some(Example {
        failing: r"
regulator r1 {
    set          10 psi
    differential 5 psi
    inlet-max    60 psi
    relief       15 psi
    inlet        1/4 in npt female
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
    inlet        1/4 in npt female
    outlet       3/8 in compression
}
air d1 -> r1 -> f1 -> mf with 3/8 in tube, 1/4 in bore, adapter 1/4 in npt male at r1, 4 m
",
    }),
    check: Check::Office(check),
};

fn check(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {
    // One mistake, such as a tube of the wrong size, affects several joints of a run: only the first is reported.
    let mut reported = None;
    for link in inspection
        .networks
        .air
        .iter()
        .filter(|link| FittedEnd::declared_at(inspection, link) && !link.is_unread(inspection.office))
    {
        if reported != Some(link.run) && judge(inspection, link, sink) {
            reported = Some(link.run);
        }
    }
}

/// A declared fitting at one side of a link.
#[derive(Clone, Copy)]
pub(super) struct FittedEnd {
    pub side: LinkEnd,
    pub fitting: Fitting,
    pub place: Place,
}

impl FittedEnd {
    pub fn at(inspection: &Inspection<'_>, side: LinkEnd) -> Option<Self> {
        let key = match side.port.role {
            Role::Inlet => Key::Inlet,
            Role::Outlet => Key::Outlet,
            _ => return None,
        };
        // An unreadable field may be a fitting that overrides the part's.
        let thing = Some(inspection.office.thing(side.thing)).filter(|thing| !thing.damaged)?;
        let (fitting, place) = thing.fitting(key)?;
        Some(Self { side, fitting, place })
    }

    pub fn declared_at(inspection: &Inspection<'_>, link: &Link) -> bool {
        Self::at(inspection, link.from).is_some() || Self::at(inspection, link.to).is_some()
    }
}

/// The tube piece that ends at a joint, and the adapters that may be there.
struct Led<'o> {
    piece: Attributes,
    adapters: Vec<&'o Adapter>,
    /// Where an adapter could be added.
    end: Option<TextRange>,
}

impl<'o> Led<'o> {
    fn to(inspection: &'o Inspection<'_>, link: &Link, joint: &FittedEnd) -> Self {
        let run = inspection.office.run(link.run);
        let is_near = joint.side.range == link.from.range;
        let mut pieces = run.pieces();
        let piece = if is_near { pieces.next() } else { pieces.next_back() };
        let here = |adapter: &&Adapter| adapter.at.is_none_or(|at| at == joint.side.thing);
        let piece = piece.copied().unwrap_or_default();
        Self {
            piece,
            adapters: run.adapters.iter().filter(here).collect(),
            end: piece.range(),
        }
    }
}

/// Reports the first joint of a link that does not mate. Returns whether one was found.
fn judge(inspection: &Inspection<'_>, link: &Link, sink: &mut Sink<'_>) -> bool {
    let near = FittedEnd::at(inspection, link.from);
    let far = FittedEnd::at(inspection, link.to);
    let has_tube = link.pieces(inspection.office).any(|piece| piece.tube.is_some());
    // Two fittings screwed together need no tube, which then belongs elsewhere in the run; a run with two ends has no
    // other place for it.
    let is_between = has_tube && inspection.office.run(link.run).ends.len() == 2;
    if !is_between
        && near
            .zip(far)
            .is_some_and(|(near, far)| threads_mate(near.fitting, far.fitting))
    {
        return false;
    }
    if let (Some(near), Some(far), false) = (near, far, has_tube) {
        let led = [near, far].map(|joint| Led::to(inspection, link, &joint));
        if pair_mates((near.fitting, &led[0]), (far.fitting, &led[1])) {
            return false;
        }
        let (from, to) = (
            inspection.office.name(near.side.thing),
            inspection.office.name(far.side.thing),
        );
        let message = format!(
            "`{from}` ends in {}, and `{to}` in {}: they do not mate{}",
            near.fitting,
            far.fitting,
            why(near.fitting, far.fitting)
        );
        sink.report(far.side.thing, far.side.range, message)
            .related(near.place, format!("the fitting of `{from}`"))
            .related(far.place, format!("the fitting of `{to}`"))
            .help("choose fittings that mate, or say which tube and adapter join them");
        return true;
    }
    let joints = [near, far].into_iter().flatten();
    let mut led = joints.map(|joint| (joint, Led::to(inspection, link, &joint)));
    let Some((joint, mismatch)) = led.find_map(|(joint, led)| Some((joint, mismatch(inspection, joint, &led)?))) else {
        return false;
    };
    let finding = sink.report(joint.side.thing, joint.side.range, mismatch.message);
    finding.related(joint.place, "the fitting");
    finding.help(if joint.fitting.kind.is_thread() {
        "say which adapter joins tube and thread, as in `adapter 1/4 in npt male at r1`, or correct the fitting"
    } else {
        "run tube of that size to it, or correct the fitting"
    });
    if let Some(fix) = mismatch.fix {
        finding.fix(fix);
    }
    true
}

/// The reason why a fitting does not mate, and a fix.
struct Mismatch {
    message: String,
    fix: Option<Fix>,
}

impl From<String> for Mismatch {
    fn from(message: String) -> Self {
        Self { message, fix: None }
    }
}

/// Checks a fitting against the run's tube or adapter. An unstated tube may have any size.
fn mismatch(inspection: &Inspection<'_>, joint: FittedEnd, led: &Led<'_>) -> Option<Mismatch> {
    let fitting = joint.fitting;
    let name = inspection.office.name(joint.side.thing);
    let what = || format!("the {} of `{name}` is {fitting}", joint.side.port.word);
    let own = led.adapters.iter().find(|adapter| adapter.at.is_some());
    if let Some(own) = own.filter(|_| !fitting.kind.is_thread() && !has_thread(inspection, joint.side)) {
        let message = format!("{}, and its adapter ends in {}", what(), own.fitting.value);
        return Some(message.into());
    }
    if fitting.kind == FittingType::Barb {
        let bore = led.piece.bore.filter(|bore| !same_size(bore.value, fitting.size))?;
        return Some(format!("{} and does not fit hose of {} bore", what(), inches(bore.value)).into());
    }
    if !fitting.kind.is_thread() {
        let tube = led.piece.tube.filter(|tube| !same_size(tube.value, fitting.size))?;
        return Some(format!("{} and does not fit {} tube", what(), inches(tube.value)).into());
    }
    if led
        .adapters
        .iter()
        .any(|adapter| threads_mate(adapter.fitting.value, fitting))
    {
        return None;
    }
    let wanted = Fitting {
        sex: fitting.sex.map(drysheath_office::Sex::other),
        ..fitting
    };
    // An adapter that names no end may belong to another thread of the run.
    if let Some(adapter) = led.adapters.first() {
        let fix = Fix::replace(adapter.fitting.range, wanted.to_string(), format!("Write `{wanted}`"));
        return Some(Mismatch {
            message: format!(
                "{} and does not mate with the adapter, {}{}",
                what(),
                adapter.fitting.value,
                why(adapter.fitting.value, fitting)
            ),
            fix: Some(fix),
        });
    }
    let tube = led.piece.tube?;
    let insert = format!(", adapter {wanted} at {name}");
    let fix = led.end.map(|end| {
        let at = TextRange::empty(end.end);
        Fix::replace(at, insert, format!("Add `adapter {wanted} at {name}`"))
    });
    Some(Mismatch {
        message: format!("{}, and {} tube has no thread", what(), inches(tube.value)),
        fix,
    })
}

/// Whether an adapter at a thing may belong to another of its fittings.
fn has_thread(inspection: &Inspection<'_>, side: LinkEnd) -> bool {
    let thing = inspection.office.thing(side.thing);
    let fittings = [Key::Inlet, Key::Outlet].into_iter();
    let mut fittings = fittings.filter_map(|key| thing.fitting(key));
    fittings.any(|(fitting, _)| fitting.kind.is_thread())
}

/// Whether two fittings mate directly, given adapters and an unstated tube between them.
fn pair_mates((near, to_near): (Fitting, &Led<'_>), (far, to_far): (Fitting, &Led<'_>)) -> bool {
    let adapts = |thread: Fitting, led: &Led<'_>| {
        let mut adapters = led.adapters.iter();
        adapters.any(|adapter| threads_mate(adapter.fitting.value, thread))
    };
    match (near.kind.is_thread(), far.kind.is_thread()) {
        (true, true) => adapts(near, to_near) && adapts(far, to_far),
        (true, false) => adapts(near, to_near),
        (false, true) => adapts(far, to_far),
        // The tube need not be stated if one size fits both. Bore and outside diameter of a hose differ.
        (false, false) => {
            (near.kind == FittingType::Barb) != (far.kind == FittingType::Barb) || same_size(near.size, far.size)
        }
    }
}

/// Whether two threads mate, by size, sex and standard. An unknown standard matches any.
pub(super) fn threads_mate(one: Fitting, other: Fitting) -> bool {
    let are_threads = one.kind.is_thread() && other.kind.is_thread();
    are_threads && one.sex != other.sex && same(one.size.si(), other.size.si()) && !are_of_two_standards(one, other)
}

/// Whether two threads are known to have different standards.
fn are_of_two_standards(one: Fitting, other: Fitting) -> bool {
    let is_known = |fitting: Fitting| fitting.kind.is_thread() && fitting.kind != FittingType::Thread;
    is_known(one) && is_known(other) && one.kind != other.kind
}

/// The reason why two threads of different standards must not be screwed together. Empty for other pairs.
fn why(one: Fitting, other: Fitting) -> &'static str {
    if !are_of_two_standards(one, other) {
        return "";
    }
    if one.kind == FittingType::Npt || other.kind == FittingType::Npt {
        "; threads by ASME B1.20.1 have flanks of 60\u{b0} and those of ISO 55\u{b0}, so that they never seal"
    } else {
        "; ISO 7-1 seals on the flanks of the thread and ISO 228-1 on a washer, so that the two leak"
    }
}

/// Whether a tube of one nominal size seals in a fitting of another.
fn same_size(one: Quantity, other: Quantity) -> bool {
    const SIZE_TOLERANCE: f64 = 0.01;
    let (one, other) = (one.si(), other.si());
    (one - other).abs() <= SIZE_TOLERANCE * one.max(other)
}
