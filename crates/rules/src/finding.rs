use std::sync::Arc;

use drysheath_office::{Date, Terminal, ThingId};
use drysheath_syntax::{Fix, Label, Problem, Related};
use drysheath_text::{FileId, Place, TextRange};

use crate::rule::{Level, Rule};

/// A result in SARIF's sense: what a rule reports at one place.
#[derive(Clone, Debug)]
pub struct Finding {
    /// The rule that gives the result.
    pub rule: &'static Rule,
    /// The level that the settings give it.
    pub level: Level,
    /// The place that the result points at.
    pub place: Place,
    /// The error and its reason, in a sentence, with figures and units.
    pub message: String,
    /// What the reader should do about it.
    pub help: Option<String>,
    /// The other places that matter.
    pub related: Vec<Related>,
    /// The edit that corrects it, where one is certain.
    pub fix: Option<Fix>,
    /// The thing that it concerns, which `accept … on` names.
    pub on: Option<ThingId>,
    /// The signal of that thing that it is about, where it is about one of its records.
    pub signal: Option<Terminal>,
    /// The acceptance of the result, where there is one.
    pub accepted: Option<Arc<Accepted>>,
}

/// An acceptance as a result carries it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Accepted {
    /// The reason that the acceptance states.
    pub because: Box<str>,
    /// The last day it holds.
    pub until: Date,
}

impl PartialEq for Finding {
    fn eq(&self, other: &Self) -> bool {
        self.rule.id == other.rule.id
            && self.level == other.level
            && self.place == other.place
            && self.message == other.message
            && self.help == other.help
            && self.related == other.related
            && self.fix == other.fix
            && self.on == other.on
            && self.signal == other.signal
            && self.accepted == other.accepted
    }
}

impl Finding {
    /// With what to do.
    pub fn help(&mut self, help: impl Into<String>) -> &mut Self {
        self.help = Some(help.into());
        self
    }

    /// Adds another place, with a label that says what is there.
    pub fn related(&mut self, place: Place, label: impl Into<Label>) -> &mut Self {
        self.related.push(Related::new(place, label));
        self
    }

    /// Adds an edit that an editor can apply.
    pub fn fix(&mut self, fix: Fix) -> &mut Self {
        self.fix = Some(fix);
        self
    }

    pub(crate) fn of_problem<Id>(problem: &Problem<Id>, rule: &'static Rule, level: Level, file: FileId) -> Self {
        Self {
            rule,
            level,
            place: Place {
                file,
                range: problem.range,
            },
            message: problem.message.clone(),
            help: problem.help.clone(),
            related: problem.related.clone(),
            fix: problem.fix.clone(),
            on: None,
            signal: None,
            accepted: None,
        }
    }
}

/// Collects the results of one rule.
pub struct Sink<'s> {
    pub(crate) rule: &'static Rule,
    pub(crate) level: Level,
    pub(crate) file: FileId,
    pub(crate) findings: &'s mut Vec<Finding>,
}

impl Sink<'_> {
    /// Reports `on` at `range` of the office's file.
    pub fn report(&mut self, on: ThingId, range: TextRange, message: impl Into<String>) -> &mut Finding {
        let place = Place { file: self.file, range };
        self.push(place, Some(on), message.into())
    }

    /// Reports a place in any file of the repository, and the thing in it that it concerns, if any.
    pub fn report_at(&mut self, on: Option<ThingId>, place: Place, message: impl Into<String>) -> &mut Finding {
        self.push(place, on, message.into())
    }

    #[expect(clippy::expect_used, reason = "a vector that was just pushed to has a last element")]
    fn push(&mut self, place: Place, on: Option<ThingId>, message: String) -> &mut Finding {
        let finding = Finding {
            rule: self.rule,
            level: self.level,
            place,
            message,
            help: None,
            related: Vec::new(),
            fix: None,
            on,
            signal: None,
            accepted: None,
        };
        self.findings.push(finding);
        self.findings.last_mut().expect("it was just pushed")
    }
}
