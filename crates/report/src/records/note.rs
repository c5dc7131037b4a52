//! A short message to the person who enters the records: the unit is installed, and these items are to be tested.

use std::fmt::Write;

use drysheath_text::safe::terminal;

use super::difference::{Difference, RecordStatus};
use super::markdown::{balance, block_pairs, cable_pairs, input, with_unit};
use super::record::{InputKind, InputRecord, OfficeRecords};
use crate::cautions::CAUTIONS;
use crate::plural::several;
use crate::prediction::LeftOutRecord;

/// The message on one office, or what prevents it from being sent.
pub(super) fn office(office: &OfficeRecords, difference: Option<&Difference>) -> String {
    let mut out = String::new();
    if office.missing.is_empty() {
        ready(&mut out, office, difference);
    } else {
        not_yet(&mut out, office);
    }
    terminal(&out).into_owned()
}

/// The text after all offices. `is_any_ready` tells whether at least one of them is ready to be tested.
pub(super) fn end(since: Option<(&str, &Difference)>, is_any_ready: bool) -> String {
    let mut out = String::new();
    if let Some((revision, difference)) = since {
        let _ = writeln!(out, "\nAgainst {revision}: {}.", balance(difference));
        for record in difference.withdrawn() {
            let _ = writeln!(
                out,
                "  Take out {}: it was {} on {}.",
                record.key,
                record.called(),
                input(record)
            );
        }
    }
    if is_any_ready {
        let _ = write!(
            out,
            "\nExpected values are computed, not measured. Local practice goes before anything said here.\n{CAUTIONS}"
        );
    }
    terminal(&out).into_owned()
}

fn called(office: &OfficeRecords) -> String {
    let title = office.title.as_deref().unwrap_or(&office.office);
    let site = office
        .site
        .as_deref()
        .map_or(String::new(), |site| format!(" ({site})"));
    format!("{title}{site}")
}

fn not_yet(out: &mut String, office: &OfficeRecords) {
    let missing = several(office.missing.len(), "thing");
    let _ = writeln!(out, "{}: not yet ready to test, {missing} missing.\n", called(office));
    for item in &office.missing {
        let _ = writeln!(out, "  {}:{}: {} [{}]", item.file, item.line, item.what, item.rule);
    }
}

fn ready(out: &mut String, office: &OfficeRecords, difference: Option<&Difference>) {
    let _ = writeln!(out, "{}: the unit is in place and ready to test.\n", called(office));
    for monitor in &office.monitors {
        let link = monitor.link.as_deref().unwrap_or("nothing");
        let (name, used, inputs) = (&monitor.name, monitor.in_use, monitor.inputs);
        let _ = writeln!(
            out,
            "Monitor {name} reports over {link}; {used} of its {inputs} inputs are in use."
        );
    }
    if !office.left_out.is_empty() {
        let named = LeftOutRecord::row(&office.left_out);
        let _ = writeln!(out, "Not in these records because of their stage: {named}.");
    }
    let _ = writeln!(out, "\nWhat is where");
    for record in &office.records {
        let _ = writeln!(out, "  {}", line(record, difference));
    }
    let (outside, inside): (Vec<_>, Vec<_>) = office
        .records
        .iter()
        .filter(|record| record.input_kind == InputKind::Sensor)
        .partition(|record| record.place.line.is_some());
    let contacts: Vec<_> = office
        .records
        .iter()
        .filter(|record| record.input_kind == InputKind::Contact)
        .collect();
    let outputs: Vec<_> = office
        .records
        .iter()
        .filter(|record| record.input_kind == InputKind::Output)
        .collect();
    let _ = writeln!(out, "\nWho tests what");
    let _ = writeln!(
        out,
        "  You: enter the records, then read every input and compare it with the expected value; say which alarm came."
    );
    if !outputs.is_empty() {
        let switched: Vec<String> = outputs
            .iter()
            .map(|record| format!("{} {}", record.device, record.signal))
            .collect();
        let _ = writeln!(
            out,
            "  You: switch {} once the office confirms that nobody is working on it.",
            listed(switched.iter().map(String::as_str).collect())
        );
    }
    if !inside.is_empty() || !contacts.is_empty() || !outputs.is_empty() {
        let mut tasks = Vec::new();
        if !inside.is_empty() {
            tasks.push(format!("read {} beside you", names(&inside)));
        }
        if !contacts.is_empty() {
            tasks.push(contact_task(&contacts));
        }
        if !outputs.is_empty() {
            tasks.push(format!("say what {} does when it is switched", names(&outputs)));
        }
        let _ = writeln!(out, "  At the office: {}.", tasks.join(", and "));
    }
    if !outside.is_empty() {
        let _ = writeln!(
            out,
            "  Out on the cable: measure the loop and, with a gauge of your own, the pressure at {}.",
            places(&outside)
        );
    }
}

fn line(record: &InputRecord, difference: Option<&Difference>) -> String {
    let status = difference.map(|difference| difference.status(&record.key));
    let mark = match status {
        Some(RecordStatus::New) => "NEW ",
        Some(RecordStatus::Changed(_)) => "CHANGED ",
        _ => "",
    };
    let mut line = format!("{mark}{}: {} {}", input(record), record.called(), record.signal);
    let (block, cable) = (block_pairs(record), cable_pairs(record));
    let place = if record.place.line.is_some() {
        record.place.text.as_str()
    } else {
        "in the office"
    };
    for more in [place, &block, &cable] {
        if !more.is_empty() {
            let _ = write!(line, ", {more}");
        }
    }
    let expected = with_unit(record, record.expected.or(record.normal));
    if !expected.is_empty() {
        let _ = write!(line, ", expect {expected}");
    }
    if let Some(healthy) = &record.healthy {
        let _ = write!(line, ", {healthy} while all is well");
    }
    if let Some(ohms) = &record.ohms {
        let _ = write!(line, ", loop {} ohm at 20 degC", ohms.at_20_ohm);
    }
    line
}

/// The test of contacts: each is operated at its pair, so that nothing has to be disconnected.
fn contact_task(contacts: &[&InputRecord]) -> String {
    let (open, closed): (Vec<_>, Vec<_>) = contacts
        .iter()
        .copied()
        .partition(|record| record.healthy.as_deref() == Some("open"));
    let mut tasks = Vec::new();
    if !closed.is_empty() {
        tasks.push(format!("open the pairs of {} at the block", names(&closed)));
    }
    if !open.is_empty() {
        tasks.push(format!("bridge the pairs of {} at the block", names(&open)));
    }
    format!("{}, one after the other", tasks.join(" and "))
}

fn names(records: &[&InputRecord]) -> String {
    let names: Vec<&str> = records.iter().map(|record| record.device.as_str()).collect();
    listed(names)
}

fn places(records: &[&InputRecord]) -> String {
    let places: Vec<String> = records
        .iter()
        .map(|record| format!("{} ({})", record.device, record.place.text))
        .collect();
    listed(places.iter().map(String::as_str).collect())
}

/// Joins names without duplicates: "a, b and c".
fn listed(mut names: Vec<&str>) -> String {
    names.dedup();
    match names.split_last() {
        Some((last, [])) => (*last).to_owned(),
        Some((last, rest)) => format!("{} and {last}", rest.join(", ")),
        None => String::new(),
    }
}
