//! How long pressures hold after sources stop.

use drysheath_engineering::measure::{Length, Pressure, Time};
use drysheath_engineering::units::Quantity;
use drysheath_engineering::water;
use drysheath_office::kinds::Key;
use drysheath_office::{Fields, Networks, Office, ThingId};

use crate::air::{
    Air, HeldBack, NetworkChange, PIECES_FOR_HOLD_UP, StateError, StopCondition, combinations, with_differential,
};
use crate::line::{Line, LineSection};
use crate::minimum_pressure::{DefaultMinimums, MinimumPressure, minimum_pressure};

/// The longest time computed: beyond it stored air plays no part.
pub const LONGEST_HOLD_UP: Time = Time::from_seconds(100.0 * 86_400.0);

/// How long pressures hold after some sources stop.
#[derive(Debug)]
pub enum HoldUp<'a> {
    /// Until the first place falls below its required pressure.
    Falls(FirstShortfall<'a>),
    /// For more than [`LONGEST_HOLD_UP`]: other sources keep the pressures, or hardly any air is lost.
    Lasts,
    /// No minimum pressure and no depth is declared on the lines that they feed.
    NothingNeeded,
    /// It cannot be computed, for this reason.
    NotKnown(StateError),
}

/// The first place where a pressure falls below the required one. Of several that fall at about the same time it is
/// one.
#[derive(Clone, Copy, Debug)]
pub struct FirstShortfall<'a> {
    /// Time after the sources stop.
    pub time: Time,
    /// The cable, branch or pipe.
    pub line: &'a Line,
    /// Distance from its beginning, m.
    pub metres: f64,
    /// The requirement that is no longer met.
    pub under: HoldUpRequirement,
}

impl FirstShortfall<'_> {
    /// Whether the pressure is too low as soon as the sources stop, or was so before.
    pub fn is_at_once(&self) -> bool {
        self.time.seconds() < 1.0
    }
}

/// What a place needs its pressure for, which decides how much it needs.
#[derive(Clone, Copy, Debug)]
pub enum HoldUpRequirement {
    /// The declared minimum pressure.
    Minimum(MinimumPressure),
    /// The head of water at this depth.
    WaterHead(Quantity),
}

impl HoldUpRequirement {
    /// The required pressure, gauge.
    pub fn pressure(&self, office: &Office) -> Option<Pressure> {
        match self {
            Self::Minimum(minimum) => Some(Pressure::from_pascals(office.gauge_pascals(minimum.quantity))),
            Self::WaterHead(depth) => Some(water::head(Length::of(*depth)?, water::CONVENTIONAL)),
        }
    }

    /// The requirement as a phrase for messages.
    pub fn word(&self) -> &'static str {
        match self {
            Self::Minimum(_) => "minimum",
            Self::WaterHead(_) => "water head",
        }
    }
}

/// The requirement of a section: the higher of its minimum pressure and of the water head at its depth.
fn needed(
    office: &Office,
    practice: &DefaultMinimums,
    line: &Line,
    section: &LineSection,
) -> Option<(Pressure, HoldUpRequirement)> {
    let with_pressure = |under: HoldUpRequirement| Some((under.pressure(office)?, under));
    let minimum = minimum_pressure(office, practice, line, section).map(HoldUpRequirement::Minimum);
    let depth = line
        .section(office, section)
        .and_then(|(_, fields)| fields.quantity(Key::Depth));
    let head = depth.map(|(depth, _)| HoldUpRequirement::WaterHead(depth));
    let (minimum, head) = (minimum.and_then(with_pressure), head.and_then(with_pressure));
    match (minimum, head) {
        (Some(minimum), Some(head)) => Some(if head.0 > minimum.0 { head } else { minimum }),
        (minimum, head) => minimum.or(head),
    }
}

/// By how much two computations of one time may differ, as a part of it, where their steps end elsewhere: 1e-6 was seen.
const STEP_ERROR: f64 = 1e-5;

/// How long pressures hold on the lines that the sources `stops` feed, if all of these stop at the same time, at least. Regulators that lack
/// pressure by then pass the least that their makers promise, their supply less their differential, or all that they can: whichever leaves less.
pub fn hold_up<'a>(
    office: &Office,
    networks: &Networks,
    practice: &DefaultMinimums,
    air: &'a Air,
    stops: &[ThingId],
) -> HoldUp<'a> {
    let Some(combinations) = combinations(office) else {
        return HoldUp::NotKnown(StateError::ManyRegulators);
    };
    // Without a differential all of them are the same.
    let differ = with_differential(office).next().is_some();
    let followed = combinations.iter().filter(|held_back| differ || held_back.is_all());
    let mut shortest = HoldUp::NothingNeeded;
    for held_back in followed {
        // One that holds as long, within the error of the steps, or longer need not be followed to its end.
        let time = match &shortest {
            HoldUp::Falls(fall) => Time::from_seconds(fall.time.seconds() * (1.0 - STEP_ERROR)),
            _ => LONGEST_HOLD_UP,
        };
        let found = hold_up_with(office, networks, practice, air, stops, held_back, time);
        match (&shortest, &found) {
            // It may be over before all others.
            (_, HoldUp::NotKnown(_)) => return found,
            (HoldUp::Falls(_), HoldUp::Lasts | HoldUp::NothingNeeded) => {}
            _ => shortest = found,
        }
    }
    shortest
}

/// The same with some regulators held back, followed for `time` at most.
fn hold_up_with<'a>(
    office: &Office,
    networks: &Networks,
    practice: &DefaultMinimums,
    air: &'a Air,
    stops: &[ThingId],
    held_back: &HeldBack,
    time: Time,
) -> HoldUp<'a> {
    let changes: Vec<NetworkChange> = stops.iter().map(|source| NetworkChange::Stops(*source)).collect();
    let is_needed = std::cell::Cell::new(false);
    let least = |line: &Line, section: &LineSection| {
        let (least, _) = needed(office, practice, line, section)?;
        is_needed.set(true);
        Some(least)
    };
    let until = StopCondition {
        pieces: PIECES_FOR_HOLD_UP,
        time,
        only: stops,
        least: &least,
    };
    let (transient, fallen) = match air.over_time(office, networks, &changes, held_back, &until) {
        Ok(found) => found,
        Err(why) => return HoldUp::NotKnown(why),
    };
    if !is_needed.get() {
        return HoldUp::NothingNeeded;
    }
    if let Some(why) = transient.first_unknown() {
        return HoldUp::NotKnown(why.clone());
    }
    let Some(fallen) = fallen else {
        return HoldUp::Lasts;
    };
    let found = air.lines().get(fallen.line).and_then(|line| {
        let section = line.sections.get(fallen.section)?;
        let (_, under) = needed(office, practice, line, section)?;
        Some(FirstShortfall {
            time: fallen.time,
            line,
            metres: fallen.metres,
            under,
        })
    });
    found.map_or(HoldUp::NothingNeeded, HoldUp::Falls)
}
