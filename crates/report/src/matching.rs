//! Matches files, offices, things, parts and records of two states.

use std::hash::Hash;

use rustc_hash::FxHashMap;

/// The unmatched items of two states. Each round pairs items with equal keys and removes them.
#[derive(Debug)]
pub(crate) struct Unmatched<B, A> {
    /// Items of the earlier state.
    pub before: Vec<B>,
    /// Items of the later state.
    pub after: Vec<A>,
}

/// The properties that identify an office.
#[derive(Clone, Copy, Debug)]
pub(crate) struct OfficeNames<'o> {
    /// Path of its file from the top of the tree.
    pub path: &'o str,
    /// The site code of the office.
    pub site: Option<&'o str>,
    /// Name of the office in its file; empty if that could not be read.
    pub name: &'o str,
    /// A former name stated in its file.
    pub former_name: Option<&'o str>,
}

/// A path, if it is part of the key, and a site code or name.
type OfficeKey<'o> = (&'o str, &'o str);

impl<B: Copy, A: Copy> Unmatched<B, A> {
    /// Pairs items with equal keys, the first with the first and so on. Items without a key are kept.
    pub fn pair_in_order<K: Hash + Eq>(
        &mut self,
        key_before: impl Fn(B) -> Option<K>,
        key_after: impl Fn(A) -> Option<K>,
    ) -> Vec<(B, A)> {
        self.pair(key_before, key_after, |_, _| true)
    }

    /// Pairs items whose key is unique in both states. Items without a key are kept.
    pub fn pair_unique<K: Hash + Eq>(
        &mut self,
        key_before: impl Fn(B) -> Option<K>,
        key_after: impl Fn(A) -> Option<K>,
    ) -> Vec<(B, A)> {
        self.pair(key_before, key_after, |before, after| (before, after) == (1, 1))
    }

    /// Pairs offices: those with the same path by site code or name, then the others by site code, by name, and by
    /// stated former name. Files without an office are kept.
    pub fn pair_offices<'o>(
        &mut self,
        before: impl Fn(B) -> Option<OfficeNames<'o>>,
        after: impl Fn(A) -> Option<OfficeNames<'o>>,
    ) -> Vec<(B, A)> {
        let path_and_site = |office: OfficeNames<'o>| Some((office.path, office.site?));
        let path_and_name = |office: OfficeNames<'o>| Some((office.path, office.name));
        let site = |office: OfficeNames<'o>| Some(("", office.site?));
        let name = |office: OfficeNames<'o>| Some(("", office.name)).filter(|_| !office.name.is_empty());
        let rounds: [fn(OfficeNames<'o>) -> Option<OfficeKey<'o>>; 4] = [path_and_site, path_and_name, site, name];
        let mut pairs = Vec::new();
        for key in rounds {
            pairs.extend(self.pair_unique(|one| key(before(one)?), |one| key(after(one)?)));
        }
        let former_name = |office: OfficeNames<'o>| Some(("", office.former_name?));
        pairs.extend(self.pair_unique(|one| name(before(one)?), |one| former_name(after(one)?)));
        pairs
    }

    /// Pairs items with similar text, the most similar first; at least [`ALIKE`] of the longer text must agree.
    pub fn pair_alike<'t>(
        &mut self,
        before: impl Fn(B) -> Option<&'t str>,
        after: impl Fn(A) -> Option<&'t str>,
    ) -> Vec<(B, A)> {
        if self.before.len() * self.after.len() > MOST_ALIKE {
            return Vec::new();
        }
        let lines = |text: Option<&'t str>| text.map(lines).unwrap_or_default();
        let was: Vec<_> = self.before.iter().map(|one| lines(before(*one))).collect();
        let now: Vec<_> = self.after.iter().map(|one| lines(after(*one))).collect();
        let mut likely = Vec::new();
        for (at, was) in was.iter().enumerate() {
            for (to, now) in now.iter().enumerate() {
                let alike = likeness(was, now);
                if alike >= ALIKE {
                    likely.push((alike, at, to));
                }
            }
        }
        likely.sort_by(|one, other| other.0.total_cmp(&one.0).then((one.1, one.2).cmp(&(other.1, other.2))));
        let mut pairs: Vec<(usize, usize)> = Vec::new();
        for (_, at, to) in likely {
            if pairs.iter().all(|(before, after)| *before != at && *after != to) {
                pairs.push((at, to));
            }
        }
        self.take(pairs)
    }

    /// Pairs items in the order of the later state. `is_clear` decides by the number of items with the same key before
    /// and after.
    fn pair<K: Hash + Eq>(
        &mut self,
        key_before: impl Fn(B) -> Option<K>,
        key_after: impl Fn(A) -> Option<K>,
        is_clear: impl Fn(usize, usize) -> bool,
    ) -> Vec<(B, A)> {
        let mut alike: FxHashMap<K, (Vec<usize>, Vec<usize>)> = FxHashMap::default();
        for (at, one) in self.before.iter().enumerate() {
            if let Some(key) = key_before(*one) {
                alike.entry(key).or_default().0.push(at);
            }
        }
        for (at, one) in self.after.iter().enumerate() {
            if let Some((_, after)) = key_after(*one).and_then(|key| alike.get_mut(&key)) {
                after.push(at);
            }
        }
        let pairs = alike
            .into_values()
            .filter(|(before, after)| is_clear(before.len(), after.len()))
            .flat_map(|(before, after)| before.into_iter().zip(after))
            .collect();
        self.take(pairs)
    }

    /// Removes paired items, given their indices in both lists.
    fn take(&mut self, mut pairs: Vec<(usize, usize)>) -> Vec<(B, A)> {
        pairs.sort_unstable_by_key(|(_, after)| *after);
        let found = pairs
            .iter()
            .filter_map(|(before, after)| Some((*self.before.get(*before)?, *self.after.get(*after)?)));
        let found = found.collect();
        take_out(&mut self.before, pairs.iter().map(|(before, _)| *before));
        take_out(&mut self.after, pairs.iter().map(|(_, after)| *after));
        found
    }
}

/// Minimum fraction of common lines for a file to count as the same.
const ALIKE: f64 = 0.6;
/// Limit of combinations for the comparison of files line by line.
const MOST_ALIKE: usize = 40_000;

/// The lines of a text with normalized blanks, and how often each occurs.
fn lines(text: &str) -> FxHashMap<String, usize> {
    let mut lines = FxHashMap::default();
    for line in text.lines() {
        let words: Vec<&str> = line.split_whitespace().collect();
        // A single word, such as a brace, is not significant.
        if words.len() > 1 {
            *lines.entry(words.join(" ")).or_insert(0) += 1;
        }
    }
    lines
}

/// Fraction of the longer text whose lines are also in the other one.
fn likeness(one: &FxHashMap<String, usize>, other: &FxHashMap<String, usize>) -> f64 {
    let count = |lines: &FxHashMap<String, usize>| lines.values().sum::<usize>();
    let shared: usize = one
        .iter()
        .map(|(line, number)| other.get(line).map_or(0, |others| *number.min(others)))
        .sum();
    let part = |count: usize| f64::from(count as u32);
    match count(one).max(count(other)) {
        0 => 0.0,
        longer => part(shared) / part(longer),
    }
}

fn take_out<T>(list: &mut Vec<T>, places: impl Iterator<Item = usize>) {
    let mut stays = vec![true; list.len()];
    for place in places {
        if let Some(stays) = stays.get_mut(place) {
            *stays = false;
        }
    }
    let mut stays = stays.into_iter();
    list.retain(|_| stays.next().unwrap_or(true));
}

#[cfg(test)]
mod tests {
    use super::*;

    fn unmatched() -> Unmatched<&'static str, &'static str> {
        Unmatched {
            before: vec!["a1", "b1", "b2", "c1"],
            after: vec!["b3", "a2", "b4", "d1"],
        }
    }

    fn letter(name: &str) -> Option<char> {
        name.chars().next()
    }

    #[test]
    fn the_first_is_paired_with_the_first() {
        let mut unmatched = unmatched();
        let pairs = unmatched.pair_in_order(letter, letter);
        assert_eq!(pairs, [("b1", "b3"), ("a1", "a2"), ("b2", "b4")]);
        assert_eq!((unmatched.before, unmatched.after), (vec!["c1"], vec!["d1"]));
    }

    #[test]
    fn what_says_nearly_the_same_is_paired() {
        let texts = ["a 1\nb 2\nc 3\nd 4\n", "a 1\nb 2\nc  3\nd 5\n", "e 1\nf 2\nc 3\n"];
        let mut unmatched = Unmatched {
            before: vec![2_usize, 0],
            after: vec![1_usize],
        };
        let text = |at: usize| texts.get(at).copied();
        assert_eq!(unmatched.pair_alike(text, text), [(0, 1)]);
        assert_eq!((unmatched.before, unmatched.after), (vec![2], vec![]));
    }

    #[test]
    fn what_several_share_tells_none_of_them_apart() {
        let mut unmatched = unmatched();
        assert_eq!(unmatched.pair_unique(letter, letter), [("a1", "a2")]);
        assert_eq!(unmatched.before, ["b1", "b2", "c1"]);
        assert_eq!(unmatched.after, ["b3", "b4", "d1"]);
    }
}
