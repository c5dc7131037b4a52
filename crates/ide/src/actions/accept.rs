use drysheath_office::Office;
use drysheath_rules::{Family, Finding, RuleId};
use drysheath_text::{Edit, TextRange};
use drysheath_workspace::{Analysis, Snapshot};

use super::{Action, ActionKind, laid_out};
use crate::line_edits::{at_end, below};

/// Duration of an acceptance.
const MONTHS: u16 = 12;

/// Accepts a result for a year, with a reason to be written by the author.
pub(super) fn accept(snapshot: &Snapshot, analysis: &Analysis, finding: &Finding) -> Option<Action> {
    let office = &analysis.office;
    let until = snapshot.today().months_later(MONTHS);
    if finding.rule.id == RuleId::AcceptanceExpired {
        return Some(action(
            format!("Accept it until {until}"),
            Edit {
                range: finding.place.range,
                replacement: until.to_string(),
            },
            finding,
        ));
    }
    // Unreadable text is not a result on the trade, and a statement after an unfinished one would be lost.
    if finding.rule.family == Family::Language || analysis.tree.cut {
        return None;
    }
    let on = finding.on.or(office.itself.filter(|_| finding.rule.is_wide()))?;
    // A name of two things refers to the first of them.
    let name = office.name(on);
    let meant = office
        .things()
        .find(|(id, _)| office.name(*id) == name)
        .map(|(id, _)| id);
    if name.is_empty() || meant != Some(on) {
        return None;
    }
    let rule = finding.rule.name();
    let statement = laid_out(&format!("accept {rule} on {name} because \"…\" until {until}"));
    let title = format!("Accept {rule} on `{name}`, with a reason");
    Some(action(title, place(office, &statement), finding))
}

/// Inserts after the last acceptance, or at the end.
fn place(office: &Office, statement: &str) -> Edit {
    let ranges = office.acceptances.iter().map(|acceptance| acceptance.range);
    let last: Option<TextRange> = ranges.max_by_key(|range| range.end);
    match last {
        Some(last) => below(&office.text, last.end, statement),
        None => at_end(office.own_text(), statement),
    }
}

fn action(title: String, edit: Edit, finding: &Finding) -> Action {
    Action {
        title,
        kind: ActionKind::Accept,
        edits: vec![edit],
        mends: vec![finding.clone()],
        preferred: false,
    }
}
