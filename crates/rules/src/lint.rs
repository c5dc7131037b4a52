use std::cell::{OnceCell, RefCell};
use std::collections::{BTreeMap, HashMap};
use std::panic::resume_unwind;
use std::rc::Rc;
use std::sync::Arc;
use std::thread::{self, ScopedJoinHandle};

use drysheath_engineering::index::IndexVec;
use drysheath_office::{Allocation, Date, Field, Link, MergedOffice, Networks, Office, Summary, ThingId, Value, When};
use drysheath_prediction::{AirState, Detection, ExpectationOutcome, Prediction, StateError, outcome};
use drysheath_syntax::Problem;
use drysheath_text::{FileId, Place};
use rustc_hash::FxHashMap;

use crate::acceptance::{self, CheckedRules};
use crate::coverage::{Coverage, CoverageSurvey};
use crate::drawing_results;
use crate::figures::names;
use crate::finding::{Finding, Sink};
use crate::pairs::Circuit;
use crate::precedence::{self, Shown};
use crate::records::of_day::OfDay;
use crate::registry::{RULES, RuleId, find};
use crate::rule::{Check, Family, Level, Rule};
use crate::sections::SectionFigures;
use crate::settings::{Settings, StatedLevel};
use crate::spans::Signals;
use crate::supply;

/// The input of a rule on one office.
pub struct Inspection<'o> {
    /// The office, without the things that are left out because of their stage.
    pub office: &'o Office,
    /// The office with everything that its file declares, for rules on names.
    pub whole: &'o Office,
    /// The connections between the things of the office.
    pub networks: &'o Networks,
    /// Computed figures of the office.
    pub prediction: &'o Prediction,
    /// The settings that hold for its file.
    pub settings: &'o Settings,
    allocation: OnceCell<Allocation>,
    survey: OnceCell<CoverageSurvey>,
    /// Lowest pressure rating in the office, Pa gauge.
    pub(crate) weakest: OnceCell<f64>,
    /// Highest pressure that each dryer or regulator can put on the things downstream.
    pub(crate) highest: OnceCell<IndexVec<ThingId, Option<supply::StatedPressure>>>,
    /// Dryers and regulators that supply each thing; computed on demand.
    pub(crate) sources: RefCell<IndexVec<ThingId, Option<Rc<[ThingId]>>>>,
    /// Things downstream of each thing; computed on demand.
    pub(crate) behind: RefCell<IndexVec<ThingId, Option<Rc<[ThingId]>>>>,
    /// Required and computed figures of sections of cable and pipes.
    pub(crate) sections: OnceCell<Vec<SectionFigures>>,
    /// Groups of terminals that wires join.
    pub(crate) circuits: OnceCell<Vec<Circuit>>,
    /// Derived figures of the signals of all sensors.
    pub(crate) signals: OnceCell<Signals>,
    /// The feeds of the loads of each battery.
    pub(crate) loads: OnceCell<FxHashMap<ThingId, Vec<&'o Link>>>,
    /// The computed office for each day on which temperatures were read; `None` for other days.
    pub(crate) days: RefCell<BTreeMap<Date, Option<Rc<OfDay>>>>,
    outcomes: OnceCell<Vec<Vec<ExpectationOutcome<'o>>>>,
    detection: OnceCell<Option<RefCell<Detection<'o>>>>,
}

impl<'o> Inspection<'o> {
    /// Creates an inspection of a whole office.
    pub fn new(office: &'o Office, networks: &'o Networks, prediction: &'o Prediction, settings: &'o Settings) -> Self {
        Self {
            office,
            whole: office,
            networks,
            prediction,
            settings,
            allocation: OnceCell::new(),
            survey: OnceCell::new(),
            weakest: OnceCell::new(),
            highest: OnceCell::new(),
            sources: RefCell::new(IndexVec::filled(None, office.things.len())),
            behind: RefCell::new(IndexVec::filled(None, office.things.len())),
            sections: OnceCell::new(),
            circuits: OnceCell::new(),
            signals: OnceCell::new(),
            loads: OnceCell::new(),
            days: RefCell::default(),
            outcomes: OnceCell::new(),
            detection: OnceCell::new(),
        }
    }

    /// Sets `whole`: the office with everything that its file declares.
    #[must_use]
    pub fn of(self, whole: &'o Office) -> Self {
        Self { whole, ..self }
    }

    /// The office alone, with its networks.
    pub(crate) fn own(&self) -> MergedOffice<'o> {
        MergedOffice {
            office: self.office,
            networks: self.networks,
        }
    }

    /// The numbers in use of each port.
    pub(crate) fn allocation(&self) -> &Allocation {
        self.allocation
            .get_or_init(|| Allocation::new(self.office, self.networks))
    }

    /// Outcomes of the expectations of each `when` statement; empty where the state is not known.
    pub(crate) fn outcomes(&self) -> &[Vec<ExpectationOutcome<'o>>] {
        self.outcomes.get_or_init(|| {
            let minimums = self.settings.minimums();
            let statements = self.office.whens.iter().zip(&self.prediction.states);
            let of = |(when, state): (&When, &'o Result<AirState, StateError>)| match state {
                Ok(state) => {
                    let expected = when.expected.iter();
                    expected
                        .map(|expected| outcome(self.office, self.networks, &minimums, state, expected))
                        .collect()
                }
                Err(_) => Vec::new(),
            };
            statements.map(of).collect()
        })
    }

    /// The air network for holes to be made in it. None where nothing is computed.
    pub(crate) fn detection(&self) -> Option<&RefCell<Detection<'o>>> {
        let air = &self.prediction.air;
        let detection = || air.detection(self.office, self.networks).map(RefCell::new);
        self.detection.get_or_init(detection).as_ref()
    }

    /// What could be compared, and what could not.
    pub(crate) fn survey(&self) -> &CoverageSurvey {
        self.survey.get_or_init(|| CoverageSurvey::of(self))
    }
}

/// The input of a rule on several files.
pub struct RepositoryInspection<'s> {
    /// The summary of each file.
    pub summaries: &'s [Arc<Summary>],
    /// The settings of the root folder.
    pub settings: &'s Settings,
    /// The settings of files in folders with a settings file of their own.
    pub settings_below: &'s FxHashMap<FileId, Arc<Settings>>,
    /// Whether these are all files of the repository, so that a name in none of them does not exist.
    pub whole: bool,
}

impl RepositoryInspection<'_> {
    /// The settings that hold for a file.
    pub(crate) fn settings_of(&self, file: FileId) -> &Settings {
        self.settings_below
            .get(&file)
            .map_or(self.settings, |settings| settings)
    }

    /// Highest level of a rule in any of the settings.
    fn gravest(&self, rule: &Rule) -> Option<Level> {
        let below = self.settings_below.values().map(|settings| &**settings);
        let all = below.chain([self.settings]);
        all.filter_map(|settings| level_of(rule, settings, false)).max()
    }
}

/// Number of things from which an office is judged on two threads: starting a thread takes longer than a small office.
/// Chosen, not measured.
const LARGE: usize = 500;

/// The maximum number of results of one rule in one file.
const MOST_OF_A_RULE: usize = 50;

/// The results of one file, sorted by place. `today` decides which acceptances have expired.
pub fn lint(office: &Office, settings: &Settings, today: Date) -> Vec<Finding> {
    judge(office, settings, today).0
}

/// As [`lint`], but also returns the coverage.
pub fn judge(office: &Office, settings: &Settings, today: Date) -> (Vec<Finding>, Coverage) {
    judge_all(&[(office, settings)], today).pop().unwrap_or_default()
}

/// As [`judge`], for several offices at once: each computation and each rule runs through all of them before the next.
/// The code of all rules exceeds the processor's cache, so running office by office would load it again each time.
pub fn judge_all(offices: &[(&Office, &Settings)], today: Date) -> Vec<(Vec<Finding>, Coverage)> {
    let present: Vec<Option<Office>> = offices.iter().map(|(office, _)| office.present()).collect();
    let computed = || {
        offices
            .iter()
            .zip(&present)
            .map(|((whole, _), present)| present.as_ref().unwrap_or(whole))
    };
    let networks: Vec<Networks> = computed().map(Networks::new).collect();
    let predicted = computed().zip(&networks);
    let predictions: Vec<Prediction> = predicted
        .map(|(office, networks)| Prediction::new(office, networks))
        .collect();
    let inspections: Vec<Inspection<'_>> = offices
        .iter()
        .zip(computed().zip(networks.iter().zip(&predictions)))
        .map(|((whole, settings), (office, (networks, prediction)))| {
            Inspection::new(office, networks, prediction, settings).of(whole)
        })
        .collect();
    let findings = inspect_all(&inspections, today);
    let coverage = inspections.iter().map(|inspection| match inspection.office.drawing {
        // A drawing is checked in the offices that place it.
        Some(_) => Coverage::default(),
        None => inspection.survey().coverage.clone(),
    });
    findings.into_iter().zip(coverage).collect()
}

/// As [`lint`], for an office whose networks and predictions are already computed.
pub fn inspect(inspection: &Inspection<'_>, today: Date) -> Vec<Finding> {
    inspect_all(std::slice::from_ref(inspection), today)
        .pop()
        .unwrap_or_default()
}

/// Results of each office.
fn inspect_all(inspections: &[Inspection<'_>], today: Date) -> Vec<Vec<Finding>> {
    let mut all: Vec<Vec<Finding>> = inspections.iter().map(of_problems_of).collect();
    match (inspections, &mut *all) {
        ([inspection], [findings]) if inspection.office.things.len() >= LARGE => {
            findings.extend(of_rules_on_two_threads(inspection, today));
        }
        _ => run(inspections, &mut all, &RULES, |rule, inspection, sink| {
            check_office(rule, inspection, today, sink);
        }),
    }
    for (inspection, findings) in inspections.iter().zip(&mut all) {
        let office = inspection.office;
        acceptance::apply(inspection, today, CheckedRules::ByLint, findings);
        precedence::remove_yielding(findings);
        sort(findings);
        merge_part_errors(office, findings);
        merge_lacking_fields(office, findings);
        merge_unknown_names(findings);
        drawing_results::place(office, findings);
        sort(findings);
        limit_per_rule(findings);
    }
    all
}

fn check_office(rule: &Rule, inspection: &Inspection<'_>, today: Date, sink: &mut Sink<'_>) {
    match rule.check {
        Check::Office(check) => check(inspection, sink),
        Check::OfficeOn(check) => check(inspection, today, sink),
        _ => {}
    }
}

/// Runs the rules on one large office, on two threads, with the results in the order of the rules. An editor waits for
/// it while a second core is idle.
fn of_rules_on_two_threads(inspection: &Inspection<'_>, today: Date) -> Vec<Finding> {
    // Rules of one family share intermediate figures, which are computed once on each thread.
    let is_of_air = |rule: &&&Rule| {
        let is_of_air = matches!(rule.family, Family::Air | Family::Spans | Family::Regulators);
        // Its figures are computed again, in the same inspection.
        is_of_air || rule.id == RuleId::ChecksLeftOut
    };
    let (air, others): (Vec<&'static Rule>, Vec<&'static Rule>) = RULES.iter().partition(is_of_air);
    let find = |inspection: &Inspection<'_>, rules: &[&'static Rule]| {
        let mut findings = [Vec::new()];
        run(
            std::slice::from_ref(inspection),
            &mut findings,
            rules,
            |rule, inspection, sink| {
                check_office(rule, inspection, today, sink);
            },
        );
        let [findings] = findings;
        findings
    };
    let Inspection {
        office,
        whole,
        networks,
        prediction,
        settings,
        ..
    } = *inspection;
    let find_others = || {
        let inspection = Inspection::new(office, networks, prediction, settings).of(whole);
        find(&inspection, &others)
    };
    let mut findings = thread::scope(|scope| {
        let other = thread::Builder::new().spawn_scoped(scope, find_others);
        let mut findings = find(inspection, &air);
        findings.extend(match other.map(ScopedJoinHandle::join) {
            Ok(Ok(others)) => others,
            Ok(Err(panic)) => resume_unwind(panic),
            // The system could not start a thread.
            Err(_) => find_others(),
        });
        findings
    });
    findings.sort_by_key(|finding| finding.rule.id);
    findings
}

/// Results for the problems found while the office was read.
fn of_problems_of(inspection: &Inspection<'_>) -> Vec<Finding> {
    let (office, settings) = (inspection.office, inspection.settings);
    let mut findings = Vec::new();
    for problem in &office.problems {
        let rule = RuleId::from(problem.id).rule();
        if let Some(level) = level_of(rule, settings, office.is_planned()) {
            let mut finding = Finding::of_problem(problem, rule, level, office.file);
            finding.on = office.thing_around(problem.range);
            findings.push(finding);
        }
    }
    findings
}

/// The results that block the hand-over of an office's records, in the order of the file: the results of the hand-over
/// rules, which [`inspect`] does not give, and the errors among `findings`, the results of [`inspect`]. Accepted
/// results are left out.
pub fn hand_over(inspection: &Inspection<'_>, findings: &[Finding], today: Date) -> Vec<Finding> {
    let mut missing = Vec::new();
    run(
        std::slice::from_ref(inspection),
        std::slice::from_mut(&mut missing),
        &RULES,
        |rule, inspection, sink| {
            if let Check::HandOver(check) = rule.check {
                check(inspection, sink);
            }
        },
    );
    acceptance::apply(inspection, today, CheckedRules::ForRecords, &mut missing);
    let is_error = |finding: &&Finding| finding.level == Level::Error && finding.accepted.is_none();
    let errors = Shown::of(findings.iter().filter(is_error));
    missing.retain(|finding| finding.accepted.is_none() && !errors.covers(finding));
    precedence::remove_yielding(&mut missing);
    drawing_results::place(inspection.office, &mut missing);
    missing.extend(findings.iter().filter(is_error).cloned());
    sort(&mut missing);
    missing
}

/// Runs `rules` on some offices, except those that are off, and appends the results to `findings`, one list for each
/// office.
fn run(
    inspections: &[Inspection<'_>],
    findings: &mut [Vec<Finding>],
    rules: &[&'static Rule],
    check: impl Fn(&'static Rule, &Inspection<'_>, &mut Sink<'_>),
) {
    let is_planned: Vec<bool> = inspections
        .iter()
        .map(|inspection| inspection.office.is_planned())
        .collect();
    for rule in rules {
        for ((inspection, findings), is_planned) in inspections.iter().zip(&mut *findings).zip(&is_planned) {
            if inspection.office.drawing.is_some() && !drawing_results::is_asked(rule.id) {
                continue;
            }
            let Some(level) = level_of(rule, inspection.settings, *is_planned) else {
                continue;
            };
            let file = inspection.office.file;
            let mut sink = Sink {
                rule,
                level,
                file,
                findings,
            };
            check(rule, inspection, &mut sink);
        }
    }
}

/// The results of the rules on several files, sorted by place.
pub fn lint_repository(repository: &RepositoryInspection<'_>, today: Date) -> Vec<Finding> {
    let mut findings = Vec::new();
    for rule in RULES {
        let Check::Repository(check) = rule.check else { continue };
        if let Some(level) = repository.gravest(rule) {
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
    findings.retain_mut(|finding| {
        let level = level_of(finding.rule, repository.settings_of(finding.place.file), false);
        finding.level = level.unwrap_or(finding.level);
        level.is_some()
    });
    sort(&mut findings);
    acceptance::apply_wide(repository, today, &mut findings);
    precedence::remove_yielding(&mut findings);
    sort(&mut findings);
    limit_per_rule(&mut findings);
    findings
}

/// Whether a rule of that name exists and looks at several files together.
pub fn is_wide(name: &str) -> bool {
    find(name).is_some_and(Rule::is_wide)
}

/// Level of a rule's results. `None` where the rule is off.
pub(crate) fn level_of(rule: &Rule, settings: &Settings, planned: bool) -> Option<Level> {
    // In a repository that states no language number, one result stands for all outdated words.
    if rule.id == RuleId::WordOutdated && settings.language() == 0 {
        return None;
    }
    match settings.level(rule.id) {
        Some(StatedLevel::Off) => None,
        Some(StatedLevel::At(level)) => Some(level),
        None => Some(rule.while_planned.filter(|_| planned).unwrap_or(rule.level)),
    }
}

fn sort(findings: &mut [Finding]) {
    findings.sort_by(|one, other| {
        (one.place, one.rule.name(), &one.message).cmp(&(other.place, other.rule.name(), &other.message))
    });
}

/// Merges results on several things of one part that lack the same fields: most likely the part should state them.
fn merge_lacking_fields(office: &Office, findings: &mut Vec<Finding>) {
    let lacks_field = |finding: &&mut Finding| finding.rule.id == RuleId::FieldMissing && finding.accepted.is_none();
    let mut alike: HashMap<(Place, Vec<String>), Vec<ThingId>> = HashMap::new();
    for finding in findings.iter_mut().filter(lacks_field) {
        if let Some((id, thing)) = finding.on.map(|on| (on, office.thing(on)))
            && let Some(part) = thing.part.as_ref()
            && finding.place == office.place(thing.name)
        {
            let lacking = office.fields_missing(thing);
            alike.entry((part.place, lacking)).or_default().push(id);
        }
    }
    alike.retain(|_, things| things.len() > 1);
    for ((part, _), things) in alike {
        let [first, others @ ..] = things.as_slice() else {
            continue;
        };
        findings.retain_mut(|finding| {
            let is_of = |id: &ThingId| finding.on == Some(*id) && finding.place == office.place(office.thing(*id).name);
            if finding.rule.id != RuleId::FieldMissing || !things.iter().any(is_of) {
                return true;
            }
            let is_first = is_of(first);
            if is_first {
                let have = if others.len() == 1 { "has" } else { "have" };
                finding.message = format!("{}, nor {have} {}", finding.message, names(office, others));
                finding.related(part, "the part");
                finding.help("state it in the part if it is the same for all of them, otherwise in each");
            }
            is_first
        });
    }
}

/// Merges results on the same undeclared name: it is one mistake, however many runs use the name.
fn merge_unknown_names(findings: &mut Vec<Finding>) {
    const SHOWN: usize = 6;
    let mut places: HashMap<String, Vec<Place>> = HashMap::new();
    findings.retain(|finding| {
        if finding.rule.id != RuleId::NameUnknown {
            return true;
        }
        let own = places.entry(finding.message.clone()).or_default();
        own.push(finding.place);
        own.len() == 1
    });
    for finding in findings
        .iter_mut()
        .filter(|finding| finding.rule.id == RuleId::NameUnknown)
    {
        let others = places.get(&finding.message).into_iter().flatten();
        for place in others.skip(1).take(SHOWN) {
            finding.related(*place, "named here too");
        }
    }
}

/// Merges results on an error in a part, which would be repeated for each thing that uses the part.
fn merge_part_errors(office: &Office, findings: &mut Vec<Finding>) {
    findings.dedup_by(|later, first| {
        let is_same = later.rule.id == first.rule.id && later.place == first.place;
        let is_open = later.accepted.is_none() && first.accepted.is_none();
        let thing = later.on.map(|on| office.thing(on));
        is_same
            && is_open
            && thing.is_some_and(|thing| !thing.range.contains(later.place.range))
            && is_in_part(office, later)
    });
}

/// Whether a finding is on a field of a part in this file.
fn is_in_part(office: &Office, finding: &Finding) -> bool {
    fn has(fields: &[Field], place: Place) -> bool {
        fields.iter().any(|field| match &field.value {
            _ if field.place == place => true,
            Value::Group(inner) | Value::Named { fields: inner, .. } => has(inner, place),
            _ => false,
        })
    }
    finding.place.file == office.file && office.parts.iter().any(|part| has(&part.fields, finding.place))
}

/// Keeps [`MOST_OF_A_RULE`] results of each rule in each file, and adds one that states how many were dropped. Accepted
/// results are all kept.
fn limit_per_rule(findings: &mut Vec<Finding>) {
    if findings.len() <= MOST_OF_A_RULE {
        return;
    }
    let mut counts: HashMap<(FileId, RuleId), usize> = HashMap::new();
    for finding in findings.iter().filter(|finding| finding.accepted.is_none()) {
        *counts.entry((finding.place.file, finding.rule.id)).or_default() += 1;
    }
    counts.retain(|_, count| *count > MOST_OF_A_RULE);
    let mut shown: HashMap<(FileId, RuleId), usize> = HashMap::new();
    findings.retain_mut(|finding| {
        let key = (finding.place.file, finding.rule.id);
        let Some(count) = counts.get(&key).filter(|_| finding.accepted.is_none()) else {
            return true;
        };
        let shown = shown.entry(key).or_default();
        *shown += 1;
        if *shown == MOST_OF_A_RULE + 1 {
            let more = count - MOST_OF_A_RULE;
            let message = format!(
                "from here on this file has {more} more results of {}",
                finding.rule.name()
            );
            *finding = Finding::new(finding.rule, finding.level, finding.place, message);
            finding.help("correct those above first: the rest may go with them");
        }
        *shown <= MOST_OF_A_RULE + 1
    });
}

/// The result for a problem found before linting. `None` if its rule is off.
pub fn of_problem<Id>(problem: &Problem<Id>, file: FileId, settings: &Settings) -> Option<Finding>
where
    Id: Into<RuleId> + Copy,
{
    let rule = problem.id.into().rule();
    let level = level_of(rule, settings, false)?;
    Some(Finding::of_problem(problem, rule, level, file))
}

/// The results for problems in a file without an office: at most fifty of each rule, and one that states how many were
/// dropped.
pub fn of_problems<Id>(problems: &[Problem<Id>], file: FileId, settings: &Settings) -> Vec<Finding>
where
    Id: Into<RuleId> + Copy,
{
    let mut findings: Vec<Finding> = problems
        .iter()
        .filter_map(|problem| of_problem(problem, file, settings))
        .collect();
    sort(&mut findings);
    limit_per_rule(&mut findings);
    findings
}
