use drysheath_engineering::units::Quantity;
use drysheath_office::Fields;
use drysheath_office::kinds::{Key, KindId};

use crate::finding::Sink;
use crate::lint::Inspection;
use crate::precedence::Scope;
use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};

pub(crate) static RULE: Rule = Rule {
    id: RuleId::WorkingWithoutNominal,
    level: Level::Error,
    while_planned: None,
    yields_to: &[(Scope::Thing, &[RuleId::PolarityWrong])],
    family: Family::Power,
    summary: "A battery's nominal voltage lies outside its own working range.",
    explanation: "The working range reaches from the end of discharge to float, and the nominal voltage lies between: a plant of 24 \
                  cells is one of -48 V that ends at -42 V and floats near -54 V. A regulated bus, whose range is narrow, may lie \
                  somewhat off its nominal voltage: -51.5 V to -52.5 V are right for -48 V. Otherwise one of the figures is wrong, \
                  and feeds are checked against both. Read the plant's own label, or have a qualified person measure it: battery \
                  plant can give thousands of amperes into a short circuit.",
    source: Source::Derived("24 cells of 2 V, 1.75 V each at the end of discharge"),
    example: Some(Example {
        failing: r"
battery main { nominal -48 V, working -50 V .. -54 V, filtered yes }
#                             ^^^^^^^^^^^^^^^^^^^^^^
",
        passing: r"
battery main { nominal -48 V, working -51 V .. -53 V, filtered yes }
",
    }),
    check: Check::Office(check),
};

/// Whether a voltage lies in a range with its ends in either order.
pub(super) fn contains((one, other): (Quantity, Quantity), voltage: Quantity) -> bool {
    let (one, other, volts) = (one.si(), other.si(), voltage.si());
    (one.min(other)..=one.max(other)).contains(&volts)
}

/// Whether a range is that of a regulated bus of this nominal voltage: narrow, and close to it.
fn is_regulated((one, other): (Quantity, Quantity), nominal: Quantity) -> bool {
    /// Widest tolerance of a regulated bus, as a fraction of its nominal voltage (common practice, no source).
    const WIDEST: f64 = 0.05;
    /// Largest deviation of a bus from its nominal voltage: 24 cells at float are 12.5 % above (common practice, no
    /// source).
    const FARTHEST: f64 = 0.2;
    let (one, other, nominal) = (one.si(), other.si(), nominal.si());
    let off = f64::midpoint(one, other) - nominal;
    (one - other).abs() <= WIDEST * nominal.abs() && off.abs() <= FARTHEST * nominal.abs()
}

fn check(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {
    let office = inspection.office;
    for (id, battery) in office.of_kind(KindId::Battery) {
        let said = battery.quantity(Key::Nominal).zip(battery.range(Key::Working));
        let Some(((nominal, place), (from, to, _))) = said else {
            continue;
        };
        if !contains((from, to), nominal) && !is_regulated((from, to), nominal) {
            let name = office.name(id);
            let message =
                format!("`{name}` works from {from} to {to}, and its nominal voltage of {nominal} is not between");
            sink.report(id, battery.place_of(Key::Working, office.file), message)
                .related(place, format!("the nominal voltage of `{name}`"))
                .help("state the range from the end of discharge to float");
        }
    }
}
