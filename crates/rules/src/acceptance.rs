//! What somebody has accepted, with a reason and until a day, is no longer counted; an acceptance that has run out or
//! that nothing needs is a result itself.

use std::sync::Arc;

use drysheath_office::{Acceptance, Date, nearest};
use drysheath_syntax::Fix;
use drysheath_text::FileId;

use crate::finding::{Accepted, Finding, Sink};
use crate::lint::{Inspection, Repository, is_wide, level_of};
use crate::registry::{self, RULES};
use crate::rule::{Level, Rule};
use crate::settings::Settings;

/// Marks the findings of one office that are accepted, and adds what is to be said of its acceptances.
pub(crate) fn apply(inspection: &Inspection<'_>, today: Date, findings: &mut Vec<Finding>) {
    let office = inspection.office;
    for acceptance in &office.acceptances {
        let name = &*acceptance.rule.value;
        let Some((number, rule)) = registry::numbered(name) else {
            unknown(inspection, acceptance, findings);
            continue;
        };
        if acceptance.until.value < today {
            let of = office.name(acceptance.on);
            expired(acceptance, of, office.file, inspection.settings, findings);
            continue;
        }
        // Whether other files give the result is decided where all of them are seen.
        if is_wide(name) || level_of(rule, number, inspection.settings, office.is_planned()).is_none() {
            continue;
        }
        let accepted = Arc::new(Accepted {
            because: acceptance.because.clone(),
            until: acceptance.until.value,
        });
        let mut needed = false;
        for finding in findings
            .iter_mut()
            .filter(|finding| finding.rule.name == name && finding.on == Some(acceptance.on))
        {
            finding.accepted = Some(Arc::clone(&accepted));
            needed = true;
        }
        let damaged = office.thing(acceptance.on).is_none_or(|thing| thing.damaged) || office.unsure.things;
        if !needed && !damaged && office.unsure.runs == [false; 4] {
            unneeded(
                acceptance,
                office.name(acceptance.on),
                office.file,
                inspection.settings,
                findings,
            );
        }
    }
}

/// The same for the rules that look at several files together.
pub(crate) fn apply_wide(repository: &Repository<'_>, today: Date, findings: &mut Vec<Finding>) {
    for summary in repository.summaries {
        for acceptance in summary
            .acceptances
            .iter()
            .filter(|acceptance| today <= acceptance.until.value)
        {
            let accepted = Arc::new(Accepted {
                because: acceptance.because.clone(),
                until: acceptance.until.value,
            });
            let mut needed = false;
            for finding in findings.iter_mut() {
                if finding.rule.name == &*acceptance.rule.value && finding.place.file == summary.file {
                    finding.accepted = Some(Arc::clone(&accepted));
                    needed = true;
                }
            }
            if !needed && repository.whole {
                unneeded(acceptance, &summary.office, summary.file, repository.settings, findings);
            }
        }
    }
}

fn sink<'s>(name: &str, file: FileId, settings: &Settings, findings: &'s mut Vec<Finding>) -> Option<Sink<'s>> {
    let (number, rule): (usize, &'static Rule) = registry::numbered(name)?;
    let level: Level = level_of(rule, number, settings, false)?;
    Some(Sink {
        rule,
        level,
        file,
        findings,
    })
}

fn unknown(inspection: &Inspection<'_>, acceptance: &Acceptance, findings: &mut Vec<Finding>) {
    let Some(mut sink) = sink("acceptance-void", inspection.office.file, inspection.settings, findings) else {
        return;
    };
    let range = acceptance.rule.range;
    let finding = sink.report(
        acceptance.on,
        range,
        format!("there is no rule `{}`, so nothing is accepted", acceptance.rule.value),
    );
    match nearest(&acceptance.rule.value, RULES.iter().map(|rule| rule.name)) {
        Some(near) => {
            finding
                .help(format!("is `{near}` meant?"))
                .fix(Fix::replace(range, near, format!("Write `{near}`")))
        }
        None => finding.help("`drysheath rules` lists them"),
    };
}

fn expired(acceptance: &Acceptance, of: &str, file: FileId, settings: &Settings, findings: &mut Vec<Finding>) {
    let Some(mut sink) = sink("acceptance-expired", file, settings, findings) else {
        return;
    };
    let message = format!("this acceptance on `{of}` ended on {}", acceptance.until.value);
    sink.report(acceptance.on, acceptance.until.range, message)
        .help("mend what it accepts, or ask whether the reason still holds and give it a new day");
}

fn unneeded(acceptance: &Acceptance, of: &str, file: FileId, settings: &Settings, findings: &mut Vec<Finding>) {
    let Some(mut sink) = sink("acceptance-unneeded", file, settings, findings) else {
        return;
    };
    let message = format!(
        "nothing on `{of}` needs this acceptance of {} any more",
        acceptance.rule.value
    );
    sink.report(acceptance.on, acceptance.range, message)
        .help("take the line away")
        .fix(Fix::replace(acceptance.range, "", "Take the acceptance away"));
}
