//! Finds things, parts and offices of all files by some letters of their names.

use drysheath_office::kinds::KindId;
use drysheath_text::{FileId, Place};

use crate::outline::Sort;
use crate::roll::{Enrolled, Roll};
use crate::world::World;

/// How many are told at most.
const MOST: usize = 200;

/// Something that was found.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Hit {
    /// Its name.
    pub name: String,
    /// What sort of entry it is.
    pub sort: Sort,
    /// Where its name stands.
    pub place: Place,
    /// Its file, as a `use` would name it.
    pub file: String,
}

/// The things, parts and offices whose names hold the letters of `query` in order, best first, two hundred at most.
///
/// A query of several words wants each of them in the name or in the path of the file, and one at least in the name:
/// `m1 elm-hollow`.
pub fn search(world: &mut World, query: &str) -> Vec<Hit> {
    world.call_the_roll();
    let words: Vec<Vec<char>> = query
        .split_whitespace()
        .map(|word| word.chars().flat_map(char::to_lowercase).collect())
        .collect();
    let mut found: Vec<(Rank, FileId, Enrolled<'_>)> = Vec::new();
    for (file, roll) in world.rolls() {
        gather(world, file, roll, &words, &mut found);
    }
    let order = |one: &(Rank, FileId, Enrolled<'_>), other: &(Rank, FileId, Enrolled<'_>)| {
        let key = |(rank, file, entry): &(Rank, FileId, Enrolled<'_>)| (*rank, entry.name.len(), *file, entry.range);
        key(one).cmp(&key(other)).then_with(|| one.2.name.cmp(other.2.name))
    };
    if found.len() > MOST {
        found.select_nth_unstable_by(MOST, order);
        found.truncate(MOST);
    }
    found.sort_unstable_by(order);
    let hit = |(_, file, entry): &(Rank, FileId, Enrolled<'_>)| Hit {
        name: entry.name.to_owned(),
        sort: entry.sort,
        place: Place {
            file: *file,
            range: entry.range,
        },
        file: world.name(*file),
    };
    found.iter().map(hit).collect()
}

/// How badly something fits; then offices before parts before things.
type Rank = (u32, u8);

fn gather<'w>(
    world: &World,
    file: FileId,
    roll: &'w Roll,
    words: &[Vec<char>],
    found: &mut Vec<(Rank, FileId, Enrolled<'w>)>,
) {
    // The path is asked only for words that are not in the name.
    let path = if words.len() > 1 {
        world.name(file)
    } else {
        String::new()
    };
    for entry in roll.iter() {
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
            let sort = match entry.sort {
                Sort::Thing(KindId::Office) => 0,
                Sort::Part(_) => 1,
                _ => 2,
            };
            found.push(((misfit, sort), file, entry));
        }
    }
}

/// How badly a name fits letters that it holds in order: 0 for the name itself, more for what lies before and between
/// them, less for letters that start a word of it. None if it does not hold them.
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
