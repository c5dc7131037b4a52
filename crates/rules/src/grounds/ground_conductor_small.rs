use std::cmp::Ordering;

use drysheath_engineering::measure::{ConductorArea, Current, Length};
use drysheath_engineering::protection::{
    bonding_by_length, equipment_ground, equipment_ground_behind, least_equipment_ground, least_system_ground,
};
use drysheath_engineering::trade_size::trade_size;
use drysheath_engineering::units::{Quantity, Scale};
use drysheath_office::kinds::{Key, KindId, Role};
use drysheath_office::{Fields, Link, LinkEnd, Office, Spanned, ThingId, with_article};
use drysheath_text::Place;

use super::ends::sides;
use crate::coverage::MissingFigure;
use crate::finding::Sink;
use crate::lint::Inspection;
use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};

/// Relative tolerance of sizes: 13.3 mm² counts as 6 AWG.
const SIZE_TOLERANCE: f64 = 0.01;

/// Significant digits of a sum of lengths.
const TOTAL_DIGITS: i32 = 4;

pub(crate) static RULE: Rule = Rule {
    id: RuleId::GroundConductorSmall,
    level: Level::Error,
    while_planned: None,
    yields_to: &[],
    family: Family::Grounds,
    summary: "A ground conductor is smaller than required.",
    explanation: "A ground conductor has to carry a fault's current until the fuse opens; one that is too small burns off first, \
                  and the frame stays live. What a chassis' maker requires, its `ground-size`, comes first. Otherwise the fuse \
                  that feeds the chassis decides, by NEC Table 250.122; with a feed that is thicker than its fuse needs the ground \
                  grows in proportion (250.122(B)), and it need never be thicker than the feed. Where no fuse is known, as of a \
                  dryer on the mains, 14 AWG is the least of that table. A bond between ground bars grows with its length, 2 kcmil \
                  for each foot and at least 6 AWG, by TIA-607. The battery's return is tied to the grounding by 8 AWG at least \
                  (NEC 250.166). The NEC does not cover installations under the exclusive control of a communications utility \
                  (90.2): this is advice there, and local code and licensed practice govern.",
    source: Source::FromMemory("NEC Table 250.122, 250.122(A) and (B), 250.166; TIA-607"),
    example: Some(Example {
        failing: r"
ground m1 frame -> ogb with 8 awg, 3 m
#                           ^^^^^
",
        passing: r"
ground m1 frame -> ogb with 13.3 mm2, 3 m
",
    }),
    check: Check::Office(check),
};

/// A required size, and the reason.
#[derive(Clone, Copy)]
struct RequiredSize {
    size: ConductorArea,
    by: Asker,
}

#[derive(Clone, Copy)]
enum Asker {
    /// The maker of the chassis states it.
    Maker { said: Place },
    /// The fuse that feeds the chassis, and the feed behind it.
    Fuse { rating: Spanned<Quantity>, because: FedBy },
    /// No fuse is known: the smallest size that is ever permitted.
    Nobody,
    /// The return conductor of a battery.
    Return,
    /// The length of the bond, if known.
    Bond { length: Option<Quantity> },
}

/// How fuse and feed of a chassis determine the size.
#[derive(Clone, Copy, PartialEq)]
enum FedBy {
    /// Sized by the fuse alone.
    Fuse,
    /// A feed thinner than the table's size: the ground may be as thin.
    ThinFeed,
    /// A feed thicker than its fuse requires.
    EnlargedFeed(ConductorArea),
}

/// Purpose of a ground conductor.
#[derive(Clone, Copy)]
enum Purpose {
    Frame,
    Return,
    Bond,
}

/// A ground conductor, and its required size. `None` where that could not be read.
struct Grounding {
    purpose: Purpose,
    near: LinkEnd,
    far: LinkEnd,
    asked: Option<RequiredSize>,
}

impl Grounding {
    fn of(inspection: &Inspection<'_>, link: &Link) -> Option<Self> {
        let office = inspection.office;
        let (purpose, (near, far), asked) = if let Some(sides) = sides(link, Role::Frame, Role::Bar) {
            (Purpose::Frame, sides, asked_for_frame(inspection, sides.0.thing))
        } else if let Some(sides) =
            sides(link, Role::Return, Role::Bar).filter(|(back, _)| office.thing(back.thing).is(KindId::Battery))
        {
            (Purpose::Return, sides, Some(asked_for_return()))
        } else {
            let sides = sides(link, Role::Bar, Role::Bar)?;
            (Purpose::Bond, sides, Some(asked_for_bond(inspection, link)))
        };
        Some(Self {
            purpose,
            near,
            far,
            asked,
        })
    }

    fn called(&self, office: &Office) -> String {
        let (name, other) = (office.name(self.near.thing), office.name(self.far.thing));
        match self.purpose {
            Purpose::Frame => format!("the frame ground of `{name}`"),
            Purpose::Return => format!("the conductor from the return of `{name}` to `{other}`"),
            Purpose::Bond => format!("the bond from `{name}` to `{other}`"),
        }
    }
}

/// Whether a ground conductor can be checked against its required size. `None` where it is not the ground of a frame,
/// return or bar. Without a known fuse only the smallest permitted size can be required of a frame ground.
pub(crate) fn compared(inspection: &Inspection<'_>, link: &Link) -> Option<Result<(), MissingFigure>> {
    let asked = Grounding::of(inspection, link)?.asked;
    Some(match asked.map(|asked| asked.by) {
        _ if link.pieces(inspection.office).any(|piece| piece.gauge.is_none()) => Err(MissingFigure::WireSize),
        Some(Asker::Nobody) => Err(MissingFigure::Fuse),
        Some(_) => Ok(()),
        None => Err(MissingFigure::GroundSize),
    })
}

fn check(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {
    let mut reported = None;
    for link in inspection.networks.ground.iter() {
        let Some(gauge) = smallest(inspection.office, link) else {
            continue;
        };
        // The size is that of the whole run, so it is reported once.
        if reported == Some(link.run) {
            continue;
        }
        let Some(grounding) = Grounding::of(inspection, link) else {
            continue;
        };
        let Some(asked) = grounding.asked else { continue };
        if gauge.value.si() < asked.size.square_metres() * (1.0 - SIZE_TOLERANCE) {
            reported = Some(link.run);
            let what = grounding.called(inspection.office);
            report(inspection, (grounding.near.thing, &what), gauge, asked, sink);
        }
    }
}

fn report(
    inspection: &Inspection<'_>,
    what: (ThingId, &str),
    gauge: Spanned<Quantity>,
    asked: RequiredSize,
    sink: &mut Sink<'_>,
) {
    let size = shown(asked.size, gauge.value);
    let (on, what) = what;
    let why = match asked.by {
        Asker::Maker { .. } => format!("its maker requires at least {size}"),
        Asker::Fuse {
            rating,
            because: FedBy::Fuse,
        } => {
            format!("for {} NEC Table 250.122 requires at least {size}", fuse(rating.value))
        }
        Asker::Fuse {
            rating,
            because: FedBy::ThinFeed,
        } => {
            format!(
                "for {} NEC 250.122 requires the size of the feed, {size}",
                fuse(rating.value)
            )
        }
        Asker::Fuse {
            rating,
            because: FedBy::EnlargedFeed(feed),
        } => {
            format!(
                "for {} and a feed enlarged to {} NEC 250.122(B) requires at least {size}",
                fuse(rating.value),
                shown(feed, gauge.value)
            )
        }
        Asker::Nobody => format!("NEC Table 250.122 requires at least {size} whatever feeds it"),
        Asker::Return => format!("NEC 250.166 requires at least {size}"),
        Asker::Bond { length: Some(length) } => {
            format!("for a bond of {length} TIA-607 requires at least {size}, 2 kcmil for each foot")
        }
        Asker::Bond { length: None } => format!("TIA-607 requires at least {size} whatever its length"),
    };
    let finding = sink.report(on, gauge.range, format!("{what} is {}, and {why}", gauge.value));
    match asked.by {
        Asker::Maker { said } => finding
            .help(format!("run {size} or larger"))
            .related(said, format!("the maker requires {size}")),
        Asker::Fuse { rating, .. } => finding
            .help(format!("run {size} or larger; this is advisory, local code governs"))
            .related(inspection.office.place(rating.range), "the fuse that feeds it"),
        Asker::Bond { .. } | Asker::Nobody | Asker::Return => {
            finding.help(format!("run {size} or larger; this is advisory, local code governs"))
        }
    };
}

/// A fuse by its rating: "an 80 A fuse".
fn fuse(rating: Quantity) -> String {
    with_article(&format!("{rating} fuse"))
}

/// A size in the unit it is written in, and its trade name where that differs.
fn shown(size: ConductorArea, like: Quantity) -> String {
    let trade = trade_size(size);
    if like.unit.scale == Scale::AmericanWireGauge || trade.ends_with(like.unit.name) {
        return trade;
    }
    let value = like.unit.from_si(size.square_metres());
    let rounded = Quantity {
        value: (value * 10.0).round() / 10.0,
        unit: like.unit,
    };
    format!("{rounded} ({trade})")
}

/// Minimum required size of the frame ground of a chassis. `None` without a requirement.
pub(crate) fn frame_ground_size(inspection: &Inspection<'_>, chassis: ThingId) -> Option<ConductorArea> {
    asked_for_frame(inspection, chassis).map(|asked| asked.size)
}

fn asked_for_frame(inspection: &Inspection<'_>, chassis: ThingId) -> Option<RequiredSize> {
    let thing = inspection.office.thing(chassis);
    if let Some((size, said)) = thing.quantity(Key::GroundSize) {
        return Some(RequiredSize {
            size: ConductorArea::of(size)?,
            by: Asker::Maker { said },
        });
    }
    // A size that could not be read may be any size.
    if thing.has(Key::GroundSize) {
        return None;
    }
    let Some((rating, feed)) = largest_feed(inspection, chassis) else {
        return Some(RequiredSize {
            size: least_equipment_ground(),
            by: Asker::Nobody,
        });
    };
    let fuse = Current::of(rating.value)?;
    let table = equipment_ground(fuse)?;
    let size = feed.map_or(Some(table), |feed| equipment_ground_behind(fuse, feed))?;
    let because = match (feed, size.square_metres().total_cmp(&table.square_metres())) {
        (Some(_), Ordering::Less) => FedBy::ThinFeed,
        (Some(feed), Ordering::Greater) => FedBy::EnlargedFeed(feed),
        _ => FedBy::Fuse,
    };
    Some(RequiredSize {
        size,
        by: Asker::Fuse { rating, because },
    })
}

/// Size of a conductor: the smallest of the stated sizes of its pieces.
fn smallest(office: &Office, link: &Link) -> Option<Spanned<Quantity>> {
    let sizes = link.pieces(office).filter_map(|piece| piece.gauge);
    sizes.min_by(|one, other| one.value.si().total_cmp(&other.value.si()))
}

/// Length of a conductor, in the unit of the first piece. `None` unless all pieces state theirs.
fn total_length(office: &Office, link: &Link) -> Option<Quantity> {
    let first = link.with.length?.value;
    if link.pieces(office).nth(1).is_none() {
        return Some(first);
    }
    let lengths = link.pieces(office).map(|piece| Some(piece.length?.value.si()));
    let value = first.unit.from_si(lengths.sum::<Option<f64>>()?);
    Some(Quantity { value, ..first }.to_digits(TOTAL_DIGITS))
}

fn asked_for_return() -> RequiredSize {
    RequiredSize {
        size: least_system_ground(),
        by: Asker::Return,
    }
}

fn asked_for_bond(inspection: &Inspection<'_>, link: &Link) -> RequiredSize {
    // The length is that of the whole run: for a part of a longer run only the minimum size is required.
    let is_whole = inspection.office.run(link.run).ends.len() == 2;
    let length = is_whole.then(|| total_length(inspection.office, link)).flatten();
    let metres = length.and_then(Length::of).unwrap_or(Length::from_metres(0.0));
    RequiredSize {
        size: bonding_by_length(metres),
        by: Asker::Bond { length },
    }
}

/// The largest fuse that feeds a chassis, and the conductor behind it.
fn largest_feed(inspection: &Inspection<'_>, chassis: ThingId) -> Option<(Spanned<Quantity>, Option<ConductorArea>)> {
    let feeds = inspection
        .networks
        .feeding(chassis)
        .filter(|feed| feed.is_last(inspection.office));
    let fused = feeds.filter_map(|link| {
        let conductor = smallest(inspection.office, link).and_then(|gauge| ConductorArea::of(gauge.value));
        Some((link.with.fuse?, conductor))
    });
    fused.max_by(|(one, _), (other, _)| one.value.si().total_cmp(&other.value.si()))
}
