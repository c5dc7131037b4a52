//! How long the pressures hold once sources have stopped.

use drysheath_engineering::measure::{Length, Pressure, Time};
use drysheath_engineering::units::Quantity;
use drysheath_engineering::water;
use drysheath_office::kinds::Key;
use drysheath_office::{Fields, Networks, Office, ThingId};

use crate::air::{Air, Change, NoState, Until};
use crate::line::{Line, LineSection};
use crate::minimum_pressure::{DefaultMinimums, MinimumPressure, minimum_pressure};

/// The longest time that is looked at: what holds for so long is not a matter of stored air.
pub const LONGEST_HOLD_UP: Time = Time::from_seconds(100.0 * 86_400.0);

/// How long the pressures hold once some sources have stopped.
#[derive(Debug)]
pub enum HoldUp<'a> {
    /// Until the first place is below what it needs.
    Falls(Fall<'a>),
    /// For more than [`LONGEST_HOLD_UP`]: other sources keep the pressures, or hardly any air is lost.
    Lasts,
    /// Nowhere on what they feed is a least pressure or a depth declared.
    NothingNeeded,
    /// It cannot be computed.
    NotKnown(NoState),
}

/// Where a pressure is first below what is needed there. Of several places that fall at about the same time it is one.
#[derive(Clone, Copy, Debug)]
pub struct Fall<'a> {
    /// How long after the sources have stopped.
    pub time: Time,
    /// The cable, branch or pipe.
    pub line: &'a Line,
    /// Metres from its beginning.
    pub metres: f64,
    /// What is needed there.
    pub under: Under,
}

impl Fall<'_> {
    /// Whether the pressure there is too low as soon as the sources have stopped, or before.
    pub fn is_at_once(&self) -> bool {
        self.time.seconds() < 1.0
    }
}

/// What a place needs.
#[derive(Clone, Copy, Debug)]
pub enum Under {
    /// The least pressure that is declared.
    Minimum(MinimumPressure),
    /// The head of the water above, at this depth.
    WaterHead(Quantity),
}

impl Under {
    /// The pressure that is needed, above the surrounding air.
    pub fn pressure(&self, office: &Office) -> Option<Pressure> {
        match self {
            Self::Minimum(minimum) => Some(Pressure::from_pascals(office.gauge_pascals(minimum.quantity))),
            Self::WaterHead(depth) => Some(water::head(Length::of(*depth)?, water::CONVENTIONAL)),
        }
    }

    /// What it is, in a word or two.
    pub fn word(&self) -> &'static str {
        match self {
            Self::Minimum(_) => "minimum",
            Self::WaterHead(_) => "water head",
        }
    }
}

/// What a section needs: the higher of its least pressure and of the head of the water at its depth.
fn needed(
    office: &Office,
    practice: &DefaultMinimums,
    line: &Line,
    section: &LineSection,
) -> Option<(Pressure, Under)> {
    let with_pressure = |under: Under| Some((under.pressure(office)?, under));
    let minimum = minimum_pressure(office, practice, line, section).map(Under::Minimum);
    let depth = line
        .section(office, section)
        .and_then(|(_, fields)| fields.quantity(Key::Depth));
    let head = depth.map(|(depth, _)| Under::WaterHead(depth));
    let (minimum, head) = (minimum.and_then(with_pressure), head.and_then(with_pressure));
    match (minimum, head) {
        (Some(minimum), Some(head)) => Some(if head.0 > minimum.0 { head } else { minimum }),
        (minimum, head) => minimum.or(head),
    }
}

/// How long the pressures hold on what some sources feed, once all of these stop at the same time.
pub fn hold_up<'a>(
    office: &Office,
    networks: &Networks,
    practice: &DefaultMinimums,
    air: &'a Air,
    stops: &[ThingId],
) -> HoldUp<'a> {
    let changes: Vec<Change> = stops.iter().map(|source| Change::Stops(*source)).collect();
    let is_needed = std::cell::Cell::new(false);
    let least = |line: &Line, section: &LineSection| {
        let (least, _) = needed(office, practice, line, section)?;
        is_needed.set(true);
        Some(least)
    };
    let until = Until {
        time: LONGEST_HOLD_UP,
        only: stops,
        least: &least,
    };
    let (course, fallen) = match air.over_time(office, networks, &changes, &until) {
        Ok(found) => found,
        Err(why) => return HoldUp::NotKnown(why),
    };
    if !is_needed.get() {
        return HoldUp::NothingNeeded;
    }
    if let Some(why) = course.first_unknown() {
        return HoldUp::NotKnown(why.clone());
    }
    let Some(fallen) = fallen else {
        return HoldUp::Lasts;
    };
    let found = air.lines().get(fallen.line).and_then(|line| {
        let section = line.sections.get(fallen.section)?;
        let (_, under) = needed(office, practice, line, section)?;
        Some(Fall {
            time: fallen.time,
            line,
            metres: fallen.metres,
            under,
        })
    });
    found.map_or(HoldUp::NothingNeeded, HoldUp::Falls)
}
