//! Which results give way to others: switching a rule off, lowering it or accepting its results takes away no other rule's
//! result.

use std::collections::BTreeSet;
use std::fmt::Write;

use drysheath_fixture::{Files, county, faults};
use drysheath_office::{Date, Networks, Office, PartsInMemory, lower};
use drysheath_prediction::Prediction;
use drysheath_rules::example::{OFFICE, TODAY, compose};
use drysheath_rules::{Check, Finding, Inspection, Level, RULES, RuleId, Settings, find, inspect};
use drysheath_syntax::parse;
use drysheath_text::FileId;

const PRACTICE: &str =
    "[practice]\nminimum-underground = \"5 psi\"\nminimum-buried = \"3 psi\"\nminimum-aerial = \"1 psi\"\n";

/// The last day of the acceptances that are tried, far enough from every day of the texts.
const UNTIL: Date = Date {
    year: 2026,
    month: 12,
    day: 31,
};

/// One office, and what is said of it under other settings.
struct Tried<'l> {
    path: &'l str,
    text: String,
    library: &'l PartsInMemory,
}

impl Tried<'_> {
    fn lowered(&self, text: &str) -> Office {
        lower(FileId(0), self.path, text.into(), &parse(text), self.library)
    }

    /// The results that every way of silencing one rule takes from others.
    fn taken(&self) -> String {
        let office = self.lowered(&self.text);
        let networks = Networks::new(&office);
        let prediction = Prediction::new(&office, &networks);
        let shown_with = |levels: &str| {
            let (settings, problems) = Settings::read(&format!("{PRACTICE}[levels]\n{levels}"));
            assert_eq!(problems, []);
            inspect(&Inspection::new(&office, &networks, &prediction, &settings), TODAY)
        };
        let whole = shown_with("");
        let mut taken = String::new();
        let mut known: BTreeSet<RuleId> = whole.iter().map(|finding| finding.rule.id).collect();
        let mut open: Vec<RuleId> = known.iter().copied().collect();
        // A rule whose results give way to others shows only once those are off, and may silence others in turn.
        while let Some(id) = open.pop() {
            let rule = id.rule();
            if !rule.can_be_accepted() {
                continue;
            }
            let mut without = Vec::new();
            if rule.can_be_switched_off() {
                let off = shown_with(&format!("{} = \"off\"", rule.name()));
                for finding in &off {
                    if known.insert(finding.rule.id) {
                        open.push(finding.rule.id);
                    }
                }
                without.push(("off", off));
            }
            if rule.level > Level::Note {
                without.push(("a note", shown_with(&format!("{} = \"note\"", rule.name()))));
            }
            if let Some(accepted) = self.accepted(&office, &whole, id) {
                without.push(("accepted", accepted));
            }
            for (how, left) in without {
                for lost in lost(&whole, &left, id) {
                    writeln!(taken, "{}: {} {how} takes {lost}", self.path, rule.name()).unwrap();
                }
            }
        }
        taken
    }

    /// What is said where all results of a rule are accepted.
    fn accepted(&self, office: &Office, whole: &[Finding], id: RuleId) -> Option<Vec<Finding>> {
        let of_rule = whole.iter().filter(|finding| finding.rule.id == id);
        let things: BTreeSet<&str> = of_rule.filter_map(|finding| Some(office.name(finding.on?))).collect();
        let mut text = self.text.clone();
        for thing in &things {
            write!(
                text,
                "\naccept {} on {thing} because \"tried\" until {UNTIL}\n",
                id.name()
            )
            .unwrap();
        }
        let office = self.lowered(&text);
        let (networks, (settings, _)) = (Networks::new(&office), Settings::read(PRACTICE));
        let prediction = Prediction::new(&office, &networks);
        (!things.is_empty()).then(|| inspect(&Inspection::new(&office, &networks, &prediction, &settings), TODAY))
    }
}

/// What `whole` has of other rules and `left` has not.
fn lost(whole: &[Finding], left: &[Finding], id: RuleId) -> Vec<String> {
    let is_left = |lost: &Finding| {
        let mut same = left
            .iter()
            .filter(|it| it.rule.id == lost.rule.id && it.place == lost.place);
        same.any(|it| it.message == lost.message && it.level == lost.level && it.accepted.is_none())
    };
    let others = whole.iter().filter(|it| it.rule.id != id && it.accepted.is_none());
    let lost = others.filter(|it| !is_left(it));
    lost.map(|it| format!("{}: {}", it.rule.name(), it.message)).collect()
}

fn library(files: &Files) -> PartsInMemory {
    let texts = files.iter().map(|(path, text)| (path.as_str(), text.as_str()));
    PartsInMemory::new(texts.map(|(path, text)| (FileId(1), path, text)))
}

#[test]
fn no_rule_takes_another_one_s_results_with_it() {
    let mut taken = String::new();
    for files in [county(), faults()] {
        let library = library(&files);
        for (path, text) in &files {
            let text = text.clone();
            taken += &Tried {
                path,
                text,
                library: &library,
            }
            .taken();
        }
    }
    assert_eq!(taken, "");
}

/// The failing examples of two rules in one office: errors that meet. Set `PRECEDENCE_PAIRS` to try every pair, in release
/// mode.
#[test]
fn no_rule_takes_another_one_s_results_where_two_errors_meet() {
    let every = if std::env::var_os("PRECEDENCE_PAIRS").is_some() {
        1
    } else {
        11
    };
    let of_offices = RULES
        .iter()
        .filter(|rule| matches!(rule.check, Check::Office(_) | Check::OfficeOn(_)));
    let failing: Vec<_> = of_offices
        .filter_map(|rule| Some((rule.name(), rule.example?.failing)))
        .filter(|(_, text)| !text.contains("# file "))
        .collect();
    let library = library(&Files::new());
    let mut taken = String::new();
    let mut number = 0;
    for (one, first) in &failing {
        for (other, second) in &failing {
            number += 1;
            if one != other && number % every == 0 {
                let text = compose(&compose(OFFICE, first), second);
                let path = &format!("{one} and {other}");
                taken += &Tried {
                    path,
                    text,
                    library: &library,
                }
                .taken();
            }
        }
    }
    assert_eq!(taken, "");
}

#[test]
fn rules_do_not_give_way_to_each_other_in_a_circle() {
    fn follow(at: RuleId, path: &mut Vec<RuleId>) {
        assert!(!path.contains(&at), "{path:?} ends where it begins, at {at:?}");
        path.push(at);
        for next in at.rule().yields_to.iter().flat_map(|(_, rules)| *rules) {
            follow(*next, path);
        }
        path.pop();
    }
    for rule in RULES {
        follow(rule.id, &mut Vec::new());
    }
}

/// The results of one rule are known when those of the other are.
#[test]
fn rules_give_way_only_to_rules_that_are_checked_with_them() {
    for rule in RULES {
        for (_, others) in rule.yields_to {
            for other in *others {
                let is_before = match rule.check {
                    Check::Office(_) | Check::OfficeOn(_) => {
                        matches!(
                            other.rule().check,
                            Check::WhileReading | Check::Office(_) | Check::OfficeOn(_)
                        )
                    }
                    Check::HandOver(_) => !matches!(other.rule().check, Check::Repository(_)),
                    Check::Repository(_) => matches!(other.rule().check, Check::Repository(_)),
                    Check::WhileReading => matches!(other.rule().check, Check::WhileReading),
                };
                assert!(is_before, "{} gives way to {}", rule.name(), other.name());
            }
        }
    }
}

/// The results for the example office with `statements`, under `levels`.
fn shown(statements: &str, levels: &str) -> Vec<(&'static str, bool)> {
    let (settings, problems) = Settings::read(levels);
    assert_eq!(problems, []);
    let text = compose(OFFICE, statements);
    let office = lower(
        FileId(0),
        "office",
        text.as_str().into(),
        &parse(&text),
        &library(&Files::new()),
    );
    let networks = Networks::new(&office);
    let prediction = Prediction::new(&office, &networks);
    let findings = inspect(&Inspection::new(&office, &networks, &prediction, &settings), TODAY);
    findings
        .iter()
        .map(|finding| (finding.rule.name(), finding.accepted.is_some()))
        .collect()
}

/// The head of an office that says next to nothing, and no equipment.
const EMPTY: &str = "# without battery\n# without ground\n# without fuse-panel\n# without monitor\n# without power\n# without spare\n\
                     # without dryer\n# without regulator\n# without flow-sensor\n# without manifold\n# without pressure-sensor\n\
                     # without air\n# without cable\n# without block\n# without wire\noffice elm-hollow { coldest -25 degC }\n";

/// A cable whose air keeps no water out, and falls below its minimum pressure.
const WET: &str = "cable c101 { pairs 50, gauge 24 awg, rating 20 psi, \
                   section s1 { underground 1.2 km, depth 6.5 m, minimum 9.2 psi, resistance 0.09 psi/scfh/kft, usage 3 scfh }, \
                   section s2 { buried 2.0 km, resistance 0.14 psi/scfh/kft, usage 4 scfh } }\n";

#[test]
fn a_result_gives_way_only_to_one_that_is_shown_and_as_grave() {
    let (minimum, water) = ("pressure-below-minimum", "pressure-below-water-head");
    assert!(find(minimum).is_some_and(|rule| !rule.yields_to.is_empty()));
    let levels = |word: &str| format!("[levels]\n{water} = \"{word}\"\n");
    assert_eq!(shown(WET, ""), [(water, false)]);
    assert_eq!(shown(WET, &levels("off")), [(minimum, false)]);
    assert_eq!(shown(WET, &levels("note")), [(minimum, false), (water, false)]);
    let accepted = format!("{WET}accept {water} on c101 because \"the duct is drained\" until {UNTIL}\n");
    assert_eq!(shown(&accepted, ""), [(minimum, false), (water, true)]);
}

/// An acceptance of a result that another one stands for now is needed again once that is mended.
#[test]
fn an_acceptance_of_a_result_that_gives_way_is_needed() {
    let accepted = format!("{WET}accept pressure-below-minimum on c101 because \"agreed for now\" until {UNTIL}\n");
    assert_eq!(shown(&accepted, ""), [("pressure-below-water-head", false)]);
}

/// The results for a text with only the rules `on` switched on, of those that can be switched off. What has to stay on counts
/// for less than they do.
fn with_only(on: &[RuleId], text: &str) -> Vec<String> {
    let mut levels = format!("{PRACTICE}[levels]\n");
    for rule in RULES.iter().filter(|rule| rule.can_be_accepted()) {
        let word = match rule.can_be_switched_off() {
            _ if on.contains(&rule.id) => "error",
            true => "off",
            false => "note",
        };
        writeln!(levels, "{} = \"{word}\"", rule.name()).unwrap();
    }
    let (settings, problems) = Settings::read(&levels);
    assert_eq!(problems, []);
    let office = lower(FileId(0), "office", text.into(), &parse(text), &library(&Files::new()));
    let networks = Networks::new(&office);
    let prediction = Prediction::new(&office, &networks);
    let inspection = Inspection::new(&office, &networks, &prediction, &settings);
    let mut findings = inspect(&inspection, TODAY);
    findings.extend(drysheath_rules::hand_over(&inspection, &findings, TODAY));
    let shown = findings
        .iter()
        .map(|finding| format!("{}: {}", finding.rule.name(), finding.message));
    shown.collect()
}

/// Offices in which a rule gives way to another one, where their failing examples are not such offices.
const MEETINGS: &[(RuleId, RuleId, &str)] = &[
    (
        RuleId::PairAssignedTwice,
        RuleId::SignalWiredTwice,
        "wire f1 flow -> tb pair 1 -> m1 sensor 1\nwire f1 flow -> tb pair 1 -> m1 sensor 4",
    ),
    (
        RuleId::InputAssignedTwice,
        RuleId::SignalWiredTwice,
        "wire f1 flow -> tb pair 1 -> m1 sensor 1\nwire f1 flow -> tb pair 5 -> m1 sensor 1",
    ),
    (
        RuleId::DeviceWithoutPair,
        RuleId::SignalWiredTwice,
        "# without wire p1\nwire f1 flow -> tb pair 1 -> m1 sensor 1\nwire f1 flow -> tb pair 2 -> m1 sensor 2",
    ),
    (
        RuleId::SpareInUse,
        RuleId::PairAssignedTwice,
        "wire c101 pair 38 .. 50 -> tb pair 1 .. 13",
    ),
    (
        RuleId::SignalOnWrongInput,
        RuleId::InputOutOfRange,
        "wire d1 contact humidity -> tb pair 4 -> m1 sensor 22",
    ),
    (
        RuleId::LimitNearSpanEnd,
        RuleId::LimitsOutOfOrder,
        "pressure-sensor p1 { span 0 .. 15 psi, step 0.1 psi, error 0.2 psi, normal 10 psi, proof 30 psi, \
         limit low 14.9 psi major deadband 0.3 psi }",
    ),
    (
        RuleId::LimitFinerThanStep,
        RuleId::LimitsOutOfOrder,
        "pressure-sensor p1 { span 0 .. 15 psi, step 0.1 psi, error 0.2 psi, normal 10 psi, proof 30 psi, \
         limit low 10.05 psi major deadband 0.3 psi }",
    ),
    (
        RuleId::NormalOutsideMiddle,
        RuleId::LimitsOutOfOrder,
        "pressure-sensor p1 { span 0 .. 15 psi, step 0.1 psi, error 0.2 psi, normal 12 psi, proof 30 psi, \
         limit low 13 psi major deadband 0.3 psi }",
    ),
    (
        RuleId::ProofBelowSource,
        RuleId::ReliefMisplaced,
        "regulator r1 { set 10 psi, differential 5 psi, inlet-max 60 psi, relief 40 psi }",
    ),
    (
        RuleId::DryerAboveRating,
        RuleId::RegulatorMissing,
        "dryer d1 { compressor piston, delivers 40 psi, capacity 100 scfh, dew-point -40 degC }\n\
         air d1 -> f1 -> mf with 3/8 in tube, 1/4 in bore, 4 m\n# without regulator r1",
    ),
    (
        RuleId::AirMissing,
        RuleId::RegulatorBackwards,
        "regulator r2 { set 10 psi, differential 5 psi, inlet-max 60 psi }\nvalve v9 { function shut-off }\n\
         air r2 inlet -> v9 with 3/8 in tube, 1/4 in bore, 4 m",
    ),
    (RuleId::TitleMissing, RuleId::OfficeWithoutEquipment, EMPTY),
    (RuleId::ElevationMissing, RuleId::OfficeWithoutEquipment, EMPTY),
    (RuleId::SiteCodeMissing, RuleId::OfficeWithoutEquipment, EMPTY),
    (RuleId::StageMissing, RuleId::OfficeWithoutEquipment, EMPTY),
    (
        RuleId::SupplyAlarmTooLate,
        RuleId::RegulatorSetAboveSupply,
        "dryer d1 { compressor piston, delivers 30 psi, capacity 100 scfh, dew-point -40 degC, \
         contact low { healthy closed, limit low 20 psi minor deadband 1 psi } }\n\
         regulator r1 { set 28 psi, differential 5 psi, inlet-max 60 psi, flow-max 80 scfh, relief 29 psi }",
    ),
    (
        RuleId::DryerOverdrawn,
        RuleId::DryerCapacityShort,
        "dryer d1 { compressor piston, delivers 30 psi, capacity 3 scfh, dew-point -40 degC }\n\
         dryer d2 { compressor rotary, delivers 28 psi, capacity 2 scfh, dew-point -40 degC }\n\
         valve v1 { function check }\nvalve v2 { function check }\nmanifold m9 { ports 1 }\n\
         air d1 -> v1 -> m9 with 3/8 in tube, 1/4 in bore, 4 m\nair d2 -> v2 -> m9 with 3/8 in tube, 1/4 in bore, 4 m\n\
         air m9 port 1 -> r1 -> f1 -> mf with 3/8 in tube, 1/4 in bore, 4 m",
    ),
    (
        RuleId::OutletOpen,
        RuleId::SpareInUse,
        "regulator r1 { set 10 psi, differential 5 psi, inlet-max 60 psi, relief 15 psi, outlets 2 }\nspare r1 outlet 1",
    ),
    (RuleId::PressureBelowMinimum, RuleId::PressureBelowWaterHead, WET),
    (
        RuleId::PressureBelowWaterHead,
        RuleId::UsageBeyondLines,
        "cable c101 { pairs 50, gauge 24 awg, rating 20 psi, \
         section s1 { underground 1.2 km, depth 2 m, resistance 0.09 psi/scfh/kft, usage 3 scfh }, \
         section s2 { buried 2.0 km, depth 2 m, resistance 0.9 psi/scfh/kft, usage 4 scfh } }",
    ),
    (
        RuleId::FrameGroundedTwice,
        RuleId::FrameGroundMissing,
        "# without ground d1\nground-bar rack-bar\nground rack-bar -> ogb with 6 awg, 3 m\n\
         ground m1 -> rack-bar with 6 awg, 1 m",
    ),
    (
        RuleId::VoltageRangeDoubtful,
        RuleId::WorkingWithoutNominal,
        "battery main { nominal -48 V, working -430 V .. -54 V, filtered yes }",
    ),
    (
        RuleId::PredictionIncomplete,
        RuleId::FieldMissing,
        "cable c101 { pairs 50, rating 20 psi, \
         section s1 { underground 1.2 km, depth 2 m, resistance 0.09 psi/scfh/kft, usage 3 scfh }, \
         section s2 { buried 2.0 km, resistance 0.14 psi/scfh/kft, usage 4 scfh } }",
    ),
];

/// Wherever a rule gives way, its result is there and shows as soon as the graver one does not.
#[test]
fn what_gives_way_shows_where_nothing_stands_for_it() {
    let mut idle = String::new();
    let failing = |id: RuleId| id.rule().example.map_or("", |example| example.failing);
    for rule in RULES.iter().filter(|rule| !rule.yields_to.is_empty()) {
        let gives_way = |other: RuleId| {
            let (lesser, graver) = (failing(rule.id), failing(other));
            let met = MEETINGS.iter().filter(|(one, two, _)| (*one, *two) == (rule.id, other));
            let mut texts: Vec<String> = met.map(|(.., statements)| compose(OFFICE, statements)).collect();
            texts.push(compose(OFFICE, graver));
            texts.push(compose(&compose(OFFICE, graver), lesser));
            texts.push(compose(&compose(OFFICE, lesser), graver));
            texts.iter().any(|text| {
                let (alone, both) = (with_only(&[rule.id], text), with_only(&[rule.id, other], text));
                alone.iter().any(|result| !both.contains(result))
            })
        };
        let mut others = rule.yields_to.iter().flat_map(|(_, rules)| *rules);
        if !others.any(|other| gives_way(*other)) {
            writeln!(idle, "{}", rule.name()).unwrap();
        }
    }
    assert_eq!(idle, "", "these rules give way to none of those that they name");
}
