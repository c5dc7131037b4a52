use std::sync::Arc;

use drysheath_office::{Date, Terminal, ThingId};
use drysheath_syntax::{Fix, Label, Problem, Related};
use drysheath_text::{FileId, Place, TextRange};

use crate::precedence::Subject;
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
    /// The edit that an editor offers.
    pub fix: Option<Fix>,
    /// The thing that it concerns, which `accept … on` names.
    pub on: Option<ThingId>,
    /// The things that it concerns no less: an acceptance may name any of them. They are known until acceptances are applied.
    pub(crate) or_on: Vec<ThingId>,
    /// The signal of that thing that it is about, where it is about one of its records.
    pub signal: Option<Terminal>,
    /// The acceptance of the result, where there is one.
    pub accepted: Option<Arc<Accepted>>,
    /// The subjects other than its place and its thing, until it is known which findings yield to others. A finding that
    /// stands for several cases has the subjects of each, those of the first one first.
    cases: Vec<Vec<Subject>>,
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
    /// Its fix, where that changes only how something is written.
    pub fn certain_fix(&self) -> Option<&Fix> {
        self.fix.as_ref().filter(|_| self.rule.is_fixed_for_certain())
    }

    /// A finding with a message only.
    // Nearly every check of a rule finds nothing. What leads here is laid out apart from what is always run.
    #[cold]
    pub fn new(rule: &'static Rule, level: Level, place: Place, message: String) -> Self {
        Self {
            rule,
            level,
            place,
            message: on_one_line(message),
            help: None,
            related: Vec::new(),
            fix: None,
            on: None,
            or_on: Vec::new(),
            signal: None,
            accepted: None,
            cases: Vec::new(),
        }
    }

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

    /// Says what else the finding is about, so that it yields to others on that, or others to it.
    pub(crate) fn about(&mut self, subjects: impl IntoIterator<Item = Subject>) -> &mut Self {
        if self.cases.is_empty() {
            self.cases.push(Vec::new());
        }
        if let Some(case) = self.cases.last_mut() {
            case.extend(subjects);
        }
        self
    }

    /// Adds another case that the finding stands for. It yields to other findings only where each of its cases does.
    pub(crate) fn and_about(&mut self, subjects: impl IntoIterator<Item = Subject>) -> &mut Self {
        // The first case may have no more subjects than every finding has.
        self.about([]);
        self.cases.push(subjects.into_iter().collect());
        self
    }

    /// The subjects of each case.
    pub(crate) fn cases(&self) -> impl Iterator<Item = impl Iterator<Item = Subject> + '_> + '_ {
        let own = [Subject::Place(self.place)]
            .into_iter()
            .chain(self.on.map(Subject::Thing));
        let first = self.cases.first().map_or(&[][..], Vec::as_slice);
        let others = self.cases.iter().skip(1).map(|case| (None, case.as_slice()));
        let all = std::iter::once((Some(own), first)).chain(others);
        all.map(|(own, rest)| own.into_iter().flatten().chain(rest.iter().copied()))
    }

    /// Gives the memory of the subjects back: results are kept for whole repositories.
    pub(crate) fn forget_cases(&mut self) {
        self.cases = Vec::new();
    }

    pub(crate) fn of_problem<Id>(problem: &Problem<Id>, rule: &'static Rule, level: Level, file: FileId) -> Self {
        let place = Place {
            file,
            range: problem.range,
        };
        Self {
            help: problem.help.clone(),
            related: problem.related.clone(),
            fix: problem.fix.clone(),
            ..Self::new(rule, level, place, problem.message.clone())
        }
    }
}

/// A message as terminals, logs and lists of problems show it: what it quotes may have been written over several lines.
fn on_one_line(message: String) -> String {
    const ENDS: [char; 2] = ['\n', '\r'];
    if !message.contains(ENDS) {
        return message;
    }
    let lines = message.split(ENDS).map(str::trim).filter(|line| !line.is_empty());
    lines.collect::<Vec<_>>().join(" ")
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
    #[cold]
    pub fn report(&mut self, on: ThingId, range: TextRange, message: impl Into<String>) -> &mut Finding {
        let place = Place { file: self.file, range };
        self.push(place, Some(on), message.into())
    }

    /// Reports a place in any file of the repository, and the thing in it that it concerns, if any.
    #[cold]
    pub fn report_at(&mut self, on: Option<ThingId>, place: Place, message: impl Into<String>) -> &mut Finding {
        self.push(place, on, message.into())
    }

    /// Adds another case to the finding of this rule that was reported last: a range of pairs or inputs is one finding.
    pub(crate) fn and_about(&mut self, subjects: impl IntoIterator<Item = Subject>) {
        if let Some(last) = self.findings.last_mut().filter(|last| last.rule.id == self.rule.id) {
            last.and_about(subjects);
        }
    }

    #[expect(clippy::expect_used, reason = "a vector that was just pushed to has a last element")]
    fn push(&mut self, place: Place, on: Option<ThingId>, message: String) -> &mut Finding {
        let mut finding = Finding::new(self.rule, self.level, place, message);
        finding.on = on;
        self.findings.push(finding);
        self.findings.last_mut().expect("it was just pushed")
    }
}

#[cfg(test)]
mod tests {
    use super::on_one_line;

    #[test]
    fn what_was_written_over_several_lines_is_quoted_on_one() {
        let message = "`with` is missing before `2        ->\r\n  awg`".to_owned();
        assert_eq!(on_one_line(message), "`with` is missing before `2        -> awg`");
        assert_eq!(on_one_line("one  line\t".to_owned()), "one  line\t");
    }
}
