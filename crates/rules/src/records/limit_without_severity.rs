use drysheath_office::{Field, Value};

use crate::finding::Sink;
use crate::lint::Inspection;
use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};

pub(crate) static RULE: Rule = Rule {
    id: RuleId::LimitWithoutSeverity,
    level: Level::Warning,
    while_planned: None,
    yields_to: &[],
    family: Family::Records,
    summary: "A limit has no severity.",
    explanation: "Whoever enters the limit has to enter a severity with it, and whoever is called at night goes by it. A limit \
                  without one is entered with whatever the screen offers first. Write critical, major, minor or warning after the \
                  figure.",
    source: Source::Published("ITU-T X.733"),
    example: Some(Example {
        failing: r"
pressure-sensor ps1 {
    at    c101 3.2 km
    span  0 .. 15 psi
    step  0.1 psi
    error 0.2 psi
    proof 30 psi
    limit low 6.7 psi deadband 0.3 psi
#   ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^
}
",
        passing: r"
pressure-sensor ps1 {
    at    c101 3.2 km
    span  0 .. 15 psi
    step  0.1 psi
    error 0.2 psi
    proof 30 psi
    limit low 6.7 psi warning deadband 0.3 psi
}
",
    }),
    check: Check::Office(check),
};

fn check(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {
    let office = inspection.office;
    for (id, thing) in office.things() {
        for field in thing.fields.iter().flat_map(with_inner) {
            let Value::Limit(limit) = &field.value else { continue };
            if limit.severity.is_some() {
                continue;
            }
            let (level, name) = (limit.level.word(), office.name(id));
            let message = format!("the {level} limit of `{name}` has no severity");
            let help = "write critical, major, minor or warning after the figure";
            if field.place.file == office.file {
                sink.report(id, field.place.range, message).help(help);
            } else {
                sink.report(id, thing.name, message)
                    .related(field.place, format!("the part has the {level} limit"))
                    .help(help);
            }
        }
    }
}

/// A field and the fields of its group: a second signal has its limits in a group.
fn with_inner(field: &Field) -> impl Iterator<Item = &Field> {
    let inner = match &field.value {
        Value::Group(fields) => fields.as_slice(),
        _ => &[],
    };
    std::iter::once(field).chain(inner)
}
