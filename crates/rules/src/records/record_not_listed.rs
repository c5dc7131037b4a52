use drysheath_office::{Field, Fields, nearest};
use drysheath_syntax::Fix;
use drysheath_text::Place;

use crate::finding::Sink;
use crate::lint::Inspection;
use crate::registry::RuleId;
use crate::rule::{Check, Family, Level, Rule, Source};
use crate::settings::RECORD_NAMES;

pub(crate) static RULE: Rule = Rule {
    id: RuleId::RecordNotListed,
    level: Level::Warning,
    while_planned: None,
    yields_to: &[],
    family: Family::Records,
    summary: "A recorded fact has a name that the settings do not list.",
    explanation: "`record serial \"A-1177\"` takes any name, so that a repository can keep whatever it has to. Whoever searches for \
                  `serial` does not find what stands under `serail`. A repository that lists its names, with `names = [\"serial\", \
                  \"asset\"]` below `[records]` in `drysheath.toml`, has every other name reported. Correct it, or add it to \
                  the list.",
    source: Source::Language,
    // It needs settings, which an example does not have.
    example: None,
    check: Check::Office(check),
};

fn check(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {
    let (office, settings) = (inspection.whole, inspection.settings);
    let Some(names) = settings.record_names() else { return };
    let is_own = |place: Place| place.file == office.file;
    let of_things = office
        .own_things()
        .map(|(id, thing)| (Some(id), thing.range, &*thing.fields));
    // Records of a part are reported once, at the part.
    let whole = drysheath_text::TextRange::new(0, u32::MAX);
    let of_parts = office.parts.iter().map(|part| (None, whole, &*part.fields));
    for (on, own, fields) in of_things.chain(of_parts) {
        let fields: &[Field] = fields;
        for (recorded, place) in fields.recorded() {
            if !is_own(place) || !own.contains(place.range) || !settings.is_unlisted(recorded) {
                continue;
            }
            let (name, file) = (&recorded.name, settings.file_of(RECORD_NAMES.0));
            let at = office.place(recorded.range);
            let finding = sink.report_at(on, at, format!("{file} lists no record named `{name}`"));
            match nearest(name, names.iter().map(|name| &**name)) {
                Some(near) => {
                    finding.help(format!("is `{near}` meant?"));
                    finding.fix = Some(Fix::replace(recorded.range, near, format!("Write `{near}`")));
                }
                None => {
                    finding.help(format!(
                        "listed are {}; add it to `names` below `[records]` in {file} if it is meant",
                        names.join(", ")
                    ));
                }
            }
        }
    }
}
