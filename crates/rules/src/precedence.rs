//! Precedence of results that report the same mistake.
//!
//! One wrong figure often violates several rules: a regulator that is set too high exceeds a rating, pins a sensor and
//! trips a limit. One result is enough: the one nearest to the mistake. So a rule declares which rules it yields to,
//! and on which subjects ([`Rule::yields_to`]); it reports everything that it finds, whatever other rules report.
//! `remove_yielding` then drops each finding that yields to another one on the same [`Subject`]. It runs once, after
//! levels and acceptances are known, and a finding yields only to one
//!
//! * that is not accepted,
//! * that has at least the same level,
//! * of a rule that is not off.
//!
//! So switching off, lowering or accepting one rule does not hide the result of another.
//!
//! A finding also yields to one that yields to a third. A test checks that rules do not yield to each other in a
//! circle, so at the end of each chain there is a result that is shown.

use drysheath_office::{TerminalId, ThingId};
use drysheath_prediction::SystemId;
use drysheath_text::Place;
use rustc_hash::FxHashMap;
use strum::EnumDiscriminants;

use crate::finding::Finding;
use crate::registry::RuleId;
use crate::rule::Level;

/// A subject that the findings of several rules may share.
///
/// Every finding has its place and its thing as subjects. Its rule adds others with [`Finding::about`].
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, EnumDiscriminants)]
#[strum_discriminants(
    vis(pub),
    name(Scope),
    doc = "What a rule and the rule that it yields to must have in common."
)]
pub(crate) enum Subject {
    /// The whole office: findings that depend on all of it yield to any finding of another rule.
    Office,
    /// A place in a file.
    Place(Place),
    /// A thing of the office.
    Thing(ThingId),
    /// A field of a thing: a part may give the same field to several things.
    Field(ThingId, Place),
    /// The numbered ports of a thing, by the port's word: its pairs, outlets, inputs.
    Ports(ThingId, &'static str),
    /// The pressure that a dryer or regulator puts on the things downstream.
    Supply(ThingId),
    /// Computed figures of an air system.
    AirSystem(SystemId),
    /// A signal of a sensor, by the word of its port.
    Signal(ThingId, &'static str),
    /// A group of terminals joined by wires, by its first terminal.
    Circuit(TerminalId),
    /// A terminal of a wire.
    Terminal(TerminalId),
    /// All wires of the office.
    Wires,
    /// The end of a cable or branch, by the index of the branch.
    LineEnd(ThingId, Option<u32>),
    /// A stretch of a cable, branch or pipe on which no limit reports a cut: the branch, and its beginning in metres.
    CutStretch(ThingId, Option<u32>, i64),
}

impl Scope {
    /// What the subjects of the two results have in common, as a phrase that follows a rule's name.
    pub fn phrase(self) -> &'static str {
        match self {
            Self::Office => "anywhere in the office",
            Self::Place => "at the same place",
            Self::Thing => "for the same thing",
            Self::Field => "for the same field",
            Self::Ports => "for the ports of the same thing",
            Self::Supply => "for the same supply of air",
            Self::AirSystem => "in the same air system",
            Self::Signal => "for the same signal",
            Self::Circuit => "for the same circuit",
            Self::Terminal => "at the same end of a wire",
            Self::Wires => "for any wires of the office",
            Self::LineEnd => "at the same end of a cable or branch",
            Self::CutStretch => "over most of the same stretch",
        }
    }
}

/// The rules that a rule yields to, by the kind of subject that both findings must share.
pub type YieldsTo = &'static [(Scope, &'static [RuleId])];

/// Drops each of `findings` that yields to another of them.
pub(crate) fn remove_yielding(findings: &mut Vec<Finding>) {
    if findings.iter().any(|finding| !finding.rule.yields_to.is_empty()) {
        let shown = Shown::of(findings.iter());
        findings.retain(|finding| !shown.covers(finding));
    }
    for finding in findings {
        finding.forget_cases();
    }
}

/// Highest level of the findings of each rule on each subject.
#[derive(Default)]
pub(crate) struct Shown(FxHashMap<(RuleId, Subject), Level>);

impl Shown {
    /// Collects the findings that are not accepted.
    pub(crate) fn of<'f>(findings: impl Iterator<Item = &'f Finding>) -> Self {
        let mut shown = Self::default();
        for finding in findings.filter(|finding| finding.accepted.is_none()) {
            for subject in finding.cases().flatten().chain([Subject::Office]) {
                let level = shown.0.entry((finding.rule.id, subject)).or_insert(finding.level);
                *level = finding.level.max(*level);
            }
        }
        shown
    }

    /// Whether every case of a finding yields to one of these findings.
    pub(crate) fn covers(&self, finding: &Finding) -> bool {
        let yields_to = finding.rule.yields_to;
        !yields_to.is_empty()
            && finding.cases().all(|mut subjects| {
                subjects.any(|subject| {
                    let same = yields_to.iter().filter(|(scope, _)| *scope == Scope::from(subject));
                    let mut rules = same.flat_map(|(_, rules)| *rules);
                    rules.any(|rule| {
                        self.0
                            .get(&(*rule, subject))
                            .is_some_and(|level| *level >= finding.level)
                    })
                })
            })
    }
}
