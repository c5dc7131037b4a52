use drysheath_office::inches;
use drysheath_syntax::Fix;
use drysheath_text::TextRange;

use crate::figures::same;
use crate::finding::Sink;
use crate::lint::Inspection;
use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};

pub(crate) static RULE: Rule = Rule {
    id: RuleId::TubesDoNotJoin,
    level: Level::Warning,
    while_planned: None,
    yields_to: &[],
    family: Family::Air,
    summary: "Two pieces of a run are of different tube and no reducer joins them, or a reducer joins two that are alike.",
    explanation: "Tube of one size does not go into the union of another. Where a run goes on in another size, a reducer stands between \
                  the two pieces, and somebody has to have it at hand. Say so after the `then`: `then reducer, 1/4 in tube, …`. \
                  Where both pieces are of one size, it is either not there or one of the sizes is wrong.",
    source: Source::CommonPractice,
    example: Some(Example {
        failing: r"
air mf port 2 -> p1 with 3/8 in tube, 1/4 in bore, 4 m then 1/4 in tube, 0.17 in bore, 0.5 m
#                                                           ^^^^^^^^^^^
",
        passing: r"
air mf port 2 -> p1 with 3/8 in tube, 1/4 in bore, 4 m then reducer, 1/4 in tube, 0.17 in bore, 0.5 m
",
    }),
    check: Check::Office(check),
};

fn check(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {
    let office = inspection.office;
    for link in inspection.networks.air.iter() {
        let run = office.run(link.run);
        if run.then.is_empty() || link.is_unread(office) {
            continue;
        }
        for (before, piece) in run.pieces().zip(&run.then) {
            let Some((one, other)) = before.tube.zip(piece.tube) else {
                continue;
            };
            let are_alike = same(one.value.si(), other.value.si());
            let sizes = (inches(one.value), inches(other.value));
            match piece.reducer {
                None if !are_alike => {
                    let message = format!(
                        "{} tube is followed by {} tube, and no reducer joins them",
                        sizes.0, sizes.1
                    );
                    let start = piece.range().map_or(other.range.start, |range| range.start);
                    sink.report(link.to.thing, other.range, message)
                        .related(office.place(one.range), "the tube before it")
                        .help("say that there is one, `then reducer, …`, or correct the size")
                        .fix(Fix::replace(TextRange::empty(start), "reducer, ", "Write `reducer`"));
                }
                Some(reducer) if are_alike => {
                    let message = format!("a reducer joins two pieces of {} tube", sizes.0);
                    sink.report(link.to.thing, reducer, message)
                        .related(office.place(one.range), "the tube before it")
                        .related(office.place(other.range), "the next piece of tube")
                        .help("delete it, or correct one of the two sizes");
                }
                _ => {}
            }
        }
    }
}
