//! Which result gives way where several report one slip.
//!
//! One wrong figure often violates several rules: a regulator that is set too high exceeds a rating, pins a sensor and trips a
//! limit. One result is enough, the one nearest to the slip. So a rule declares which rules it yields to, and on what
//! ([`Rule::yields_to`]); it reports whatever it finds and never asks whether another rule reports something too.
//! [`settle`] then drops each finding that yields to another one on the same [`Subject`]. It runs once, after levels and
//! acceptances are known, and a finding yields only to one
//!
//! * that is not accepted,
//! * that is at least as grave,
//! * of a rule that is not off.
//!
//! So a rule that is switched off, lowered or accepted takes no other rule's result with it.
//!
//! A finding also yields to one that yields to a third. Rules never yield to each other in a circle, which a test holds, so at
//! the end of each chain there is a result that is shown.

use drysheath_office::{TerminalId, ThingId};
use drysheath_prediction::SystemId;
use drysheath_text::Place;
use rustc_hash::FxHashMap;
use strum::EnumDiscriminants;

use crate::finding::Finding;
use crate::registry::RuleId;
use crate::rule::Level;

/// Something that the findings of several rules may be about.
///
/// Every finding is about its place and its thing. What else it is about its rule says, with [`Finding::about`].
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, EnumDiscriminants)]
#[strum_discriminants(
    vis(pub),
    name(Scope),
    doc = "What a rule and the rule that it yields to must have in common."
)]
pub(crate) enum Subject {
    /// The whole office: what depends on all of it yields to any finding of another rule.
    Office,
    /// A place in a file.
    Place(Place),
    /// A thing of the office.
    Thing(ThingId),
    /// A field as a thing has it: a part may give it to several things.
    Field(ThingId, Place),
    /// The numbered ports of a thing, by the word of the port: its pairs, outlets, inputs.
    Ports(ThingId, &'static str),
    /// The pressure that a dryer or regulator puts on what is downstream.
    Supply(ThingId),
    /// What is computed of an air system.
    AirSystem(SystemId),
    /// One signal of a sensor, by the word of its port.
    Signal(ThingId, &'static str),
    /// Terminals that wires join, by the first of them.
    Circuit(TerminalId),
    /// A terminal of a wire.
    Terminal(TerminalId),
    /// The wires of the office as a whole.
    Wires,
    /// The end of a cable or branch, by the number of the branch.
    LineEnd(ThingId, Option<u32>),
    /// A stretch of a cable, branch or pipe on which no limit reports a cut: the branch, and where it begins, in metres.
    CutStretch(ThingId, Option<u32>, i64),
}

impl Scope {
    /// What the two results have in common, in words to follow a rule's name.
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

/// The rules that a rule yields to, by what their findings must have in common with its own.
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

/// The gravest findings of each rule, by their subjects.
#[derive(Default)]
pub(crate) struct Shown(FxHashMap<(RuleId, Subject), Level>);

impl Shown {
    /// Those of `findings` that are not accepted.
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
