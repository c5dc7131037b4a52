//! The checks that were made of an office, and those left out because the file does not state something.
//!
//! Each check iterates over its subjects through the `compared` function that its rule uses, so that the subjects
//! judged and the subjects counted cannot differ.

mod air;
mod electric;
mod signals;

use drysheath_office::ThingId;
use drysheath_office::kinds::ThingStage;
use drysheath_text::TextRange;
use strum::{EnumCount, IntoStaticStr, VariantArray};

use crate::lint::Inspection;

/// A comparison that rules make, named for users who do not know the rules.
#[derive(Clone, Copy, Debug, PartialEq, Eq, EnumCount, IntoStaticStr, VariantArray)]
#[strum(serialize_all = "kebab-case")]
pub enum Comparison {
    /// Lowest pressure of a section against its declared minimum.
    MinimumPressure,
    /// Lowest pressure of a section against the head of water above it.
    WaterHead,
    /// Pressure at a thing against its rating.
    PressureRating,
    /// Flow through a regulator against its maximum.
    RegulatorFlow,
    /// Usage of cables and pipes against the capacity of their dryers.
    DryerCapacity,
    /// Dew point of the air against the coldest temperature of the cables.
    DewPoint,
    /// Lowest voltage at a load against its window.
    SupplyVoltage,
    /// Fuse against the limit of the conductor behind it.
    WireProtection,
    /// Current of the loads behind a fuse against the fuse.
    FuseLoad,
    /// Total of the loads of a fuse panel against the panel's limit.
    PanelLoad,
    /// Ground conductor against the required size.
    GroundSize,
    /// Expected reading of a sensor against its span.
    SensorSpan,
    /// Expected reading of a sensor against its limits.
    AlarmLimits,
    /// Readings with a leak at any place of a cable or pipe against the sensors' limits.
    LeakAlarm,
    /// Recorded readings against computed values.
    Readings,
    /// Resistance of a loop against its limit.
    LoopResistance,
}

impl Comparison {
    /// Word in machine-readable output.
    pub fn word(self) -> &'static str {
        self.into()
    }

    /// Name within a sentence.
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

    /// Description: the figure and what it is compared with.
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

    /// Plural name of its subjects.
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

/// Reason why a subject could not be compared.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, EnumCount, IntoStaticStr, VariantArray)]
#[strum(serialize_all = "kebab-case")]
pub enum MissingFigure {
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
    /// A regulator does not state its maximum flow.
    FlowMax,
    /// A dryer does not state its capacity.
    Capacity,
    /// The office does not state the coldest temperature of its cables.
    Coldest,
    /// A dryer does not state its dew point.
    DewPoint,
    /// A monitor runs from the mains.
    BatteryFeed,
    /// A load does not state its voltage window.
    Window,
    /// A load does not state its power.
    Draws,
    /// No fuse is stated.
    Fuse,
    /// No wire size is stated.
    WireSize,
    /// Neither a published table nor the run itself states the limit of the wire.
    WireTable,
    /// A fuse panel does not state its limit.
    PanelLimit,
    /// No ground conductor is recorded.
    GroundConductor,
    /// The ground size that the maker requires could not be read.
    GroundSize,
    /// The office does not state its elevation.
    Elevation,
    /// A sensor has no span, or a reversed one.
    Span,
    /// A sensor has no limit.
    Limit,
    /// A sensor states neither error nor step.
    Tolerance,
    /// Neither device nor monitor states a limit for the loop.
    LoopLimit,
    /// The figure to compare could not be computed.
    Figure,
}

impl MissingFigure {
    /// Word in machine-readable output.
    pub fn word(self) -> &'static str {
        self.into()
    }

    /// The missing item as a phrase that follows "without".
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

    /// The words for the note on an office. `None` where another rule reports the lack: `field-missing`,
    /// `elevation-missing`, `prediction-incomplete`, `wire-not-checked` and the rules on limits, fuses and grounds.
    /// Also `None` where the file cannot state it, as the fuse of a dryer on the mains, or need not, as the ground of
    /// the battery's return, which belongs to the plant and its own records. These are only counted.
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

/// The words of a note about a lack.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Note {
    /// The missing item, to follow "the file states".
    pub none: &'static str,
    /// The check that it would allow, to follow "one could check".
    pub lets_check: &'static str,
}

/// Number of subjects compared, and number left out for each lack.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct ComparisonCount {
    /// Number of subjects compared.
    pub compared: u32,
    left_out: [u32; MissingFigure::COUNT],
}

impl ComparisonCount {
    /// Each lack that occurred, with its number of subjects.
    pub fn left_out(&self) -> impl Iterator<Item = (MissingFigure, u32)> + '_ {
        let all = MissingFigure::VARIANTS.iter().copied().zip(self.left_out);
        all.filter(|(_, subjects)| *subjects > 0)
    }

    /// Total number of subjects.
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

/// Counts of all comparisons. Sums over offices do not depend on their order.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Coverage {
    tallies: [ComparisonCount; Comparison::COUNT],
    /// Number of things left out because they are only planned.
    pub planned: u32,
    /// Number of things left out because they are no longer used.
    pub disused: u32,
}

impl Coverage {
    /// The comparisons that have subjects, with their counts.
    pub fn tallies(&self) -> impl Iterator<Item = (Comparison, &ComparisonCount)> {
        let all = Comparison::VARIANTS.iter().copied().zip(&self.tallies);
        all.filter(|(_, tally)| tally.subjects() > 0)
    }

    /// Sum over all comparisons.
    pub fn total(&self) -> ComparisonCount {
        let mut total = ComparisonCount::default();
        for tally in &self.tallies {
            total.add(tally);
        }
        total
    }

    /// Adds the counts of other offices.
    pub fn add(&mut self, other: &Self) {
        for (own, other) in self.tallies.iter_mut().zip(&other.tallies) {
            own.add(other);
        }
        self.planned += other.planned;
        self.disused += other.disused;
    }
}

impl Coverage {
    /// All counts in a fixed order, to be stored and read with [`Coverage::of_counts`] by the same program.
    pub fn counts(&self) -> impl Iterator<Item = u32> + '_ {
        let tallies = self.tallies.iter();
        let tallies = tallies.flat_map(|tally| std::iter::once(tally.compared).chain(tally.left_out));
        [self.planned, self.disused].into_iter().chain(tallies)
    }

    /// Restores stored counts; missing ones are zero.
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

/// A subject that no check covers, and what the file would have to state.
#[derive(Clone, Debug)]
pub(crate) struct UncheckedSubject {
    pub lack: MissingFigure,
    pub note: Note,
    pub on: ThingId,
    pub range: TextRange,
    /// The subject, such as "section `s1` of `c101`".
    pub what: String,
}

/// The checks made of one office.
#[derive(Debug, Default)]
pub(crate) struct CoverageSurvey {
    pub coverage: Coverage,
    /// Lacks that no other rule reports, in the order of the comparisons.
    pub unchecked: Vec<UncheckedSubject>,
}

impl CoverageSurvey {
    /// Runs through all comparisons of an office.
    pub fn of(inspection: &Inspection<'_>) -> Self {
        let mut survey = Self::default();
        let excluded = &inspection.office.excluded;
        survey.coverage.planned = excluded.count(ThingStage::Planned) + inspection.office.neighbours_planned;
        survey.coverage.disused = excluded.count(ThingStage::Disused);
        air::survey(inspection, &mut survey);
        electric::survey(inspection, &mut survey);
        signals::survey(inspection, &mut survey);
        survey
    }

    fn tally(&mut self, comparison: Comparison) -> Option<&mut ComparisonCount> {
        self.coverage.tallies.get_mut(comparison as usize)
    }

    /// Counts a subject, and returns its lack.
    fn count<T>(&mut self, comparison: Comparison, compared: &Result<T, MissingFigure>) -> Option<MissingFigure> {
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

    /// Counts a subject, and adds a gap for its lack unless another rule reports it.
    fn note<T>(
        &mut self,
        inspection: &Inspection<'_>,
        comparison: Comparison,
        compared: &Result<T, MissingFigure>,
        (on, range): (ThingId, TextRange),
    ) {
        if let Some(lack) = self.count(comparison, compared) {
            let what = || format!("`{}`", inspection.office.name(on));
            self.add_unchecked(inspection, lack, (on, range), what);
        }
    }

    /// Adds a gap, unless another rule reports the lack or it may be due to unreadable text.
    fn add_unchecked(
        &mut self,
        inspection: &Inspection<'_>,
        lack: MissingFigure,
        (on, range): (ThingId, TextRange),
        what: impl FnOnce() -> String,
    ) {
        if let Some(note) = lack.note().filter(|_| !inspection.office.thing(on).damaged) {
            let what = what();
            self.unchecked.push(UncheckedSubject {
                lack,
                note,
                on,
                range,
                what,
            });
        }
    }
}
