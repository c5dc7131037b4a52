//! Completes attributes after `with`, by medium.

use drysheath_office::Candidate;
use drysheath_syntax::{Medium, Token, TokenKind};
use drysheath_text::TextRange;
use rustc_hash::FxHashMap;

use super::items::Items;
use super::{CompletionKind, values};

/// Offers attributes of a run between the given ends. `with` are the tokens after `with` or the last `then`, one slice
/// for each attribute.
pub(super) fn offer(items: &mut Items<'_>, medium: Medium, ends: &[&str], with: &[&[Token]]) {
    let (last, earlier) = with
        .split_last()
        .map_or((&[][..], &[][..]), |(last, earlier)| (*last, earlier));
    let mut last = last.to_vec();
    if items.number_is_complete() {
        last.extend(items.caret.before.last());
    }
    let candidates = items.office().candidates_in_attribute(medium, &last);
    if candidates
        .iter()
        .any(|candidate| matches!(candidate, Candidate::Attribute))
    {
        usual(items, medium, earlier);
    } else {
        values::all(items, medium.word(), &candidates);
        if candidates.iter().any(|candidate| matches!(candidate, Candidate::Thing)) {
            for end in ends {
                items.offer(CompletionKind::Thing, *end).detail("an end of this run");
            }
        }
        // A complete attribute may be the last of its piece.
        if ends.len() == 2 && is_whole(&last) {
            let completion = items.offer(CompletionKind::Keyword, "then");
            completion
                .detail("the next piece of this run, in the direction of the arrow")
                .insert
                .push(' ');
        }
    }
}

/// Whether an attribute may end here: a number with a unit.
fn is_whole(last: &[Token]) -> bool {
    let begins = last.first().is_some_and(|first| first.kind == TokenKind::Number);
    begins && last.last().is_some_and(|last| last.kind.is_word())
}

/// Offers attributes of other runs in the medium, the most frequent first, except those that this run has already.
fn usual(items: &mut Items<'_>, medium: Medium, earlier: &[&[Token]]) {
    // Runs within assemblies are after the file's own text.
    let (text, own) = (&*items.office().text, items.caret.statement);
    let is_written = |range: TextRange| own.contains(range) && range.end <= items.caret.word.start;
    let mut counts: FxHashMap<&str, (u32, &str)> = FxHashMap::default();
    let runs = items
        .office()
        .runs
        .iter()
        .filter(|run| run.medium == medium && !is_written(run.range));
    for run in runs {
        let sizes = run.pieces().flat_map(|piece| {
            [
                (piece.gauge, "wire size"),
                (piece.fuse, "fuse"),
                (piece.tube, "tube, by its outside"),
                (piece.bore, "inside diameter"),
            ]
        });
        for (size, what) in sizes {
            if let Some(size) = size.filter(|size| !own.contains(size.range)) {
                counts.entry(size.range.of(text)).or_insert((0, what)).0 += 1;
            }
        }
    }
    let last_words = earlier.iter().filter_map(|tokens| tokens.last());
    let said: Vec<&str> = last_words.map(|last| last.range.of(text)).collect();
    let mut usual: Vec<(&str, u32, &str)> = counts
        .into_iter()
        .map(|(size, (count, what))| (size, count, what))
        .collect();
    usual.sort_by_key(|(size, count, _)| (std::cmp::Reverse(*count), *size));
    for (size, _, what) in usual {
        // `3/8 in tube` and `1/4 in tube` are the same kind of attribute.
        let last = size.split_whitespace().next_back().unwrap_or_default();
        if !said.contains(&last) {
            items
                .offer(CompletionKind::Value, size)
                .detail(format!("{what}, as other runs here have it"));
        }
    }
    if medium == Medium::Power {
        let completion = items.offer(CompletionKind::Keyword, "limit");
        completion
            .detail("most current that the conductor may carry as its maker says, such as limit 5 A")
            .insert
            .push(' ');
    }
    if medium == Medium::Air {
        let completion = items.offer(CompletionKind::Keyword, "adapter");
        completion
            .detail("where a tube meets a thread, such as adapter 1/4 in npt male at r1")
            .insert
            .push(' ');
        items
            .offer(CompletionKind::Keyword, "reducer")
            .detail("where the tube changes size");
    }
}
