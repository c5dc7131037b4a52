//! The records as a document for programs. Figures are in the unit that the record names; fields in a fixed unit have
//! it in their name.

use std::collections::BTreeMap;

use schemars::JsonSchema;
use serde::Serialize;

use super::difference::Counts;
use crate::matching::OfficeNames;
use crate::port_number::PortNumber;
use crate::prediction::LeftOutRecord;

/// Value of [`RecordsReport::form`].
pub const RECORDS_FORM: u32 = 1;

/// The records of some offices.
#[derive(Clone, Debug, JsonSchema, Serialize)]
pub struct RecordsReport {
    /// The form of this document; it grows when a field is taken away or changes its meaning.
    pub form: u32,
    /// The offices, in the order of the arguments.
    pub offices: Vec<OfficeRecords>,
    /// The comparison with the records of an earlier revision, if one was requested.
    pub since: Option<SinceRecord>,
}

/// The records of one office.
#[derive(Clone, Debug, JsonSchema, Serialize)]
pub struct OfficeRecords {
    /// The office's name in its file.
    pub office: String,
    /// A name that the office had before.
    pub formerly: Option<String>,
    /// Its name as people say it.
    pub title: Option<String>,
    /// The site code of the office.
    pub site: Option<String>,
    /// The file of the office, as it was named.
    pub file: String,
    /// "planned", "installed" or "in-service".
    pub stage: String,
    /// The number of the order that it was built by.
    pub order: Option<String>,
    /// The monitors of the office.
    pub monitors: Vec<MonitorRecord>,
    /// One record for each input that a signal comes to and each output that switches a control, by monitor and input.
    pub records: Vec<InputRecord>,
    /// What else has facts of the repository's own or an order's number: equipment that is wired to no input or output.
    pub others: Vec<OtherRecord>,
    /// What there are no records of because of its stage.
    pub left_out: Vec<LeftOutRecord>,
    /// What is missing before anyone is called.
    pub missing: Vec<MissingItem>,
}

impl OfficeRecords {
    /// Prefix of the keys of its records: its site code, or else its name.
    pub(super) fn site_or_name(&self) -> &str {
        self.site.as_deref().unwrap_or(&self.office)
    }

    /// The properties that identify the office in another state, given the path of its file.
    pub(super) fn names<'o>(&'o self, path: &'o str) -> OfficeNames<'o> {
        OfficeNames {
            path,
            site: self.site.as_deref(),
            name: &self.office,
            former_name: self.formerly.as_deref(),
        }
    }
}

/// A monitor and how much of it is in use.
#[derive(Clone, Debug, JsonSchema, Serialize)]
pub struct MonitorRecord {
    /// The name of the monitor.
    pub name: String,
    /// How it reports: "lan 192.0.2.11" or "dialled 555-0142".
    pub link: Option<String>,
    /// How many inputs it has.
    pub inputs: u32,
    /// How many of them a signal comes to.
    pub in_use: u32,
    /// What people call it.
    pub title: Option<String>,
    /// Facts of the repository's own, by their names.
    pub recorded: BTreeMap<String, String>,
}

/// Equipment that is wired to no input or output: a regulator, a panel, a block.
#[derive(Clone, Debug, JsonSchema, PartialEq, Serialize)]
pub struct OtherRecord {
    /// Name of the equipment in the office file.
    pub name: String,
    /// What people call it.
    pub title: Option<String>,
    /// What it is, such as "regulator".
    pub kind: String,
    /// The part that it is one of.
    pub part: Option<String>,
    /// The maker's name for it.
    pub model: Option<String>,
    /// Facts of the repository's own, by their names.
    pub recorded: BTreeMap<String, String>,
    /// The number of the order that it came by.
    pub order: Option<String>,
    /// Where it is mounted.
    pub place: LocationRecord,
}

/// What is to be entered for one input, or for one output.
#[derive(Clone, Debug, JsonSchema, PartialEq, Serialize)]
pub struct InputRecord {
    /// The key of the record, which stays when other fields change: site code, device and signal.
    pub key: String,
    /// The office's name in its file.
    pub office: String,
    /// The office's name as people say it.
    pub title: Option<String>,
    /// The site code of the office.
    pub site: Option<String>,
    /// The name of the monitor.
    pub monitor: String,
    /// What kind of input it is, or that it is an output.
    pub input_kind: InputKind,
    /// The number of the input among those of its kind, a text where letters are printed before it.
    pub input: PortNumber,
    /// The address of the device, where that tells it from others on the same input.
    pub address: Option<u32>,
    /// The name of the device.
    pub device: String,
    /// What people call the device.
    pub device_title: Option<String>,
    /// What the device is, such as "pressure-sensor".
    pub kind: String,
    /// Which of its signals.
    pub signal: String,
    /// The part that the device is one of.
    pub part: Option<String>,
    /// The maker's name for it.
    pub model: Option<String>,
    /// Facts of the repository's own, by their names.
    pub recorded: BTreeMap<String, String>,
    /// What a contact reports.
    pub reports: Option<String>,
    /// The number of the order that the device came by.
    pub order: Option<String>,
    /// Where the device is mounted.
    pub place: LocationRecord,
    /// The unit of span, step, normal, expected and limits.
    pub unit: Option<String>,
    /// Bottom and top of what it can read.
    pub span: Option<[f64; 2]>,
    /// The smallest step of its reading.
    pub step: Option<f64>,
    /// What the office says that it reads when all is well.
    pub normal: Option<f64>,
    /// What it should read by computation.
    pub expected: Option<f64>,
    /// The readings that raise an alarm.
    pub limits: Vec<LimitEntry>,
    /// The state of a contact in normal operation: "closed" or "open".
    pub healthy: Option<String>,
    /// The pairs of blocks on the way, from the device to the input.
    pub block_pairs: Vec<BlockPair>,
    /// The pairs of cables on the way, from the device to the input.
    pub cable_pairs: Vec<CablePair>,
    /// The expected resistance of the loop.
    #[serde(rename = "loop")]
    pub ohms: Option<LoopEntry>,
}

impl InputRecord {
    /// The device's name, and its title.
    pub(super) fn called(&self) -> String {
        match &self.device_title {
            Some(title) => format!("{} ({title})", self.device),
            None => self.device.clone(),
        }
    }
}

/// The kinds of inputs of a monitor, in the order of the records, and its outputs.
#[derive(Clone, Copy, Debug, Eq, JsonSchema, Ord, PartialEq, PartialOrd, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum InputKind {
    /// It reads a figure.
    Sensor,
    /// It is open or closed.
    Contact,
    /// An output, which switches a control.
    Output,
}

impl InputKind {
    /// Word in the file.
    pub fn word(self) -> &'static str {
        match self {
            Self::Sensor => "sensor",
            Self::Contact => "contact",
            Self::Output => "output",
        }
    }
}

/// Where a device is mounted.
#[derive(Clone, Debug, JsonSchema, PartialEq, Serialize)]
pub struct LocationRecord {
    /// "office", or where on which cable or air pipe, in a phrase.
    pub text: String,
    /// The cable or air pipe.
    pub line: Option<String>,
    /// The branch of it.
    pub branch: Option<String>,
    /// The distance from the office end or from the beginning of the branch, with its unit.
    pub distance: Option<String>,
    /// The section that it lies in.
    pub section: Option<String>,
    /// The room that it is in, as people call it.
    pub room: Option<String>,
    /// Where to find it there.
    pub location: Option<String>,
}

/// A reading that raises an alarm.
#[derive(Clone, Debug, JsonSchema, PartialEq, Serialize)]
pub struct LimitEntry {
    /// "low-low", "low", "high" or "high-high".
    pub level: String,
    /// The reading that trips the limit, in the record's unit.
    pub value: f64,
    /// "critical", "major", "minor" or "warning".
    pub severity: Option<String>,
    /// How far the reading must come back before the alarm clears.
    pub deadband: Option<f64>,
}

/// A pair of a block.
#[derive(Clone, Debug, JsonSchema, PartialEq, Serialize)]
pub struct BlockPair {
    /// The name of the block.
    pub block: String,
    /// The number of the pair on the block, a text where letters are printed before it.
    pub pair: PortNumber,
    /// Colours of tip and ring.
    pub colours: Option<TipAndRing>,
    /// Pins of tip and ring, of a connector.
    pub pins: Option<Pins>,
}

/// A pair of a cable or lead.
#[derive(Clone, Debug, JsonSchema, PartialEq, Serialize)]
pub struct CablePair {
    /// The name of the cable or lead.
    pub cable: String,
    /// The number of the pair in the cable.
    pub pair: u32,
    /// Colours of tip and ring.
    pub colours: Option<TipAndRing>,
    /// What binds the pair's group, of a cable that has groups.
    pub binder: Option<BinderRecord>,
}

/// Colours of a pair, in the two letters of the trade.
#[derive(Clone, Debug, JsonSchema, PartialEq, Serialize)]
pub struct TipAndRing {
    /// The colour of the tip conductor.
    pub tip: String,
    /// The colour of the ring conductor.
    pub ring: String,
}

/// Pins of a pair on a 50-position connector.
#[derive(Clone, Debug, JsonSchema, PartialEq, Serialize)]
pub struct Pins {
    /// Which connector, where there are several, from 1.
    pub connector: u32,
    /// The pin of the tip conductor.
    pub tip: u32,
    /// The pin of the ring conductor.
    pub ring: u32,
}

/// What binds a group of pairs.
#[derive(Clone, Debug, JsonSchema, PartialEq, Serialize)]
pub struct BinderRecord {
    /// The group's number, from 1.
    pub group: u32,
    /// The colours of the binder around the group.
    pub colours: TipAndRing,
    /// The colour around the super-unit, of a cable that has several.
    pub super_unit: Option<String>,
}

/// What the loop should measure, there and back.
#[allow(clippy::struct_field_names, reason = "a figure's name ends with its unit")]
#[derive(Clone, Debug, JsonSchema, PartialEq, Serialize)]
pub struct LoopEntry {
    /// The resistance of the loop at 20 °C, in ohms.
    pub at_20_ohm: f64,
    /// At the hottest that the pairs get.
    pub hottest_ohm: f64,
    /// The most that it may have.
    pub most_ohm: Option<f64>,
}

/// Something that is missing before anyone is called.
#[derive(Clone, Debug, JsonSchema, PartialEq, Serialize)]
pub struct MissingItem {
    /// The record that it is about, if it is about one.
    pub key: Option<String>,
    /// The rule that reports it, which `accept` and the settings name.
    pub rule: String,
    /// The missing item, in words.
    pub what: String,
    /// How to complete or correct it.
    pub help: Option<String>,
    /// The file that it is missing from, as it was named.
    pub file: String,
    /// The line, from 1.
    pub line: u32,
}

/// The comparison with the records of an earlier revision.
#[derive(Clone, Debug, JsonSchema, Serialize)]
pub struct SinceRecord {
    /// The revision, as it was named.
    pub revision: String,
    /// How many there are of each: before + new - withdrawn = after.
    pub counts: Counts,
    /// The keys of those that are new.
    pub new: Vec<String>,
    /// The records that are in both revisions and differ.
    pub changed: Vec<Changed>,
    /// Those that are there no more, as they were.
    pub withdrawn: Vec<InputRecord>,
}

/// A record that changed.
#[derive(Clone, Debug, JsonSchema, PartialEq, Serialize)]
pub struct Changed {
    /// The key of the record now.
    pub key: String,
    /// Its key before, if device or site got another name.
    pub was_key: Option<String>,
    /// What changed in it.
    pub fields: Vec<FieldChange>,
}

/// A field that changed.
#[derive(Clone, Debug, JsonSchema, PartialEq, Serialize)]
pub struct FieldChange {
    /// The field, as the CSV form names it.
    pub field: String,
    /// What it was; empty where nothing was said.
    pub old: String,
    /// Its value; empty where none is written.
    pub new: String,
}
