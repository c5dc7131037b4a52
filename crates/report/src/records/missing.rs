//! What is missing before anyone is called.

use drysheath_explanation::loop_of;
use drysheath_office::kinds::{Key, KindId};
use drysheath_office::{Fields, Office, Thing};
use drysheath_prediction::{NeededFor, SignalPath, signal_paths};
use drysheath_rules::{Finding, Level};
use drysheath_text::{Place, TextRange};
use rustc_hash::FxHashSet;

use super::record::{InputRecord, MissingItem, OfficeRecords};
use crate::View;

/// Something that is missing, and where.
struct Lack {
    key: Option<String>,
    what: String,
    place: Place,
}

impl View<'_> {
    /// The records of the office and what is missing in them; `findings` are the results of linting it.
    pub fn records(&self, findings: &[Finding]) -> OfficeRecords {
        let mut records = self.input_records();
        let mut lacks = Vec::new();
        self.of_office(&records, &mut lacks);
        self.of_inputs(&mut lacks);
        for record in &records.records {
            self.of_record(record, &mut lacks);
        }
        let is_error = |finding: &&Finding| finding.level == Level::Error && finding.accepted.is_none();
        self.of_loops(&records, findings.iter().any(|finding| is_error(&finding)), &mut lacks);
        let known: FxHashSet<Place> = lacks.iter().map(|lack| lack.place).collect();
        // What is missing here and said by a rule at the same place is one thing.
        let errors = findings.iter().filter(is_error);
        for error in errors.filter(|error| !known.contains(&error.place)) {
            lacks.push(Lack {
                key: None,
                what: format!("{}: {}", error.rule.name(), error.message),
                place: error.place,
            });
        }
        records.missing = lacks
            .into_iter()
            .map(|lack| {
                let place = self.place(lack.place);
                MissingItem {
                    key: lack.key,
                    what: lack.what,
                    file: place.file,
                    line: place.line,
                }
            })
            .collect();
        records
    }

    fn of_office(&self, records: &OfficeRecords, lacks: &mut Vec<Lack>) {
        let office = self.office;
        let Some(itself) = office.itself.map(|id| office.thing(id)) else {
            return;
        };
        let mut lack = |what: &str| lacks.push(lack(None, what, office.place(itself.name)));
        if records.site.is_none() {
            lack("the office has no site code, and records are known by it");
        }
        if office.is_planned() {
            lack("the office is still planned: nothing is in place to be tested");
        }
        if records.records.is_empty() {
            lack("no signal comes to any input of a monitor");
        }
        for (_, monitor) in office.of_kind(KindId::Monitor) {
            if !monitor.has(Key::Link) {
                let what = format!(
                    "how `{}` reports, by LAN or dialled line",
                    monitor.name.of(&office.text)
                );
                lacks.push(self::lack(None, &what, office.place(monitor.name)));
            }
        }
    }

    /// Inputs that a wire comes to, and no one signal.
    fn of_inputs(&self, lacks: &mut Vec<Lack>) {
        let (office, wire) = (self.office, &self.networks.wire);
        let told: Vec<_> = signal_paths(wire).map(|way| way.input).collect();
        let inputs = wire.terminals().filter(|(_, terminal)| terminal.port.role.is_input());
        for (id, terminal) in inputs {
            let is_told = told.iter().any(|other| {
                other.thing == terminal.thing
                    && std::ptr::eq(other.port, terminal.port)
                    && other.number == terminal.number
            });
            if is_told {
                continue;
            }
            let (name, word, number) = (office.name(terminal.thing), terminal.port.word, terminal.number);
            let what = format!(
                "which signal {word} input {number} of `{name}` reads: a wire comes to it, and not from one signal alone"
            );
            let range = wire
                .joints_at(id)
                .next()
                .map_or(TextRange::default(), |joint| joint.range_at(id));
            lacks.push(lack(None, &what, office.place(range)));
        }
    }

    fn of_record(&self, record: &InputRecord, lacks: &mut Vec<Lack>) {
        let office = self.office;
        // What a damaged thing lacks proves nothing.
        let Some(thing) = named(office, &record.device).filter(|thing| !thing.damaged) else {
            return;
        };
        let at = office.place(thing.name);
        let device = &record.device;
        let mut lack = |what: String| lacks.push(lack(Some(&record.key), &what, at));
        if record.input_kind == "contact" {
            if record.healthy.is_none() {
                lack(format!("how `{device}` stands while all is well: closed or open"));
            }
        } else {
            if record.span.is_none() {
                lack(format!("the span of `{device}`"));
            }
            if record.limits.is_empty() {
                lack(format!(
                    "a limit of `{device}` {}: nothing would raise an alarm",
                    record.signal
                ));
            }
        }
        for limit in &record.limits {
            let absent = match (&limit.severity, limit.deadband) {
                (None, None) => "severity and deadband",
                (None, Some(_)) => "severity",
                (Some(_), None) => "deadband",
                (Some(_), Some(_)) => continue,
            };
            lack(format!("{absent} of the {} limit of `{device}`", limit.level));
        }
        if record.place.line.is_some() && record.cable_pairs.is_empty() {
            lack(format!("the cable pair that `{device}` comes in on"));
        }
        if record.block_pairs.is_empty() {
            lack(format!("the block pair that `{device}` lands on"));
        }
    }

    /// Signals whose loop is not known, and what the file would have to say for it.
    fn of_loops(&self, records: &OfficeRecords, has_errors: bool, lacks: &mut Vec<Lack>) {
        let office = self.office;
        let is_known = |way: &SignalPath| loop_of(&self.prediction.loops, &way.signal).is_some();
        let mut unknown = signal_paths(&self.networks.wire)
            .filter(|way| !is_known(way))
            .peekable();
        if unknown.peek().is_none() {
            return;
        }
        let mut gaps = self
            .prediction
            .missing
            .iter()
            .filter(|gap| gap.needed_for == NeededFor::Loop)
            .peekable();
        let is_explained = gaps.peek().is_some() || has_errors;
        for gap in gaps {
            let what = format!("{}: with it one could compute {}", gap.what, gap.needed_for.phrase());
            lacks.push(lack(None, &what, office.place(gap.range)));
        }
        // What else keeps a loop from being known is an error in the file, and told as such.
        for way in unknown.filter(|_| !is_explained) {
            let device = office.name(way.signal.thing);
            let record = records.records.iter().find(|record| record.device == device);
            let place = office.thing(way.signal.thing).name;
            let what = format!("what the loop of `{device}` should measure: it cannot be computed");
            lacks.push(lack(
                record.map(|record| record.key.as_str()),
                &what,
                office.place(place),
            ));
        }
    }
}

fn lack(key: Option<&str>, what: &str, place: Place) -> Lack {
    Lack {
        key: key.map(str::to_owned),
        what: what.to_owned(),
        place,
    }
}

fn named<'o>(office: &'o Office, name: &str) -> Option<&'o Thing> {
    office
        .things()
        .find(|(id, _)| office.name(*id) == name)
        .map(|(_, thing)| thing)
}
