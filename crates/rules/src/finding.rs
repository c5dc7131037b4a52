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
    /// Level after applying the settings.
    pub level: Level,
    /// Where the result is reported.
    pub place: Place,
    /// One sentence: the error and its reason, with figures and units.
    pub message: String,
    /// Advice for the reader.
    pub help: Option<String>,
    /// Other places that explain the finding.
    pub related: Vec<Related>,
    /// An edit that editors offer.
    pub fix: Option<Fix>,
    /// The thing that it is about, which `accept … on` names.
    pub on: Option<ThingId>,
    /// Other things that it is about: an acceptance may name any of them. Cleared once acceptances are applied.
    pub(crate) or_on: Vec<ThingId>,
    /// The signal of that thing, where the result is about a record of a signal.
    pub signal: Option<Terminal>,
    /// The acceptance that covers the result.
    pub accepted: Option<Arc<Accepted>>,
    /// Subjects besides its place and its thing. Cleared once yielding is resolved. A finding that stands for several
    /// cases has the subjects of each case, those of the first one first.
    cases: Vec<Vec<Subject>>,
}

/// The acceptance of a result.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Accepted {
    /// The reason stated in the acceptance.
    pub because: Box<str>,
    /// Last day of the acceptance.
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
    /// The fix, if it changes only notation and not content.
    pub fn certain_fix(&self) -> Option<&Fix> {
        self.fix.as_ref().filter(|_| self.rule.is_fixed_for_certain())
    }

    /// A finding with a message only.
    // Most checks find nothing, so this is kept out of the hot path.
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

    /// Sets the advice that is shown below the message.
    pub fn help(&mut self, help: impl Into<String>) -> &mut Self {
        self.help = Some(help.into());
        self
    }

    /// Adds a related place with its label.
    pub fn related(&mut self, place: Place, label: impl Into<Label>) -> &mut Self {
        self.related.push(Related::new(place, label));
        self
    }

    /// Adds an edit that an editor can apply.
    pub fn fix(&mut self, fix: Fix) -> &mut Self {
        self.fix = Some(fix);
        self
    }

    /// Adds subjects, so that the finding yields to others on them, or others yield to it.
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
        // The first case may have only the subjects that every finding has.
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

    /// Frees the subjects: results are kept for whole repositories.
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

/// Joins the lines of a message for terminals, logs and lists of problems: text that it quotes may span several lines.
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
    /// Reports a problem of `on` at `range` of the office's file.
    #[cold]
    pub fn report(&mut self, on: ThingId, range: TextRange, message: impl Into<String>) -> &mut Finding {
        let place = Place { file: self.file, range };
        self.push(place, Some(on), message.into())
    }

    /// Reports a problem at a place in any file of the repository; `on` is the thing that it is about, if any.
    #[cold]
    pub fn report_at(&mut self, on: Option<ThingId>, place: Place, message: impl Into<String>) -> &mut Finding {
        self.push(place, on, message.into())
    }

    /// Adds a case to the last finding of this rule: a range of pairs or inputs is one finding.
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
