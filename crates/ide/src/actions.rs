//! Code actions: the fix of each result, fixes that need a choice, acceptances with a reason, and rewrites that belong
//! to no result. Each is tried before it is offered: it must remove the result that it claims to fix, and cause no
//! other.

mod accept;
mod convert;
mod extract;
mod fitted;
mod ground;
mod number;
mod regulator;
mod sized;
mod spare;
mod wire;

use drysheath_office::Office;
use drysheath_rules::{Family, Finding, RuleId};
use drysheath_text::{Edit, TextRange, apply};
use drysheath_workspace::{Analysis, Snapshot};
use rayon::prelude::*;

/// A code action that the editor offers.
#[derive(Clone, Debug)]
pub struct Action {
    /// Title for the user.
    pub title: String,
    /// Kind of action, which determines where editors offer it.
    pub kind: ActionKind,
    /// Edits of the file.
    pub edits: Vec<Edit>,
    /// The results that it fixes.
    pub mends: Vec<Finding>,
    /// Whether it is the usual choice.
    pub preferred: bool,
}

/// Kind of a code action.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ActionKind {
    /// Fixes a reported result.
    Fix,
    /// Fixes all results of a rule in this file that have a fix.
    FixAll,
    /// Accepts a result with an acceptance statement.
    Accept,
    /// Extracts a part from a thing.
    Extract,
    /// Rewrites text with the same or additional content.
    Rewrite,
}

/// A candidate change, offered only if no unexpected result appears.
pub(crate) struct Proposal {
    pub title: String,
    pub edits: Vec<Edit>,
    /// A rule that may report something afterwards, because only the author knows the rest.
    pub leaves: Option<RuleId>,
}

impl Proposal {
    pub fn new(title: impl Into<String>, edits: Vec<Edit>) -> Self {
        Self {
            title: title.into(),
            edits,
            leaves: None,
        }
    }
}

/// The actions for a range; only some of them if the request is cancelled.
///
/// Trying an action takes as long as linting the file, so this is done on all cores.
pub fn actions(snapshot: &Snapshot, analysis: &Analysis, range: TextRange) -> Vec<Action> {
    let findings = findings(snapshot, analysis);
    let touches = |finding: &&Finding| {
        let place = finding.place.range;
        finding.accepted.is_none() && place.start <= range.end && range.start <= place.end
    };
    let here: Vec<&Finding> = findings.iter().filter(touches).collect();
    let mut attempts: Vec<Attempt<'_>> = Vec::new();
    let mut rules: Vec<RuleId> = Vec::new();
    for finding in &here {
        attempts.push(Attempt::OwnFix(finding));
        attempts.push(Attempt::Choice(finding));
        if !rules.contains(&finding.rule.id) {
            rules.push(finding.rule.id);
            attempts.push(Attempt::TheRest(finding));
            attempts.push(Attempt::All(finding.rule.id));
        }
    }
    attempts.extend(here.iter().map(|finding| Attempt::Accept(finding)));
    attempts.push(Attempt::Rewrite);
    let reads_whole = findings.iter().all(|finding| finding.rule.family != Family::Language);
    let offered: Vec<Vec<Action>> = attempts
        .par_iter()
        .map(|attempt| {
            if snapshot.is_cancelled() {
                return Vec::new();
            }
            let is_good = |action: &Action| holds(snapshot, analysis, &action.mends, &action.edits, None);
            match attempt {
                Attempt::OwnFix(finding) => own_fix(snapshot, analysis, finding).into_iter().collect(),
                Attempt::Choice(finding) => tried(snapshot, analysis, finding).into_iter().collect(),
                Attempt::TheRest(finding) => {
                    let rest = spare::declare_rest_spare(analysis, finding, &findings);
                    rest.filter(is_good).into_iter().collect()
                }
                Attempt::All(rule) => all_of(snapshot, analysis, *rule, &findings, 2).into_iter().collect(),
                Attempt::Accept(finding) => {
                    let accepted = accept::accept(snapshot, analysis, finding);
                    // In a file that was read completely, an acceptance of something in it is always effective.
                    let is_certain = reads_whole && finding.rule.id != RuleId::AcceptanceExpired;
                    accepted
                        .filter(|action| is_certain || is_good(action))
                        .into_iter()
                        .collect()
                }
                Attempt::Rewrite => rewritten(snapshot, analysis, range),
            }
        })
        .collect();
    offered.into_iter().flatten().collect()
}

/// An action to be tried.
enum Attempt<'f> {
    /// The fix of a result.
    OwnFix(&'f Finding),
    /// A fix that needs a choice.
    Choice(&'f Finding),
    /// Declaring all similar numbers spare.
    TheRest(&'f Finding),
    /// Fixing all results of a rule.
    All(RuleId),
    /// Acceptance of a result.
    Accept(&'f Finding),
    /// A rewrite, independent of any result.
    Rewrite,
}

/// For each rule with several results in a file that have a fix: fixing all of them.
pub fn fixes_of_file(snapshot: &Snapshot, analysis: &Analysis) -> Vec<Action> {
    let findings = findings(snapshot, analysis);
    let mut rules: Vec<RuleId> = findings.iter().map(|finding| finding.rule.id).collect();
    rules.sort_unstable_by_key(|rule| rule.name());
    rules.dedup();
    rules
        .into_iter()
        .take_while(|_| !snapshot.is_cancelled())
        .filter_map(|rule| all_of(snapshot, analysis, rule, &findings, 1))
        .collect()
}

/// The results of the present text, and the latest ones across files. The latter may be outdated: those on things that
/// no longer exist are ignored.
fn findings(snapshot: &Snapshot, analysis: &Analysis) -> Vec<Finding> {
    let things = &analysis.office.things;
    let is_there = |finding: &Finding| finding.on.is_none_or(|on| things.contains_key(on));
    let wide = snapshot
        .findings(analysis.file)
        .into_iter()
        .filter(|finding| finding.rule.is_wide() && is_there(finding));
    analysis.findings().iter().cloned().chain(wide).collect()
}

fn own_fix(snapshot: &Snapshot, analysis: &Analysis, finding: &Finding) -> Option<Action> {
    let fix = finding.fix.as_ref()?;
    let mends = vec![finding.clone()];
    holds(snapshot, analysis, &mends, &fix.edits, None).then(|| Action {
        title: fix.title.clone(),
        kind: ActionKind::Fix,
        edits: fix.edits.clone(),
        mends,
        preferred: true,
    })
}

/// Fixes that need a choice: the first candidate that removes the result and causes no other.
fn tried(snapshot: &Snapshot, analysis: &Analysis, finding: &Finding) -> Option<Action> {
    let proposals = match finding.rule.id {
        RuleId::DeviceWithoutPair => wire::device(analysis, finding),
        RuleId::DeadEnd | RuleId::CablePairStranded => wire::onward(analysis, finding),
        RuleId::FrameGroundMissing => ground::frame(analysis, finding),
        RuleId::RegulatorMissing => regulator::between(snapshot, analysis, finding),
        RuleId::ManifoldPortOpen | RuleId::OutletOpen => spare::open_ports(analysis, finding),
        RuleId::SpareInUse => spare::used(analysis, finding),
        _ => number::next_free_number(analysis, finding),
    };
    let mends = vec![finding.clone()];
    let found = proposals
        .into_iter()
        .take_while(|_| !snapshot.is_cancelled())
        .find(|proposal| holds(snapshot, analysis, &mends, &proposal.edits, proposal.leaves))?;
    Some(Action {
        title: found.title,
        kind: ActionKind::Fix,
        edits: found.edits,
        mends,
        preferred: finding.fix.is_none(),
    })
}

/// Whether edits remove all of some results and cause none, except for one of `leaves`. Text that was unreadable may
/// turn out to have other errors, as long as more can be read than before. Results across files are not recomputed. New
/// equipment may lack figures from a data sheet; notes on those are permitted.
fn holds(snapshot: &Snapshot, analysis: &Analysis, mends: &[Finding], edits: &[Edit], leaves: Option<RuleId>) -> bool {
    // Each trial takes as long as linting the file, so stop once the request is cancelled.
    if snapshot.is_cancelled() {
        return false;
    }
    let Some(after) = snapshot.findings_after(analysis, edits) else {
        return false;
    };
    let (before, after) = (analysis.findings(), &*after);
    let is_gone = |finding: &Finding| finding.rule.is_wide() || alike(after, finding) < alike(before, finding);
    let is_unread = |finding: &&Finding| finding.rule.family == Family::Language;
    let unread = |findings: &[Finding]| open(findings).filter(is_unread).count();
    let reads_more = mends.iter().any(|finding| is_unread(&finding)) && unread(after) < unread(before);
    let is_harm = |added: &Finding| Some(added.rule.id) != leaves && added.rule.id != RuleId::ChecksLeftOut;
    let brings = added(before, after).any(is_harm);
    mends.iter().all(is_gone) && (reads_more || !brings)
}

/// Number of results with the same rule and message.
fn alike(findings: &[Finding], finding: &Finding) -> usize {
    let is_same = |other: &&Finding| other.rule.id == finding.rule.id && other.message == finding.message;
    open(findings).filter(is_same).count()
}

fn open(findings: &[Finding]) -> impl Iterator<Item = &Finding> {
    findings.iter().filter(|finding| finding.accepted.is_none())
}

/// The results that were not there before.
fn added<'f>(before: &[Finding], after: &'f [Finding]) -> impl Iterator<Item = &'f Finding> {
    let mut known: Vec<(RuleId, String)> = open(before).map(|it| (it.rule.id, it.message.clone())).collect();
    open(after).filter(move |finding| {
        let at = known
            .iter()
            .position(|(rule, message)| *rule == finding.rule.id && *message == finding.message);
        at.map(|at| known.swap_remove(at)).is_none()
    })
}

/// Fixes all results of a rule, if there are at least `fewest`.
fn all_of(
    snapshot: &Snapshot,
    analysis: &Analysis,
    rule: RuleId,
    findings: &[Finding],
    fewest: usize,
) -> Option<Action> {
    let of_rule = findings
        .iter()
        .filter(|finding| finding.rule.id == rule && finding.accepted.is_none());
    let (edits, mends) = together(analysis, of_rule);
    let is_offered = mends.len() >= fewest && holds(snapshot, analysis, &mends, &edits, None);
    is_offered.then(|| Action {
        title: format!("Fix all {} results of {} in this file", mends.len(), rule.name()),
        kind: ActionKind::FixAll,
        edits,
        mends,
        preferred: false,
    })
}

/// Combines the fixes of several results; conflicting ones are left out.
fn together<'f>(analysis: &Analysis, findings: impl Iterator<Item = &'f Finding>) -> (Vec<Edit>, Vec<Finding>) {
    let (mut edits, mut mended): (Vec<Edit>, Vec<Finding>) = (Vec::new(), Vec::new());
    for finding in findings {
        let Some(fix) = &finding.fix else { continue };
        let before = edits.len();
        edits.extend(
            fix.edits
                .iter()
                .filter(|edit| !edits.contains(edit))
                .cloned()
                .collect::<Vec<_>>(),
        );
        if apply(&analysis.text, &edits).is_some() {
            mended.push(finding.clone());
        } else {
            edits.truncate(before);
        }
    }
    (edits, mended)
}

/// The rewrites that are possible in a range.
fn rewritten(snapshot: &Snapshot, analysis: &Analysis, range: TextRange) -> Vec<Action> {
    let rewrite = |proposal: Proposal, kind| Action {
        title: proposal.title,
        kind,
        edits: proposal.edits,
        mends: Vec::new(),
        preferred: false,
    };
    let is_harmless = |proposal: &Proposal| holds(snapshot, analysis, &[], &proposal.edits, None);
    let mut actions = Vec::new();
    let extracted = extract::part(snapshot, analysis, range).filter(is_harmless);
    actions.extend(extracted.map(|proposal| rewrite(proposal, ActionKind::Extract)));
    let spares = spare::unsaid_of(analysis, range);
    let units = convert::units(analysis, range.start);
    let others = spares.into_iter().chain(units).filter(is_harmless);
    actions.extend(others.map(|proposal| rewrite(proposal, ActionKind::Rewrite)));
    // What follows from a figure that is nearer the truth, or right by itself, may well be another result. A part may lack what another
    // one has, and is none to take then.
    let is_read = |proposal: &Proposal| snapshot.findings_after(analysis, &proposal.edits).is_some();
    let sized = sized::choices(snapshot, analysis, range);
    let figures = fitted::figures(analysis, range).into_iter().chain(sized.figures);
    let parts = sized.parts.into_iter().filter(is_harmless);
    actions.extend(
        figures
            .filter(is_read)
            .chain(parts)
            .map(|proposal| rewrite(proposal, ActionKind::Rewrite)),
    );
    actions
}

/// Inserts a statement of a medium: after the last run of that medium, or at the end of the file.
fn after_runs(office: &Office, medium: drysheath_syntax::Medium, statement: &str) -> Edit {
    let last = office
        .runs
        .iter()
        .rfind(|run| run.medium == medium && office.is_own(run.range));
    match last {
        Some(last) => crate::line_edits::below(&office.text, last.range.end, statement),
        None => crate::line_edits::at_end(office.own_text(), statement),
    }
}

fn laid_out(statement: &str) -> String {
    drysheath_syntax::formatted(statement).trim_end().to_owned()
}
