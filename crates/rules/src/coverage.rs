//! What was checked of an office, and what was left out because of something that the file does not say.
//!
//! Each check goes through its subjects by the function that its rule compares with (`compared`), so that what a rule judges and
//! what is counted as judged cannot differ.

mod air;
mod electric;
mod signals;

use drysheath_office::ThingId;
use drysheath_office::kinds::ThingStage;
use drysheath_text::TextRange;
use strum::{EnumCount, IntoStaticStr, VariantArray};

use crate::lint::Inspection;

/// A comparison that rules make, as those who do not know the rules would name it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, EnumCount, IntoStaticStr, VariantArray)]
#[strum(serialize_all = "kebab-case")]
pub enum Comparison {
    /// The lowest pressure of a section with the least that is declared.
    MinimumPressure,
    /// The lowest pressure of a section with that of the water above it.
    WaterHead,
    /// The pressure at a thing with what it is rated for.
    PressureRating,
    /// The flow through a regulator with the most that it regulates.
    RegulatorFlow,
    /// The usage of cables and pipes with the capacity of their dryers.
    DryerCapacity,
    /// The dew point of the air with the coldest that the cables get.
    DewPoint,
    /// The lowest voltage at a load with its window.
    SupplyVoltage,
    /// A fuse with what the conductor behind it allows.
    WireProtection,
    /// What the loads behind a fuse draw with its size.
    FuseLoad,
    /// What the loads of a fuse panel come to with what it may carry.
    PanelLoad,
    /// A ground conductor with the size that it needs.
    GroundSize,
    /// What a sensor should read with its span.
    SensorSpan,
    /// What a sensor should read with its limits.
    AlarmLimits,
    /// What each sensor reads with a leak at any place of a cable or pipe with its limits.
    LeakAlarm,
    /// What was read with what follows from the record.
    Readings,
    /// The resistance of a loop with the most that it may have.
    LoopResistance,
}

impl Comparison {
    /// The word in documents for programs.
    pub fn word(self) -> &'static str {
        self.into()
    }

    /// What it is called in a sentence.
    pub fn name(self) -> &'static str {
        match self {
            Self::MinimumPressure => "minimum pressure",
            Self::WaterHead => "water head",
            Self::PressureRating => "pressure rating",
            Self::RegulatorFlow => "regulator flow",
            Self::DryerCapacity => "dryer capacity",
            Self::DewPoint => "dew point",
            Self::SupplyVoltage => "supply voltage",
            Self::WireProtection => "wire protection",
            Self::FuseLoad => "fuse load",
            Self::PanelLoad => "panel load",
            Self::GroundSize => "ground size",
            Self::SensorSpan => "sensor span",
            Self::AlarmLimits => "alarm limits",
            Self::LeakAlarm => "leak alarm",
            Self::Readings => "readings",
            Self::LoopResistance => "loop resistance",
        }
    }

    /// What is compared with what.
    pub fn title(self) -> &'static str {
        match self {
            Self::MinimumPressure => "lowest pressure with the declared minimum",
            Self::WaterHead => "lowest pressure with the head of water above",
            Self::PressureRating => "highest pressure with the rating",
            Self::RegulatorFlow => "flow through regulators with their maximum flow",
            Self::DryerCapacity => "usage of air with the capacity of the dryers",
            Self::DewPoint => "dew point with the coldest cable",
            Self::SupplyVoltage => "lowest voltage at a load with its window",
            Self::WireProtection => "fuse with what its wire allows",
            Self::FuseLoad => "load of a fuse with its size",
            Self::PanelLoad => "load of a fuse panel with its limit",
            Self::GroundSize => "ground conductor with the size asked of it",
            Self::SensorSpan => "predicted reading with the span of the sensor",
            Self::AlarmLimits => "predicted reading with the alarm limits",
            Self::LeakAlarm => "readings with a leak or a cut anywhere along the way with the alarm limits",
            Self::Readings => "latest reading with the predicted one",
            Self::LoopResistance => "loop resistance with what device and monitor allow",
        }
    }

    /// What its subjects are called: many.
    pub fn subjects(self) -> &'static str {
        match self {
            Self::MinimumPressure | Self::WaterHead => "sections",
            Self::PressureRating => "parts",
            Self::RegulatorFlow => "regulators",
            Self::DryerCapacity | Self::DewPoint => "dryers",
            Self::SupplyVoltage | Self::WireProtection | Self::FuseLoad => "feeds",
            Self::GroundSize => "grounds",
            Self::PanelLoad => "panels",
            Self::SensorSpan | Self::AlarmLimits => "sensor signals",
            Self::LeakAlarm => "cables, branches and pipes",
            Self::Readings => "readings",
            Self::LoopResistance => "loops",
        }
    }
}

/// Why something could not be compared.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, EnumCount, IntoStaticStr, VariantArray)]
#[strum(serialize_all = "kebab-case")]
pub enum Lack {
    /// No minimum pressure is declared.
    Minimum,
    /// No depth is stated.
    Depth,
    /// No rating is stated.
    Rating,
    /// A regulator does not state the rating of its inlet.
    InletMax,
    /// A sensor does not state its proof pressure.
    Proof,
    /// A regulator does not state the most that it passes.
    FlowMax,
    /// A dryer does not state its capacity.
    Capacity,
    /// The office does not state how cold its cables get.
    Coldest,
    /// A dryer does not state its dew point.
    DewPoint,
    /// A monitor runs from the mains.
    BatteryFeed,
    /// A load does not state the voltages that it works at.
    Window,
    /// A load does not state its power.
    Draws,
    /// No fuse is stated.
    Fuse,
    /// No wire size is stated.
    WireSize,
    /// Neither a published table nor the run itself says what the wire may carry.
    WireTable,
    /// A fuse panel does not state what it may carry.
    PanelLimit,
    /// No ground conductor is recorded.
    GroundConductor,
    /// The ground size that the maker asks for could not be read.
    GroundSize,
    /// The office does not state its elevation.
    Elevation,
    /// A sensor has no span that runs from bottom to top.
    Span,
    /// A sensor has no limit.
    Limit,
    /// A sensor states neither error nor step.
    Tolerance,
    /// Neither device nor monitor states what the loop may have.
    LoopLimit,
    /// The figure that it takes could not be computed.
    Figure,
}

impl Lack {
    /// The word in documents for programs.
    pub fn word(self) -> &'static str {
        self.into()
    }

    /// What is lacking, to follow "without".
    pub fn phrase(self) -> &'static str {
        match self {
            Self::Minimum => "a minimum pressure",
            Self::Depth => "a depth",
            Self::Rating => "a rating",
            Self::InletMax => "a maximum inlet pressure",
            Self::Proof => "a proof pressure",
            Self::FlowMax => "a maximum flow",
            Self::Capacity => "a capacity",
            Self::Coldest => "the coldest temperature of the cable",
            Self::DewPoint => "a dew point",
            Self::BatteryFeed => "a feed from the battery",
            Self::Window => "a voltage window",
            Self::Draws => "a power",
            Self::Fuse => "a known fuse",
            Self::WireSize => "a wire size",
            Self::WireTable => "a limit of the wire",
            Self::PanelLimit => "a panel limit",
            Self::GroundConductor => "a recorded conductor",
            Self::GroundSize => "a required size",
            Self::Elevation => "an elevation",
            Self::Span => "a span",
            Self::Limit => "a limit",
            Self::Tolerance => "an error or step",
            Self::LoopLimit => "a loop limit",
            Self::Figure => "a computed figure",
        }
    }

    /// What to say of it in the note of an office. None where another rule reports that it is lacking: `field-missing`,
    /// `elevation-missing`, `prediction-incomplete`, `wire-not-checked` and the rules about limits, fuses and grounds. None
    /// either where the file cannot say it, as the fuse of a dryer on the mains, or need not, as the ground of the battery's
    /// return, which belongs to the plant and stands in the records of those who keep it: both are only counted.
    pub(crate) fn note(self) -> Option<Note> {
        let (none, lets_check) = match self {
            Self::Minimum => ("no minimum pressure", "whether the pressure suffices"),
            Self::Depth => (
                "neither a minimum pressure nor a depth",
                "whether the air keeps water out",
            ),
            Self::Rating => ("no rating", "whether parts are rated for the pressure that they see"),
            Self::InletMax => (
                "no maximum inlet pressure",
                "whether regulators are rated for their supply",
            ),
            Self::FlowMax => ("no maximum flow", "whether regulators pass the flow"),
            Self::PanelLimit => ("no panel limit", "whether fuse panels carry their load"),
            Self::LoopLimit => ("no loop limit", "whether devices work over their loops"),
            Self::Proof
            | Self::Capacity
            | Self::Coldest
            | Self::DewPoint
            | Self::BatteryFeed
            | Self::Window
            | Self::Draws
            | Self::Fuse
            | Self::WireSize
            | Self::WireTable
            | Self::GroundConductor
            | Self::GroundSize
            | Self::Elevation
            | Self::Span
            | Self::Limit
            | Self::Tolerance
            | Self::Figure => return None,
        };
        Some(Note { none, lets_check })
    }
}

/// The words of a note about something that is lacking.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Note {
    /// What there is none of, to follow "the file states".
    pub none: &'static str,
    /// What it would let be checked, to follow "one could check".
    pub lets_check: &'static str,
}

/// How many subjects were compared, and how many were not for each lack.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Tally {
    /// Subjects that were compared.
    pub compared: u32,
    left_out: [u32; Lack::COUNT],
}

impl Tally {
    /// What was lacking, and for how many subjects.
    pub fn left_out(&self) -> impl Iterator<Item = (Lack, u32)> + '_ {
        let all = Lack::VARIANTS.iter().copied().zip(self.left_out);
        all.filter(|(_, subjects)| *subjects > 0)
    }

    /// The number of all subjects.
    pub fn subjects(&self) -> u32 {
        self.compared + self.left_out.iter().sum::<u32>()
    }

    fn add(&mut self, other: &Self) {
        self.compared += other.compared;
        for (own, other) in self.left_out.iter_mut().zip(other.left_out) {
            *own += other;
        }
    }
}

/// How much was compared. It is added up over offices in any order.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Coverage {
    tallies: [Tally; Comparison::COUNT],
    /// How many things are left out because they are only planned.
    pub planned: u32,
    /// How many things are left out because they are no longer used.
    pub disused: u32,
}

impl Coverage {
    /// Each comparison that has subjects, and how many.
    pub fn tallies(&self) -> impl Iterator<Item = (Comparison, &Tally)> {
        let all = Comparison::VARIANTS.iter().copied().zip(&self.tallies);
        all.filter(|(_, tally)| tally.subjects() > 0)
    }

    /// The sum of all comparisons.
    pub fn total(&self) -> Tally {
        let mut total = Tally::default();
        for tally in &self.tallies {
            total.add(tally);
        }
        total
    }

    /// Adds what was compared of other offices.
    pub fn add(&mut self, other: &Self) {
        for (own, other) in self.tallies.iter_mut().zip(&other.tallies) {
            own.add(other);
        }
        self.planned += other.planned;
        self.disused += other.disused;
    }
}

impl Coverage {
    /// All counts in a fixed order, to be kept for [`Coverage::of_counts`] of the same program.
    pub fn counts(&self) -> impl Iterator<Item = u32> + '_ {
        let tallies = self.tallies.iter();
        let tallies = tallies.flat_map(|tally| std::iter::once(tally.compared).chain(tally.left_out));
        [self.planned, self.disused].into_iter().chain(tallies)
    }

    /// What has these counts; those that are lacking are zero.
    pub fn of_counts(counts: impl IntoIterator<Item = u32>) -> Self {
        let mut counts = counts.into_iter();
        let mut coverage = Self::default();
        let own = [&mut coverage.planned, &mut coverage.disused].into_iter();
        let tallies = coverage.tallies.iter_mut();
        let tallies = tallies.flat_map(|tally| std::iter::once(&mut tally.compared).chain(&mut tally.left_out));
        own.chain(tallies)
            .zip(&mut counts)
            .for_each(|(own, count)| *own = count);
        coverage
    }
}

/// Something that no check looks at, and what the file would have to state.
#[derive(Clone, Debug)]
pub(crate) struct Gap {
    pub lack: Lack,
    pub note: Note,
    pub on: ThingId,
    pub range: TextRange,
    /// What lacks it, such as "section `s1` of `c101`".
    pub what: String,
}

/// What was checked of one office.
#[derive(Debug, Default)]
pub(crate) struct Survey {
    pub coverage: Coverage,
    /// What is lacking and is reported by no other rule, in the order of the comparisons.
    pub gaps: Vec<Gap>,
}

impl Survey {
    /// Goes through all that can be checked of an office.
    pub fn of(inspection: &Inspection<'_>) -> Self {
        let mut survey = Self::default();
        let aside = &inspection.office.aside;
        survey.coverage.planned = aside.count(ThingStage::Planned) + inspection.office.neighbours_planned;
        survey.coverage.disused = aside.count(ThingStage::Disused);
        air::survey(inspection, &mut survey);
        electric::survey(inspection, &mut survey);
        signals::survey(inspection, &mut survey);
        survey
    }

    fn tally(&mut self, comparison: Comparison) -> Option<&mut Tally> {
        self.coverage.tallies.get_mut(comparison as usize)
    }

    /// Counts a subject, and returns what it lacks.
    fn count<T>(&mut self, comparison: Comparison, compared: &Result<T, Lack>) -> Option<Lack> {
        let tally = self.tally(comparison)?;
        let Err(lack) = *compared else {
            tally.compared += 1;
            return None;
        };
        if let Some(number) = tally.left_out.get_mut(lack as usize) {
            *number += 1;
        }
        Some(lack)
    }

    /// The same, and notes what is lacking unless another rule reports that.
    fn note<T>(
        &mut self,
        inspection: &Inspection<'_>,
        comparison: Comparison,
        compared: &Result<T, Lack>,
        (on, range): (ThingId, TextRange),
    ) {
        if let Some(lack) = self.count(comparison, compared) {
            let what = || format!("`{}`", inspection.office.name(on));
            self.gap(inspection, lack, (on, range), what);
        }
    }

    /// Notes what is lacking, unless another rule reports that or it may only be unread.
    fn gap(
        &mut self,
        inspection: &Inspection<'_>,
        lack: Lack,
        (on, range): (ThingId, TextRange),
        what: impl FnOnce() -> String,
    ) {
        if let Some(note) = lack.note().filter(|_| !inspection.office.thing(on).damaged) {
            let what = what();
            self.gaps.push(Gap {
                lack,
                note,
                on,
                range,
                what,
            });
        }
    }
}
