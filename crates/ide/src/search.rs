//! Search for things, parts and offices in all files by letters of their names.

use drysheath_office::kinds::KindId;
use drysheath_text::{FileId, Place};
use drysheath_workspace::{Snapshot, Symbol, Symbols};

use crate::outline::SymbolKind;

/// Limit of returned items.
const MOST: usize = 200;

/// A thing, part or office that was found.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Hit {
    /// The name as its declaration writes it.
    pub name: String,
    /// Kind of thing, for the icon.
    pub kind: SymbolKind,
    /// Place of its name.
    pub place: Place,
    /// Path of the file, as in a `use`.
    pub file: String,
}

/// The things, parts and offices whose names contain the letters of `query` in order, best first, two hundred at most.
///
/// Each word of the query must be in the name or in the path of the file, and at least one in the name: `m1
/// elm-hollow`.
pub fn search(snapshot: &Snapshot, query: &str) -> Vec<Hit> {
    let symbols = snapshot.symbols();
    let words: Vec<Vec<char>> = query
        .split_whitespace()
        .map(|word| word.chars().flat_map(char::to_lowercase).collect())
        .collect();
    let mut found: Vec<(Rank, FileId, Symbol<'_>)> = Vec::new();
    for (file, symbols) in &symbols {
        gather(snapshot, *file, symbols, &words, &mut found);
    }
    let order = |one: &(Rank, FileId, Symbol<'_>), other: &(Rank, FileId, Symbol<'_>)| {
        let key = |(rank, file, entry): &(Rank, FileId, Symbol<'_>)| (*rank, entry.name.len(), *file, entry.range);
        key(one).cmp(&key(other)).then_with(|| one.2.name.cmp(other.2.name))
    };
    if found.len() > MOST {
        found.select_nth_unstable_by(MOST, order);
        found.truncate(MOST);
    }
    found.sort_unstable_by(order);
    let hit = |(_, file, entry): &(Rank, FileId, Symbol<'_>)| Hit {
        name: entry.name.to_owned(),
        kind: kind_of(entry),
        place: Place {
            file: *file,
            range: entry.range,
        },
        file: snapshot.name(*file),
    };
    found.iter().map(hit).collect()
}

fn kind_of(declared: &Symbol<'_>) -> SymbolKind {
    if declared.is_part {
        SymbolKind::Part(declared.kind)
    } else {
        SymbolKind::Thing(declared.kind)
    }
}

/// Rank of a match: misfit of the name, then offices before parts before things.
type Rank = (u32, u8);

fn gather<'s>(
    snapshot: &Snapshot,
    file: FileId,
    symbols: &'s Symbols,
    words: &[Vec<char>],
    found: &mut Vec<(Rank, FileId, Symbol<'s>)>,
) {
    // With a single word the path is not needed: that word must be in the name.
    let path = if words.len() > 1 {
        snapshot.name(file)
    } else {
        String::new()
    };
    for entry in symbols.iter() {
        let mut misfit = 0;
        let mut in_name = words.is_empty();
        let fits = words.iter().all(|word| {
            if let Some(own) = misfit_of(word, entry.name) {
                misfit += own;
                in_name = true;
                true
            } else {
                let own = misfit_of(word, &path);
                misfit += own.unwrap_or_default();
                own.is_some()
            }
        });
        if fits && in_name {
            let order = match kind_of(&entry) {
                SymbolKind::Thing(KindId::Office) => 0,
                SymbolKind::Part(_) => 1,
                _ => 2,
            };
            found.push(((misfit, order), file, entry));
        }
    }
}

/// Misfit of a name that contains letters in order: 0 for the name itself, more for characters before and between them,
/// less for letters at the start of words. `None` if it does not contain them.
fn misfit_of(letters: &[char], name: &str) -> Option<u32> {
    const BEFORE: u32 = 9;
    const BEFORE_A_WORD: u32 = 5;
    const GAP: u32 = 6;
    const GAP_TO_A_WORD: u32 = 4;
    const MOST_LEFT_OVER: usize = 4;
    let mut wanted = letters.iter();
    let mut next = wanted.next()?;
    let mut misfit = 0;
    let (mut matched, mut before, mut gap) = (false, ' ', false);
    let mut characters = name.chars();
    for character in characters.by_ref() {
        if character.to_lowercase().eq(std::iter::once(*next)) {
            let starts_word = !before.is_alphanumeric();
            misfit += match (matched, gap) {
                (false, true) if starts_word => BEFORE_A_WORD,
                (false, true) => BEFORE,
                (true, true) if starts_word => GAP_TO_A_WORD,
                (true, true) => GAP,
                (_, false) => 0,
            };
            (matched, gap) = (true, false);
            let Some(following) = wanted.next() else {
                return Some(misfit + characters.count().min(MOST_LEFT_OVER) as u32);
            };
            next = following;
        } else {
            gap = true;
        }
        before = character;
    }
    None
}

#[cfg(test)]
mod tests {
    use super::*;

    fn misfit(letters: &str, name: &str) -> Option<u32> {
        misfit_of(&letters.chars().collect::<Vec<_>>(), name)
    }

    #[test]
    fn names_that_fit_better_come_first() {
        let names = ["mf1", "mf1-far", "r-mf1", "m-far1", "xmf1", "main-far-1"];
        let mut sorted = names;
        sorted.sort_by_key(|name| (misfit("mf1", name), name.len()));
        assert_eq!(sorted, ["mf1", "mf1-far", "r-mf1", "main-far-1", "xmf1", "m-far1"]);
    }

    #[test]
    fn letters_out_of_order_do_not_fit() {
        assert_eq!(misfit("1m", "m1"), None);
        assert_eq!(misfit("m1", "M1"), Some(0));
        assert_eq!(misfit("m", ""), None);
    }
}
