use drysheath_text::Place;

use crate::coverage::UncheckedSubject;
use crate::finding::Sink;
use crate::lint::Inspection;
use crate::listed::listed;
use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};

pub(crate) static RULE: Rule = Rule {
    id: RuleId::ChecksLeftOut,
    level: Level::Note,
    while_planned: None,
    yields_to: &[],
    family: Family::Records,
    summary: "The file does not state what some figures have to be compared with, so those checks are left out.",
    explanation: "A pressure that is compared with nothing passes every check. Where a section states neither a minimum pressure nor a \
                  depth, no result says that water can come in; where a valve has no rating, none says that it may burst. The note names all that is missing, once for the whole office, and which checks need it. A minimum pressure \
                  is stated by the section (`minimum`), the office (`air-minimum`) or the settings; a rating, a highest inlet \
                  pressure, a maximum flow and a loop limit are on the maker's sheet. Nothing is said of an office that is only planned. \
                  How much was checked altogether is the last but one line of `drysheath lint`. Inputs of the computed figures \
                  themselves are named by `prediction-incomplete`.",
    source: Source::Language,
    example: Some(Example {
        failing: r"
manifold mf { ports 4 }
#        ^^
",
        passing: r"
manifold mf { ports 4, rating 30 psi }
",
    }),
    check: Check::Office(check),
};

fn check(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {
    const SHOWN: usize = 6;
    let office = inspection.office;
    // In a planned office, unknown figures are not gaps.
    if office.is_planned() {
        return;
    }
    let mut unchecked: Vec<&UncheckedSubject> = inspection.survey().unchecked.iter().collect();
    unchecked.sort_by_key(|gap| gap.lack);
    let groups: Vec<&[&UncheckedSubject]> = unchecked.chunk_by(|one, other| one.lack == other.lack).collect();
    let lacking: Vec<String> = groups.iter().filter_map(|group| lacking(group)).collect();
    let lets: Vec<&str> = groups
        .iter()
        .filter_map(|group| Some(group.first()?.note.lets_check))
        .collect();
    unchecked.sort_by_key(|gap| gap.range.start);
    let Some(first) = unchecked.first() else { return };
    let lacking: Vec<&str> = lacking.iter().map(String::as_str).collect();
    let message = format!("some checks are left out: the file states {}", listed(&lacking));
    let file = office.file;
    // The note is about the office, not about the first gap's place.
    let finding = sink.report(office.itself.unwrap_or(first.on), first.range, message);
    for UncheckedSubject { range, note, what, .. } in unchecked.iter().take(SHOWN).skip(1) {
        let place = Place { file, range: *range };
        finding.related(place, format!("{what} has {}", note.none));
    }
    finding.help(format!("needed to check {}", listed(&lets)));
}

/// A clause: "no rating for `v1`, `v2` and 3 more".
fn lacking(group: &[&UncheckedSubject]) -> Option<String> {
    const SHOWN: usize = 3;
    let first = group.first()?;
    let mut names: Vec<&str> = group.iter().take(SHOWN).map(|gap| gap.what.as_str()).collect();
    let more = format!("{} more", group.len().saturating_sub(SHOWN));
    if group.len() > SHOWN {
        names.push(&more);
    }
    Some(format!("{} for {}", first.note.none, listed(&names)))
}
