use drysheath_engineering::measure::{ConductorArea, Current};
use drysheath_engineering::protection::{WireLimit, ampacity, wire_limit};
use drysheath_engineering::units::Quantity;
use drysheath_office::{Attributes, Spanned};

use crate::figures::{computed, exceeds};
use crate::finding::Sink;
use crate::lint::Inspection;
use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};
use crate::settings::PracticeKey;

pub(crate) static RULE: Rule = Rule {
    id: RuleId::WireLimitDoubtful,
    level: Level::Error,
    while_planned: None,
    yields_to: &[],
    family: Family::Power,
    summary: "A run states a `limit` that no wire of its size can carry.",
    explanation: "The `limit` of a run is what the maker of the wire allows, and the fuse is checked against it where no table has the size. Wire with insulation for high temperatures, in free air, carries a few times what the published tables allow; \
                  beyond that the figure belongs to another wire or another field, or a digit is wrong. For a size beyond the \
                  rows of its table the nearest row counts in proportion to the power 3/4 of the area, as heat leaves a wire. How many times the table is accepted is a setting, `wire-limit`, and common practice without a source. Look the figure up with the \
                  maker, for this size.",
    source: Source::CommonPractice,
    example: Some(Example {
        failing: r"
power pdf fuse 1 -> m1 with 3 A, 22 awg, 6 m, limit 100 A
#                                             ^^^^^^^^^^^
",
        passing: r"
power pdf fuse 1 -> m1 with 3 A, 22 awg, 6 m, limit 10 A
",
    }),
    check: Check::Office(check),
};

fn check(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {
    let office = inspection.office;
    let times = inspection.settings.fraction(PracticeKey::WireLimit);
    for feed in inspection.networks.power.iter().filter(|feed| feed.is_last(office)) {
        for piece in feed.pieces(office) {
            let Some(StatedLimit { limit, gauge }) = stated(piece) else {
                continue;
            };
            let Some(doubt) = uncertainty(&limit, &gauge, times) else {
                continue;
            };
            let by_area = if doubt.is_row { "" } else { " by its area" };
            let most = computed(limit.value, doubt.most.amperes(), office);
            let bears = computed(limit.value, doubt.bears.amperes(), office);
            let message = format!(
                "the limit of {} cannot be meant for {} wire: {} gives it {bears}{by_area}, and {} % of that{} is {most}",
                limit.value,
                gauge.value,
                doubt.table,
                (times * 1e4).round() / 1e2,
                inspection.settings.said_in(PracticeKey::WireLimit)
            );
            sink.report(feed.to.thing, limit.range, message)
                .related(office.place(gauge.range), "the wire that it is stated for")
                .help("look up what the maker allows for this size, or leave the limit out");
        }
    }
}

/// Wire size and current limit that a piece of a run states.
struct StatedLimit {
    limit: Spanned<Quantity>,
    gauge: Spanned<Quantity>,
}

fn stated(piece: &Attributes) -> Option<StatedLimit> {
    let (limit, gauge) = piece.limit.zip(piece.gauge)?;
    Some(StatedLimit { limit, gauge })
}

/// Why a limit is implausible.
struct Doubt {
    bears: Current,
    /// Whether the table has a row for the size.
    is_row: bool,
    most: Current,
    table: &'static str,
}

fn uncertainty(limit: &Spanned<Quantity>, gauge: &Spanned<Quantity>, times: f64) -> Option<Doubt> {
    let area = ConductorArea::of(gauge.value)?;
    let is_metric = gauge.value.unit.name == "mm2";
    let (bears, table) = ampacity(area, is_metric)?;
    let most = bears * times;
    exceeds(Current::of(limit.value)?.amperes(), most.amperes()).then_some(Doubt {
        bears,
        is_row: matches!(wire_limit(area, is_metric).0, WireLimit::AtMost(_)),
        most,
        table: table.name,
    })
}
