//! The output of `predict` for programs. Every figure is in SI, and its field's name ends with its unit; pressures are above
//! the surrounding air unless the name says absolute; flows are counted at 101 325 Pa and 60 °F.

use std::collections::BTreeMap;

use drysheath_engineering::units::Dimension;
use schemars::JsonSchema;
use serde::Serialize;

use crate::port_number::PortNumber;

/// The predictions for some offices.
#[derive(Clone, Debug, JsonSchema, Serialize)]
pub struct Report {
    /// The form of this document; it grows when a field is taken away or changes its meaning.
    pub form: u32,
    /// The offices, in the order of the arguments.
    pub offices: Vec<OfficeRecord>,
}

/// The form that [`Report::form`] names.
pub const FORM: u32 = 1;

/// What is computed of one office.
#[derive(Clone, Debug, JsonSchema, Serialize)]
pub struct OfficeRecord {
    /// Its name in the file.
    pub office: String,
    /// Its name as people say it.
    pub title: Option<String>,
    /// The office's file, as it was named.
    pub file: String,
    /// What people call its things, by their names in the file.
    pub titles: BTreeMap<String, String>,
    /// The air around the office, and in the network.
    pub conditions: ConditionsRecord,
    /// What nothing is computed of because of its stage.
    pub left_out: Vec<LeftOutRecord>,
    /// What the file does not say and what therefore is not computed.
    pub missing: Vec<MissingRecord>,
    /// What in its file could not be read, so that what it says is missing from the figures.
    pub unread: Vec<UnreadRecord>,
    /// What could not be computed though nothing is missing.
    pub failures: Vec<FailureRecord>,
    /// The dryers of the office.
    pub dryers: Vec<DryerRecord>,
    /// What is computed of its bottles.
    pub bottles: Vec<BottleRecord>,
    /// How long the pressures hold once sources stop.
    pub hold_up: Vec<HoldUpRecord>,
    /// The regulators of the office.
    pub regulators: Vec<RegulatorRecord>,
    /// Air runs that have a tube.
    pub tubes: Vec<TubeRecord>,
    /// Filters, valves and sensors that state what they take from the air.
    pub losses: Vec<LossRecord>,
    /// Cables, their branches and air pipes.
    pub lines: Vec<LineRecord>,
    /// The signals of the office's sensors, and contacts that switch at a pressure.
    pub sensors: Vec<SensorRecord>,
    /// Which leaks its limits would report, place by place.
    pub detection: Vec<DetectionRecord>,
    /// The lines of which that is not known although pressures along them are.
    pub detection_not_known: Vec<DetectionNotKnownRecord>,
    /// The power feeds of the office's loads.
    pub feeds: Vec<FeedRecord>,
    /// Loops of sensors and contacts.
    pub loops: Vec<LoopRecord>,
    /// The loops of control outputs.
    pub controls: Vec<ControlRecord>,
    /// The states that the office expects something of, beside the normal one.
    pub states: Vec<StateRecord>,
    /// What would be right for the thing that was asked about with `--size`.
    pub sizing: Option<SizingRecord>,
    /// What the readings of the day that was asked about with `--fit` make of the declared figures.
    pub fit: Option<FitRecord>,
}

impl OfficeRecord {
    /// A thing by its name, and what people call it.
    pub(super) fn called(&self, name: &str) -> String {
        match self.titles.get(name) {
            Some(title) => format!("{name} ({title})"),
            None => name.to_owned(),
        }
    }

    /// A line by the name that it is asked about with, and what people call the cable: "c101 (West Road) branch side".
    pub(super) fn line_called(&self, line: &str, branch: Option<&str>) -> String {
        line_as_asked(&self.called(line), branch)
    }
}

/// The unit that a record counts a figure in.
pub(super) fn si_unit(dimension: Dimension) -> &'static str {
    match dimension {
        Dimension::Pressure => "Pa",
        Dimension::Flow => "m3/s",
        Dimension::PneumaticResistance => "Pa s/m4",
        Dimension::WireSize => "m2",
        Dimension::Current => "A",
        Dimension::Length => "m",
        Dimension::Charge => "C",
        _ => "1",
    }
}

/// A cable, branch or pipe by the name that it is asked about with: "c101 branch side".
pub fn line_as_asked(line: &str, branch: Option<&str>) -> String {
    branch.map_or_else(|| line.to_owned(), |branch| format!("{line} branch {branch}"))
}

/// The office in a state other than the normal one, once its pressures have settled.
#[derive(Clone, Debug, JsonSchema, Serialize)]
pub struct StateRecord {
    /// What happens, as it is written.
    pub when: String,
    /// The `when` statement in the office file.
    pub place: PlaceRecord,
    /// Why nothing of it is known; none where it is.
    pub not_known: Option<String>,
    /// Dryers and bottles that give all that they can, at less than their pressure.
    pub at_capacity: Vec<AtCapacityRecord>,
    /// Stopped dryers and bottles that nothing keeps air from flowing back into. What leaves there is not counted, so that pressures may
    /// fall sooner and further.
    pub back_flow: Vec<String>,
    /// The regulator that opens and whose relief may let air off, which is not counted in the figures.
    pub relieves: Option<String>,
    /// The bottles that give air once the pressures have settled. They count as full there.
    pub bottles: Vec<StateBottlesRecord>,
    /// The lowest pressure of each cable, branch and pipe.
    pub lines: Vec<StateLineRecord>,
    /// The regulators through which something is known.
    pub regulators: Vec<StateRegulatorRecord>,
    /// The sensors of pressure and flow, and contacts that switch at a pressure.
    pub sensors: Vec<StateSensorRecord>,
    /// What the statement expects, each with what became of it.
    pub expected: Vec<ExpectationRecord>,
}

/// A dryer or bottles that give all that they can.
#[derive(Clone, Debug, JsonSchema, Serialize)]
pub struct AtCapacityRecord {
    /// Name of the dryer or bank of bottles.
    pub name: String,
    /// What they give, which is all that they can here.
    pub flow_m3_per_s: f64,
    /// What they would have to give to hold their pressure.
    pub asked_m3_per_s: Option<f64>,
}

/// The lowest pressure of a cable, branch or pipe in a state.
#[derive(Clone, Debug, JsonSchema, Serialize)]
pub struct StateLineRecord {
    /// Its name: "c101", "c101 branch side".
    pub name: String,
    /// The lowest pressure in the normal state.
    pub normal_pa: Option<f64>,
    /// The lowest pressure in this state.
    pub pressure_pa: Option<f64>,
    /// Where that is, from its beginning.
    pub distance_m: Option<f64>,
}

/// A regulator in a state.
#[derive(Clone, Debug, JsonSchema, Serialize)]
pub struct StateRegulatorRecord {
    /// Name of the regulator.
    pub name: String,
    /// The pressure downstream of it, as gauge pressure. Not known where it is out of regulation, unless its dryers are at their
    /// capacity: then the pressure before it is not.
    pub outlet_pa: Option<f64>,
    /// Where it is not known, the lowest value that is possible.
    pub outlet_least_pa: Option<f64>,
    /// Where it is not known, the highest value that is possible.
    pub outlet_most_pa: Option<f64>,
    /// "regulating", "out of regulation" or "shut by back pressure"; none where it is opened or closed.
    pub state: Option<String>,
}

/// Bottles that give air in a state.
#[derive(Clone, Debug, JsonSchema, Serialize)]
pub struct StateBottlesRecord {
    /// Name of the bank.
    pub name: String,
    /// What it gives once the pressures have settled.
    pub flow_m3_per_s: f64,
    /// How long full bottles give that, in seconds; none where it is not stated what one holds.
    pub lasts_s: Option<f64>,
}

/// What a sensor reads in a state.
#[derive(Clone, Debug, JsonSchema, Serialize)]
pub struct StateSensorRecord {
    /// Name of the sensor or contact.
    pub name: String,
    /// The signal of it that is read, as a run names it: "pressure", "flow".
    pub signal: String,
    /// The unit of the readings.
    pub unit: String,
    /// The step that it is reported by, or else the sensor's error, in that unit.
    pub step: Option<f64>,
    /// What it reads in the normal state.
    pub normal: Option<f64>,
    /// What it reads in this state; none where that is not known.
    pub reading: Option<f64>,
    /// The limits that this passes by more than the sensor's error.
    pub passes: Vec<String>,
}

/// Something that is expected in a state.
#[derive(Clone, Debug, JsonSchema, Serialize)]
pub struct ExpectationRecord {
    /// What, as it is written.
    pub what: String,
    /// Whether it holds; none where that is not known.
    pub holds: Option<bool>,
    /// Where it does not hold, the figures that decide: the lowest pressure, or each limit that should be passed or should not.
    pub unmet: Vec<UnmetRecord>,
}

/// A figure that does not meet an expectation.
#[derive(Clone, Debug, JsonSchema, Serialize)]
pub struct UnmetRecord {
    /// The cable, branch or pipe, or the sensor.
    pub name: String,
    /// How far along that cable, branch or pipe.
    pub distance_m: Option<f64>,
    /// The unit of the figures.
    pub unit: String,
    /// What is computed there.
    pub computed: f64,
    /// What it should be above, or the limit.
    pub bound: f64,
    /// How long after the beginning; none where all has settled.
    pub after_s: Option<f64>,
    /// How long after the beginning it fell below the bound, where it should have stayed above it all the time.
    pub below_after_s: Option<f64>,
}

/// A place in a file.
#[derive(Clone, Debug, JsonSchema, Serialize)]
pub struct PlaceRecord {
    /// The file, as it was named.
    pub file: String,
    /// The line, from 1.
    pub line: u32,
    /// The column in characters, from 1.
    pub column: u32,
}

/// The air around the office and in its network.
#[derive(Clone, Debug, JsonSchema, Serialize)]
pub struct ConditionsRecord {
    /// Elevation; none where the office does not say, and then the air is that at sea level.
    pub elevation_m: Option<f64>,
    /// Absolute pressure of the surrounding air by ISO 2533.
    pub ambient_absolute_pa: f64,
    /// Temperature of the air in the network.
    pub air_temperature_k: f64,
    /// Coldest temperature of the cable.
    pub coldest_k: Option<f64>,
    /// Absolute pressure at which the repository's standard units, such as scfh, count. The flows of this record do not depend on
    /// it.
    pub standard_absolute_pa: f64,
    /// Temperature at which they count.
    pub standard_temperature_k: f64,
}

/// A thing of which nothing is computed because of its stage.
#[derive(Clone, Debug, JsonSchema, Serialize)]
pub struct LeftOutRecord {
    /// The name of the thing.
    pub name: String,
    /// Why it is left out: its stage, "planned" or "disused".
    pub stage: String,
}

impl LeftOutRecord {
    /// Each of some things with its stage, in a row.
    pub(crate) fn row(left_out: &[Self]) -> String {
        let named: Vec<String> = left_out
            .iter()
            .map(|thing| format!("{} ({})", thing.name, thing.stage))
            .collect();
        named.join(", ")
    }
}

/// Something that the file does not say.
#[derive(Clone, Debug, JsonSchema, Serialize)]
pub struct MissingRecord {
    /// The missing input, in words.
    pub what: String,
    /// The figures that need it.
    pub unlocks: String,
    /// Where it could be said.
    pub place: PlaceRecord,
}

/// Something in the file that could not be read.
#[derive(Clone, Debug, JsonSchema, Serialize)]
pub struct UnreadRecord {
    /// What is wrong with it, in words.
    pub why: String,
    /// Place of the text that could not be read.
    pub place: PlaceRecord,
}

/// A computation that failed.
#[derive(Clone, Debug, JsonSchema, Serialize)]
pub struct FailureRecord {
    /// The reason why it is not computed, in words.
    pub why: String,
    /// The thing that it is about.
    pub on: Option<String>,
}

/// What is computed of a dryer.
#[derive(Clone, Debug, JsonSchema, Serialize)]
pub struct DryerRecord {
    /// The name of the dryer.
    pub name: String,
    /// The pressure that it delivers.
    pub delivers_pa: Option<f64>,
    /// The flow that it gives in the normal state.
    pub flow_m3_per_s: Option<f64>,
    /// What it can give here.
    pub capacity_m3_per_s: Option<f64>,
    /// What it would have to give to hold its pressure, where that is more than it can.
    pub asked_m3_per_s: Option<f64>,
    /// What it gives over what it can.
    pub duty: Option<f64>,
    /// How long its compressor runs at a time, in seconds, where what its tank holds between two pressures is stated.
    pub on_s: Option<f64>,
    /// How long it rests then, in seconds.
    pub off_s: Option<f64>,
    /// How often it starts in an hour.
    pub starts_per_hour: Option<f64>,
    /// Whether it supplies no air because another source holds a higher pressure.
    pub backed_up: bool,
    /// Where its air is saturated at the pressure that it delivers.
    pub saturation: Option<SaturationRecord>,
}

/// What is computed of bottles.
#[derive(Clone, Debug, JsonSchema, Serialize)]
pub struct BottleRecord {
    /// The name of the bottles.
    pub name: String,
    /// The pressure that they deliver.
    pub delivers_pa: Option<f64>,
    /// What they have to give.
    pub flow_m3_per_s: Option<f64>,
    /// What everything uses that they feed or stand by for.
    pub usage_m3_per_s: Option<f64>,
    /// How long full bottles last at that usage, in seconds.
    pub lasts_s: Option<f64>,
}

/// How long the pressures hold once sources stop, with the air that sections, pipes, tanks and bottles hold.
#[derive(Clone, Debug, JsonSchema, Serialize)]
pub struct HoldUpRecord {
    /// The sources that stop, all at the same time.
    pub stops: Vec<String>,
    /// How long it takes until the first place is below what it needs, in seconds. None where that is not known, and where it takes
    /// more than a hundred days.
    pub time_s: Option<f64>,
    /// Whether it takes more than a hundred days.
    pub lasts: bool,
    /// The cable or pipe that the place is on. Of several places that fall at about the same time it is one.
    pub line: Option<String>,
    /// The branch of that cable; none on the trunk and on pipes.
    pub branch: Option<String>,
    /// Where on it, from its beginning, in metres.
    pub distance_m: Option<f64>,
    /// What the pressure falls below there: "minimum" or "water head".
    pub under: Option<String>,
    /// How much that is.
    pub least_pa: Option<f64>,
    /// Why it is not known.
    pub not_known: Option<String>,
    /// Those of the sources that nothing keeps air from flowing back into. What leaves there is not counted, so that pressures may fall
    /// sooner.
    pub back_flow: Vec<String>,
}

/// Where air is saturated.
#[derive(Clone, Debug, JsonSchema, Serialize)]
pub struct SaturationRecord {
    /// The air temperature that is computed with, in kelvins.
    pub temperature_k: f64,
    /// "dew point over water" or "frost point over ice".
    pub name: String,
    /// The absolute pressure that this holds for.
    pub at_absolute_pa: f64,
}

/// What is computed of a regulator.
#[derive(Clone, Debug, JsonSchema, Serialize)]
pub struct RegulatorRecord {
    /// The name of the regulator.
    pub name: String,
    /// The set pressure in pascals, as gauge pressure.
    pub set_pa: Option<f64>,
    /// Pressure of its supply.
    pub inlet_pa: Option<f64>,
    /// The pressure downstream of it in pascals, as gauge pressure. Not known where it is out of regulation.
    pub outlet_pa: Option<f64>,
    /// Where it is out of regulation, the lowest value that is possible.
    pub outlet_least_pa: Option<f64>,
    /// Where it is out of regulation, the highest value that is possible.
    pub outlet_most_pa: Option<f64>,
    /// The flow through it at standard conditions, in cubic metres per second.
    pub flow_m3_per_s: Option<f64>,
    /// "regulating", "out of regulation" or "shut by back pressure".
    pub state: Option<String>,
}

/// One stretch of an air run.
#[derive(Clone, Debug, JsonSchema, Serialize)]
pub struct TubeRecord {
    /// The thing it comes from.
    pub from: String,
    /// The thing it leads to.
    pub to: String,
    /// Which piece of its run it is, counted from 1 along the arrow, where the run consists of several.
    pub piece: Option<u32>,
    /// Flow along the arrow.
    pub flow_m3_per_s: f64,
    /// The pressure drop along it, in pascals.
    pub drop_pa: f64,
    /// The Reynolds number of its flow.
    pub reynolds: f64,
    /// "laminar", "uncertain" or "turbulent".
    pub regime: String,
}

/// What a filter, a valve or a sensor takes from the air.
#[derive(Clone, Debug, JsonSchema, Serialize)]
pub struct LossRecord {
    /// The name of the thing.
    pub name: String,
    /// The flow through it, from its inlet to its outlet.
    pub flow_m3_per_s: Option<f64>,
    /// The pressure that it takes at that flow.
    pub loses_pa: Option<f64>,
    /// The largest flow for which its loss is stated.
    pub stated_to_m3_per_s: Option<f64>,
}

/// A cable, a branch of one, or an air pipe.
#[derive(Clone, Debug, JsonSchema, Serialize)]
pub struct LineRecord {
    /// The cable or pipe.
    pub name: String,
    /// The branch of it.
    pub branch: Option<String>,
    /// The length in metres, where it is known.
    pub length_m: Option<f64>,
    /// Its sections; a pipe has one without a name.
    pub sections: Vec<SectionRecord>,
    /// Places along it, from its beginning outwards.
    pub points: Vec<PointRecord>,
}

/// A section of cable, or a whole pipe.
#[derive(Clone, Debug, JsonSchema, Serialize)]
pub struct SectionRecord {
    /// The name of the section, where it has one.
    pub name: Option<String>,
    /// The distance at which it begins, in metres.
    pub from_m: f64,
    /// The distance at which it ends, in metres.
    pub to_m: f64,
    /// What it lies in.
    pub surroundings: Option<String>,
    /// The minimum pressure that is declared.
    pub minimum_pa: Option<f64>,
    /// The head of water at its depth.
    pub water_head_pa: Option<f64>,
    /// The lowest pressure in it.
    pub lowest_pa: Option<f64>,
    /// The distance of its lowest pressure, in metres.
    pub lowest_at_m: Option<f64>,
}

/// A place along a line.
#[derive(Clone, Debug, JsonSchema, Serialize)]
pub struct PointRecord {
    /// Distance from the beginning of the line.
    pub distance_m: f64,
    /// What is there: an end of the line, of a section, a named place, a sensor, a branch.
    pub what: String,
    /// The pressure at that place in pascals, as gauge pressure.
    pub pressure_pa: Option<f64>,
    /// The outward flow at that place at standard conditions, in cubic metres per second.
    pub flow_m3_per_s: Option<f64>,
    /// The minimum pressure that is declared there; where two sections meet, the greater.
    pub minimum_pa: Option<f64>,
    /// Pressure less the minimum pressure.
    pub margin_pa: Option<f64>,
}

/// A signal of a sensor.
#[derive(Clone, Debug, JsonSchema, Serialize)]
pub struct SensorRecord {
    /// The name of the sensor.
    pub name: String,
    /// The signal of the sensor, such as `pressure`.
    pub signal: String,
    /// The unit of the figures below: "Pa", "m3/s", "1" for relative humidity, "K" for a dew point.
    pub unit: String,
    /// The cable, branch or pipe that it is mounted on.
    pub line: Option<String>,
    /// The branch of that line.
    pub branch: Option<String>,
    /// Where on that line.
    pub distance_m: Option<f64>,
    /// What it should read.
    pub expected: Option<f64>,
    /// Bottom and top of its span.
    pub span: Option<[f64; 2]>,
    /// Where in the span the expected reading lies: 0 at the bottom, 1 at the top.
    pub span_part: Option<f64>,
    /// The step that it is reported by, or else the sensor's error, in the record's unit.
    pub step: Option<f64>,
    /// The stated error of the sensor, in the record's unit.
    pub error: Option<f64>,
    /// The limits that are set on the signal.
    pub limits: Vec<LimitRecord>,
}

/// A limit of a sensor.
#[derive(Clone, Debug, JsonSchema, Serialize)]
pub struct LimitRecord {
    /// "low-low", "low", "high" or "high-high".
    pub level: String,
    /// The reading that trips it.
    pub value: f64,
    /// The severity (ITU-T X.733).
    pub severity: Option<String>,
    /// How far the expected reading is on the good side of it.
    pub margin: Option<f64>,
}

/// What the limits of the office would report of a leak at one place: a limit counts that is quiet when all is well, and trips once the
/// reading is past it by more than the sensor's error.
#[derive(Clone, Debug, JsonSchema, Serialize)]
pub struct DetectionRecord {
    /// The cable or pipe.
    pub line: String,
    /// The branch of that cable; none on the trunk and on pipes.
    pub branch: Option<String>,
    /// Where on it, from its beginning, in metres.
    pub distance_m: f64,
    /// The smallest leak that a limit surely reports, by what it loses at the normal pressure of its place. None where not even a
    /// complete cut trips one.
    pub smallest_leak_m3_per_s: Option<f64>,
    /// The sensor, or the dryer with the contact, whose limit that trips first.
    pub first: Option<String>,
    /// The signal of it that has the limit: "flow", "contact low-pressure".
    pub signal: Option<String>,
    /// That limit: "low-low", "low", "high" or "high-high".
    pub limit: Option<String>,
}

/// A line of which nothing is known of leaks.
#[derive(Clone, Debug, JsonSchema, Serialize)]
pub struct DetectionNotKnownRecord {
    /// The cable or pipe.
    pub line: String,
    /// The branch of the cable, where the line is one.
    pub branch: Option<String>,
    /// Why: what is not known of it or of a line that is joined with it.
    pub why: String,
}

/// The feed of a load.
#[derive(Clone, Debug, JsonSchema, Serialize)]
pub struct FeedRecord {
    /// The name of the load.
    pub load: String,
    /// The name of the battery that feeds it.
    pub battery: String,
    /// Voltage at the battery at its end of discharge, with its sign.
    pub source_v: f64,
    /// Power that the load draws.
    pub power_w: f64,
    /// Resistance of the conductors, out and back.
    pub resistance_ohm: f64,
    /// Temperature of the conductors.
    pub wire_temperature_k: f64,
    /// Voltage at the load, with its sign.
    pub voltage_v: Option<f64>,
    /// The current that the load draws, in amperes.
    pub current_a: Option<f64>,
    /// The end of the load's window that is nearer to zero.
    pub least_v: Option<f64>,
    /// Why there is no voltage.
    pub failure: Option<String>,
}

/// The loop over which an output of a monitor switches something.
#[derive(Clone, Debug, JsonSchema, Serialize)]
pub struct ControlRecord {
    /// The name of the monitor.
    pub monitor: String,
    /// The number of its output, a text where letters are printed before it.
    pub output: PortNumber,
    /// The name of the device that is switched.
    pub device: String,
    /// Which of its controls.
    pub control: String,
    /// Resistance at the hottest.
    pub resistance_ohm: f64,
    /// The hottest temperature of the pairs.
    pub hottest_k: f64,
    /// The voltage that the output gives.
    pub source_v: Option<f64>,
    /// The most current of the control.
    pub current_a: Option<f64>,
    /// The voltage that is left at the control.
    pub left_v: Option<f64>,
    /// The least voltage that the control needs.
    pub least_v: Option<f64>,
}

/// A loop of a sensor or contact.
#[derive(Clone, Debug, JsonSchema, Serialize)]
pub struct LoopRecord {
    /// The name of the device.
    pub device: String,
    /// The signal that the loop carries.
    pub signal: String,
    /// The name of the monitor.
    pub monitor: String,
    /// Which of the monitor's inputs: "sensor" or "contact".
    pub input_kind: String,
    /// The number of the monitor's input, a text where letters are printed before it.
    pub input: PortNumber,
    /// Resistance at the hottest.
    pub resistance_ohm: f64,
    /// Resistance at 20 °C.
    pub resistance_at_20_ohm: f64,
    /// The hottest temperature of the pairs.
    pub hottest_k: f64,
    /// The most that it may have.
    pub limit_ohm: Option<f64>,
    /// What sets that limit.
    pub limited_by: Option<String>,
}

/// What would be right for one thing, and why.
#[derive(Clone, Debug, JsonSchema, Serialize)]
pub struct SizingRecord {
    /// The thing, run or limit that is sized, by the name that `--size` takes.
    pub of: String,
    /// Its figures, each with what bounds it.
    pub figures: Vec<SizeFigureRecord>,
    /// The parts that could be taken, where it is a part that is chosen; first what the file has now.
    pub parts: Vec<SizePartRecord>,
    /// What the bounds take for granted.
    pub notes: Vec<String>,
}

/// A figure that is to be chosen.
#[derive(Clone, Debug, JsonSchema, Serialize)]
pub struct SizeFigureRecord {
    /// What it is, in words.
    pub what: String,
    /// The SI unit of its figures; pressures are above the surrounding air, a wire is given by the area of its metal.
    pub unit: String,
    /// What the file has now.
    pub stated: Option<f64>,
    /// Where it says so.
    pub place: Option<PlaceRecord>,
    /// The highest of `least`.
    pub at_least: Option<f64>,
    /// The lowest of `most`; nothing is right where it is below `at_least`.
    pub at_most: Option<f64>,
    /// The figure to take; none where nothing is right or too little is known, and where a part is chosen instead.
    pub take: Option<f64>,
    /// Why `take` is that figure and no other within the bounds.
    pub because: Option<String>,
    /// What it must not be below, the highest first.
    pub least: Vec<SizeBoundRecord>,
    /// What it must not be above, the lowest first.
    pub most: Vec<SizeBoundRecord>,
    /// What is missing for a bound.
    pub missing: Vec<String>,
}

/// A figure that bounds a choice.
#[derive(Clone, Debug, JsonSchema, Serialize)]
pub struct SizeBoundRecord {
    /// What the figure must not be below or above, in its unit.
    pub value: f64,
    /// Why it is one.
    pub because: String,
    /// What it is computed from.
    pub inputs: Vec<SizeInputRecord>,
}

/// A figure that a bound is computed from.
#[derive(Clone, Debug, JsonSchema, Serialize)]
pub struct SizeInputRecord {
    /// What the figure is, in words: "length", "supply at its inlet".
    pub what: String,
    /// The figure with its unit.
    pub said: String,
    /// Where a file states it.
    pub place: Option<PlaceRecord>,
    /// The settings file that states it, or where its default, table or law comes from; none where it is computed from the office.
    pub source: Option<String>,
}

/// A part that could be taken.
#[derive(Clone, Debug, JsonSchema, Serialize)]
pub struct SizePartRecord {
    /// Name of the part, or of the thing itself for what the file has now.
    pub name: String,
    /// Where it is declared.
    pub place: PlaceRecord,
    /// The figures that decide, with their units.
    pub figures: String,
    /// Whether it does all that is wanted; none where something that decides is not stated.
    pub fits: Option<bool>,
    /// Whether it is the one to take.
    pub take: bool,
    /// What speaks for it.
    pub merits: Vec<String>,
    /// What speaks against it.
    pub faults: Vec<String>,
    /// What it does not state.
    pub missing: Vec<String>,
}

/// What the readings of one day make of the declared figures.
#[derive(Clone, Debug, JsonSchema, Serialize)]
pub struct FitRecord {
    /// The day, as year, month and day.
    pub day: String,
    /// Each air system of which something was read.
    pub systems: Vec<FitSystemRecord>,
    /// The readings of that day that do not count.
    pub unused: Vec<FitUnusedRecord>,
}

/// What the readings of one day make of an air system.
#[derive(Clone, Debug, JsonSchema, Serialize)]
pub struct FitSystemRecord {
    /// The readings of that day in this system, each beside what is computed for it.
    pub readings: Vec<FitReadingRecord>,
    /// The figures; none where they cannot be computed.
    pub figures: Vec<FitFigureRecord>,
    /// Why there are none.
    pub not_computed: Option<String>,
    /// Figures that the readings tell only together, each list by their names.
    pub together: Vec<Vec<String>>,
    /// What readings and figures are off by, each in its standard deviation and squared, in sum.
    pub chi_squared: Option<f64>,
    /// The number of readings.
    pub degrees_of_freedom: usize,
    /// What `chi_squared` is at most nineteen times in twenty, where nothing but the declared uncertainties and the sensors' errors is behind it.
    pub chi_squared_most: f64,
}

/// A reading beside what is computed for it.
#[derive(Clone, Debug, JsonSchema, Serialize)]
pub struct FitReadingRecord {
    /// Name of the sensor or place that was read.
    pub name: String,
    /// The `reading` statement in the office file.
    pub place: PlaceRecord,
    /// The SI unit of its figures.
    pub unit: String,
    /// The figure that was read.
    pub read: f64,
    /// The standard deviation of its error.
    pub deviation: f64,
    /// What follows from the declared figures.
    pub declared: Option<f64>,
    /// What follows from the fitted ones.
    pub fitted: Option<f64>,
}

/// A declared figure beside what the readings make of it.
#[derive(Clone, Debug, JsonSchema, Serialize)]
pub struct FitFigureRecord {
    /// Whose figure it is.
    pub of: String,
    /// Which: usage, resistance, set pressure, or the pressure that a dryer or bottle delivers.
    pub what: String,
    /// The SI unit of its figures.
    pub unit: String,
    /// Where it is stated; none where it is a default.
    pub place: Option<PlaceRecord>,
    /// The part that states it, which other things may be of too.
    pub part: Option<String>,
    /// As it is declared.
    pub declared: f64,
    /// The most likely value, given the readings.
    pub fitted: f64,
    /// Two standard deviations below.
    pub least: f64,
    /// Two standard deviations above.
    pub most: f64,
    /// What part of its standard deviation before the readings they leave.
    pub left_open: f64,
    /// Whether that is less than half.
    pub told: bool,
    /// The reading that pulls it most.
    pub pulled_by: Option<String>,
    /// By how much, in the figure's unit.
    pub pull: Option<f64>,
}

/// A reading that does not count.
#[derive(Clone, Debug, JsonSchema, Serialize)]
pub struct FitUnusedRecord {
    /// Name of the sensor or place that was read.
    pub name: String,
    /// The `reading` statement in the office file.
    pub place: PlaceRecord,
    /// Why it does not count.
    pub why: String,
}
