use drysheath_engineering::trade_size::trade_size;
use drysheath_office::Fields;
use drysheath_office::kinds::{Key, KindId};
use drysheath_rules::{Finding, RuleId, frame_ground_size};
use drysheath_syntax::Medium;
use drysheath_workspace::Analysis;

use super::{Proposal, after_runs, laid_out};

/// Adds the missing ground of a chassis: to the principal bar, in the required size. Only the installer knows the
/// length; a note asks for it.
pub(super) fn frame(analysis: &Analysis, finding: &Finding) -> Vec<Proposal> {
    let office = &analysis.office;
    let Some(chassis) = finding.on else { return Vec::new() };
    let bars = || office.of_kind(KindId::GroundBar);
    let principal = bars().find(|(_, bar)| bar.yes_no(Key::Principal) == Some(true));
    let only = bars().next().filter(|_| bars().count() == 1);
    let Some((bar, _)) = principal.or(only) else {
        return Vec::new();
    };
    let size = frame_ground_size(&analysis.inspection(), chassis);
    let with = size.map_or(String::new(), |size| format!(" with {}", trade_size(size)));
    let statement = laid_out(&format!(
        "ground {} frame -> {}{with}",
        office.name(chassis),
        office.name(bar)
    ));
    let title = format!("Ground its frame to `{}`{with}", office.name(bar));
    let mut proposal = Proposal::new(title, vec![after_runs(office, Medium::Ground, &statement)]);
    proposal.leaves = Some(RuleId::GroundRunUnsized);
    vec![proposal]
}
