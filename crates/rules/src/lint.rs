use drysheath_office::{Date, Networks, Office, Summary};
use drysheath_syntax::Problem;
use drysheath_text::FileId;

use crate::acceptance;
use crate::finding::{Finding, Sink};
use crate::registry::{self, RULES};
use crate::rule::{Check, Level, Rule};
use crate::settings::Settings;

/// What a rule is given.
pub struct Inspection<'o> {
    /// The office.
    pub office: &'o Office,
    /// How its things are joined.
    pub networks: &'o Networks,
    /// The repository's settings.
    pub settings: &'o Settings,
}

/// What a rule that looks at several files together is given.
pub struct Repository<'s> {
    /// What is to be known of each file.
    pub summaries: &'s [Summary],
    /// The repository's settings.
    pub settings: &'s Settings,
    /// Whether these are all its files, so that what none of them has is nowhere.
    pub whole: bool,
}

/// The results of one file, in the order of their places. `today` decides which acceptances have run out.
pub fn lint(office: &Office, settings: &Settings, today: Date) -> Vec<Finding> {
    let mut findings = Vec::new();
    for problem in &office.problems {
        if let Some((number, rule)) = registry::numbered(problem.rule)
            && let Some(level) = level_of(rule, number, settings, office.is_planned())
        {
            findings.push(Finding::of_problem(problem, rule, level, office.file));
        }
    }
    let networks = Networks::new(office);
    let inspection = Inspection {
        office,
        networks: &networks,
        settings,
    };
    for (number, rule) in RULES.iter().enumerate() {
        let Check::Office(check) = rule.check else { continue };
        if let Some(level) = level_of(rule, number, settings, office.is_planned()) {
            check(
                &inspection,
                &mut Sink {
                    rule,
                    level,
                    file: office.file,
                    findings: &mut findings,
                },
            );
        }
    }
    acceptance::apply(&inspection, today, &mut findings);
    sort(&mut findings);
    findings
}

/// The results that only several files together give, in the order of their places.
pub fn lint_repository(repository: &Repository<'_>, today: Date) -> Vec<Finding> {
    let mut findings = Vec::new();
    for (number, rule) in RULES.iter().enumerate() {
        let Check::Repository(check) = rule.check else { continue };
        if let Some(level) = level_of(rule, number, repository.settings, false) {
            check(
                repository,
                &mut Sink {
                    rule,
                    level,
                    file: FileId::default(),
                    findings: &mut findings,
                },
            );
        }
    }
    acceptance::apply_wide(repository, today, &mut findings);
    sort(&mut findings);
    findings
}

/// Whether the rule of that name looks at several files together.
pub fn is_wide(name: &str) -> bool {
    registry::find(name).is_some_and(|rule| matches!(rule.check, Check::Repository(_)))
}

/// The level of a rule's results, or nothing where the rule is off.
pub(crate) fn level_of(rule: &Rule, number: usize, settings: &Settings, planned: bool) -> Option<Level> {
    match settings.level(number) {
        Some(stated) => stated,
        None => Some(rule.while_planned.filter(|_| planned).unwrap_or(rule.level)),
    }
}

fn sort(findings: &mut [Finding]) {
    findings.sort_by(|one, other| {
        (one.place, one.rule.name, &one.message).cmp(&(other.place, other.rule.name, &other.message))
    });
}

/// The result of a problem that was found before there was an office to lint, unless its rule is off.
pub fn of_problem(problem: &Problem, file: FileId, settings: &Settings) -> Option<Finding> {
    let (number, rule) = registry::numbered(problem.rule)?;
    let level = level_of(rule, number, settings, false)?;
    Some(Finding::of_problem(problem, rule, level, file))
}
