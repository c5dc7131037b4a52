//! Completes units after a number: of the right dimension, the file's usual one first.

use drysheath_engineering::units::Unit;
use drysheath_office::Meaning;
use drysheath_syntax::StatementKind;
use rustc_hash::FxHashMap;

use super::CompletionKind;
use super::items::Items;

/// Offers units for the number before the caret. `field` is the field that it belongs to, or the first word of the run.
pub(super) fn offer(items: &mut Items<'_>, mut units: Vec<&'static Unit>, field: &str) {
    if units.is_empty() {
        return;
    }
    let frequencies = frequencies(items, field);
    units.sort_by_key(|unit| std::cmp::Reverse(frequencies.get(unit.name).copied().unwrap_or_default()));
    // With the caret directly after `15`, a blank is inserted before the unit.
    let at = items.caret.word.start as usize;
    let before = items.text().as_bytes().get(..at).and_then(|before| before.last());
    let blank = if before.is_some_and(u8::is_ascii_digit) {
        " "
    } else {
        ""
    };
    for unit in units {
        let of = unit.dimension.name();
        let detail = if unit.absolute {
            format!("{of}, counted from vacuum")
        } else {
            of.to_owned()
        };
        let completion = items.offer(CompletionKind::Unit, unit.name).detail(detail);
        completion.insert = format!("{blank}{}", unit.name);
        if !unit.aliases.is_empty() {
            completion.documentation(format!("also written {}", unit.aliases.join(", ")));
        }
    }
}

/// How often each unit is used in this file, according to the readers. Uses in the same field count more than all
/// others.
fn frequencies(items: &Items<'_>, field: &str) -> FxHashMap<&'static str, u32> {
    const SAME_FIELD: u32 = 1 << 16;
    let mut counts: FxHashMap<&'static str, u32> = FxHashMap::default();
    let tree = &items.analysis.tree;
    for statement in &tree.statements {
        let mut said_of = match &statement.kind {
            StatementKind::Run(run) => run.medium.word(),
            StatementKind::Reading(_) => "reading",
            StatementKind::When(_) => "when",
            _ => "",
        };
        for token in items.office().semantic_tokens(tree, statement) {
            match token.meaning {
                Meaning::Field { spec, .. } => said_of = spec.word(),
                Meaning::Unit(unit, _) if token.range != items.caret.word => {
                    *counts.entry(unit.name).or_default() += if said_of == field { SAME_FIELD } else { 1 };
                }
                _ => {}
            }
        }
    }
    counts
}
