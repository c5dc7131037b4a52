//! Results on assemblies and routes, which are drawn in one file and placed in others.

use drysheath_office::Office;
use drysheath_syntax::{Fix, Related};

use crate::finding::Finding;
use crate::registry::RuleId;

/// Whether a rule checks the drawing itself. All other rules check the offices that place it, where it is joined to the
/// rest.
pub(crate) fn is_asked(rule: RuleId) -> bool {
    matches!(
        rule,
        RuleId::NamesAlike | RuleId::NameMalformed | RuleId::NameIsWord | RuleId::RecordNotListed
    )
}

/// Moves results on drawn things to the name of the assembly in the office, with the drawing as a related place.
/// Results on a route shared by two offices are kept in one of them only.
pub(crate) fn place(office: &Office, findings: &mut Vec<Finding>) {
    if office.placed.is_empty() {
        return;
    }
    findings.retain(|finding| {
        let place = Some(finding.place).filter(|place| place.file == office.file);
        let placed = place.and_then(|place| office.placed_at(place.range));
        !placed.is_some_and(|placed| office.is_reported_elsewhere(placed))
    });
    for finding in findings.iter_mut() {
        for related in &mut finding.related {
            related.place = office.written(related.place);
        }
        if finding.place.file != office.file {
            continue;
        }
        let range = finding.place.range;
        if !office.is_own(range) {
            let there = Related::new(office.written(finding.place), "drawn here");
            finding.related.insert(0, there);
            finding.place = office.place(office.own_range(range));
        }
        // An edit of the drawing would affect all offices that place it.
        let is_own = |fix: &Fix| fix.edits.iter().all(|edit| office.is_own(edit.range));
        finding.fix = finding.fix.take().filter(is_own);
    }
}
