use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};

pub(crate) static RULE: Rule = Rule {
    id: RuleId::ValueImplausible,
    level: Level::Error,
    while_planned: None,
    yields_to: &[],
    family: Family::Language,
    summary: "A figure is not plausible: its unit, sign or decimal point is wrong.",
    explanation: "Every field has a plausible range, wide enough for anything that exists; the reference lists them. No \
                  office lies 205 km above the sea, no cable is -2 m deep, no sensor errs by less than nothing. A figure outside of it is a typing mistake, and whatever is computed from it would be wrong, so nothing is. A \
                  tube's bore has to fit into the tube. Look the figure up where it came from rather than take the one that \
                  the message proposes.",
    source: Source::CommonPractice,
    example: Some(Example {
        failing: r"
cable c101 {
    pairs 50, gauge 24 awg, rating 20 psi
    section s1 { underground 1.2 km, depth -2 m, resistance 0.09 psi/scfh/kft, usage 3 scfh, volume 7 ft3 }
#                                          ^^^^
    section s2 { buried 2.0 km, resistance 0.14 psi/scfh/kft, usage 4 scfh, volume 12 ft3 }
}
",
        passing: r"
cable c101 {
    pairs 50, gauge 24 awg, rating 20 psi
    section s1 { underground 1.2 km, depth 0 m, resistance 0.09 psi/scfh/kft, usage 3 scfh, volume 7 ft3 }
    section s2 { buried 2.0 km, resistance 0.14 psi/scfh/kft, usage 4 scfh, volume 12 ft3 }
}
",
    }),
    check: Check::WhileReading,
};
