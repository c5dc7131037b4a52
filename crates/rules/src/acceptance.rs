//! Acceptances: an accepted result, with a reason and an end date, does not count. An acceptance that has expired or is
//! not needed is a result itself.

use std::sync::Arc;

use drysheath_office::{Acceptance, Date, Media, ThingId, nearest};
use drysheath_syntax::{Fix, with_comments};
use drysheath_text::{FileId, TextRange};
use rustc_hash::FxHashMap;

use crate::finding::{Accepted, Finding, Sink};
use crate::lint::{Inspection, RepositoryInspection, level_of};
use crate::registry::{self, RULES, RuleId};
use crate::rule::{Check, Rule};
use crate::settings::{PracticeKey, Settings};

/// An acceptance in force, and whether a finding needs it.
struct Holding<'o> {
    acceptance: &'o Acceptance,
    accepted: Arc<Accepted>,
    needed: bool,
}

impl<'o> Holding<'o> {
    fn new(acceptance: &'o Acceptance) -> Self {
        Self {
            acceptance,
            accepted: Arc::new(Accepted {
                because: acceptance.because.clone(),
                until: acceptance.until.value,
            }),
            needed: false,
        }
    }

    fn take(&mut self, finding: &mut Finding) {
        finding.accepted = Some(Arc::clone(&self.accepted));
        self.needed = true;
    }
}

/// The set of rules that checked an office.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(crate) enum CheckedRules {
    /// The rules of `lint`. Void and expired acceptances are reported together with their results.
    ByLint,
    /// The rules of the hand-over records.
    ForRecords,
}

impl CheckedRules {
    fn includes(self, rule: &Rule) -> bool {
        match rule.check {
            Check::WhileReading | Check::Office(_) | Check::OfficeOn(_) => self == Self::ByLint,
            Check::HandOver(_) => self == Self::ForRecords,
            // Handled once all files are known.
            Check::Repository(_) => false,
        }
    }
}

/// Marks the accepted findings of one office, and adds the findings about its acceptances.
pub(crate) fn apply(inspection: &Inspection<'_>, today: Date, asked: CheckedRules, findings: &mut Vec<Finding>) {
    let office = inspection.office;
    let mut holding = Vec::new();
    let mut numbers: FxHashMap<(RuleId, ThingId), usize> = FxHashMap::default();
    for acceptance in &office.acceptances {
        let former = registry::renamed(&acceptance.rule.value);
        let Some(rule) = registry::find(&acceptance.rule.value).or(former) else {
            if asked == CheckedRules::ByLint {
                unknown(inspection, acceptance, findings);
            }
            continue;
        };
        if former.is_some() && asked == CheckedRules::ByLint {
            outdated(inspection, acceptance, rule, findings);
        }
        if !rule.can_be_accepted() {
            if asked == CheckedRules::ByLint {
                refused(inspection, acceptance, findings);
            }
            continue;
        }
        if acceptance.until.value < today {
            let of = office.name(acceptance.on);
            if asked == CheckedRules::ByLint {
                expired(acceptance, of, office.file, inspection.settings, findings);
            }
            continue;
        }
        if asked == CheckedRules::ByLint {
            too_long(inspection, acceptance, today, findings);
        }
        if !asked.includes(rule) || level_of(rule, inspection.settings, office.is_planned()).is_none() {
            continue;
        }
        numbers.entry((rule.id, acceptance.on)).or_insert(holding.len());
        holding.push(Holding::new(acceptance));
    }
    if holding.is_empty() {
        return;
    }
    for finding in findings.iter_mut() {
        let rule = finding.rule.id;
        let things = finding.on.into_iter().chain(std::mem::take(&mut finding.or_on));
        for number in things.filter_map(|on| numbers.get(&(rule, on))) {
            if let Some(own) = holding.get_mut(*number) {
                own.take(finding);
            }
        }
    }
    if office.unsure.things || office.unsure.runs != Media::NONE || office.unsure.spares != Media::NONE {
        return;
    }
    for Holding { acceptance, .. } in holding.iter().filter(|own| !own.needed) {
        if !office.thing(acceptance.on).damaged {
            let of = office.name(acceptance.on);
            let whole = with_comments(&office.text, acceptance.range);
            unneeded(acceptance, whole, of, office.file, inspection.settings, findings);
        }
    }
}

/// As [`apply`], for the rules on several files. `findings` is sorted by place.
pub(crate) fn apply_wide(repository: &RepositoryInspection<'_>, today: Date, findings: &mut Vec<Finding>) {
    let mut left_over = Vec::new();
    for summary in repository.summaries {
        let start = findings.partition_point(|finding| finding.place.file < summary.file);
        let end = findings.partition_point(|finding| finding.place.file <= summary.file);
        let settings = repository.settings_of(summary.file);
        for acceptance in &summary.acceptances {
            let Some(rule) = registry::find(&acceptance.rule.value) else {
                continue;
            };
            if !rule.can_be_accepted() || acceptance.until.value < today || level_of(rule, settings, false).is_none() {
                continue;
            }
            let mut own = Holding::new(acceptance);
            for finding in findings.get_mut(start..end).unwrap_or_default() {
                if finding.rule.id == rule.id && finding.on.is_none_or(|on| on == acceptance.on) {
                    own.take(finding);
                }
            }
            if !own.needed && repository.whole {
                // The text of the file is not available here.
                let whole = acceptance.range;
                unneeded(
                    acceptance,
                    whole,
                    &summary.office,
                    summary.file,
                    settings,
                    &mut left_over,
                );
            }
        }
    }
    findings.append(&mut left_over);
}

fn sink<'s>(id: RuleId, file: FileId, settings: &Settings, findings: &'s mut Vec<Finding>) -> Option<Sink<'s>> {
    let rule = id.rule();
    let level = level_of(rule, settings, false)?;
    Some(Sink {
        rule,
        level,
        file,
        findings,
    })
}

fn unknown(inspection: &Inspection<'_>, acceptance: &Acceptance, findings: &mut Vec<Finding>) {
    let Some(mut sink) = sink(
        RuleId::AcceptanceVoid,
        inspection.office.file,
        inspection.settings,
        findings,
    ) else {
        return;
    };
    let range = acceptance.rule.range;
    let finding = sink.report(
        acceptance.on,
        range,
        format!("there is no rule `{}`, so nothing is accepted", acceptance.rule.value),
    );
    match nearest(&acceptance.rule.value, RULES.iter().map(|rule| rule.name())) {
        Some(near) => {
            finding
                .help(format!("is `{near}` meant?"))
                .fix(Fix::replace(range, near, format!("Write `{near}`")))
        }
        None => finding.help("`drysheath rules` lists them"),
    };
}

/// Reports an acceptance that uses a former name of a rule.
fn outdated(inspection: &Inspection<'_>, acceptance: &Acceptance, rule: &Rule, findings: &mut Vec<Finding>) {
    let (office, settings) = (inspection.office, inspection.settings);
    let Some(mut sink) = sink(RuleId::WordOutdated, office.file, settings, findings) else {
        return;
    };
    let (range, name) = (acceptance.rule.range, rule.name());
    sink.report(
        acceptance.on,
        range,
        format!("the rule `{}` is called `{name}` now", acceptance.rule.value),
    )
    .fix(Fix::replace(range, name, format!("Write `{name}`")));
}

fn refused(inspection: &Inspection<'_>, acceptance: &Acceptance, findings: &mut Vec<Finding>) {
    let (office, settings) = (inspection.office, inspection.settings);
    let Some(mut sink) = sink(RuleId::AcceptanceVoid, office.file, settings, findings) else {
        return;
    };
    let message = format!(
        "{} cannot be accepted: it reports what was not understood and so is not checked",
        acceptance.rule.value
    );
    sink.report(acceptance.on, acceptance.rule.range, message)
        .help("correct what the rule reports, and delete this acceptance");
}

fn expired(acceptance: &Acceptance, of: &str, file: FileId, settings: &Settings, findings: &mut Vec<Finding>) {
    let Some(mut sink) = sink(RuleId::AcceptanceExpired, file, settings, findings) else {
        return;
    };
    let message = format!("this acceptance on `{of}` expired on {}", acceptance.until.value);
    sink.report(acceptance.on, acceptance.until.range, message)
        .help("correct what it accepts, or check that the reason still holds and set a new date");
}

/// Reports an acceptance that holds for longer than the settings allow.
fn too_long(inspection: &Inspection<'_>, acceptance: &Acceptance, today: Date, findings: &mut Vec<Finding>) {
    const SECONDS_OF_DAY: f64 = 86_400.0;
    let (office, settings) = (inspection.office, inspection.settings);
    let Some(most) = settings.quantity(PracticeKey::AcceptanceTerm) else {
        return;
    };
    let days = acceptance.until.value.days_since(today);
    if f64::from(days) * SECONDS_OF_DAY <= most.si() {
        return;
    }
    let Some(mut sink) = sink(RuleId::AcceptanceTooLong, office.file, settings, findings) else {
        return;
    };
    let file = settings
        .stated_file(PracticeKey::AcceptanceTerm)
        .map_or_else(String::new, |file| format!(" in {file}"));
    let message = format!(
        "this acceptance on `{}` holds until {}, for {days} more days: `acceptance-term`{} allows {most}",
        office.name(acceptance.on),
        acceptance.until.value,
        file
    );
    sink.report(acceptance.on, acceptance.until.range, message)
        .help("give it the day by which somebody looks at it again");
}

/// Reports an acceptance that nothing needs. `whole` is the range that the fix removes.
fn unneeded(
    acceptance: &Acceptance,
    whole: TextRange,
    of: &str,
    file: FileId,
    settings: &Settings,
    findings: &mut Vec<Finding>,
) {
    let Some(mut sink) = sink(RuleId::AcceptanceUnneeded, file, settings, findings) else {
        return;
    };
    let message = format!(
        "this acceptance of {} on `{of}` is no longer needed",
        acceptance.rule.value
    );
    sink.report(acceptance.on, acceptance.range, message)
        .help("delete the line")
        .fix(Fix::replace(whole, "", "Delete the acceptance"));
}
