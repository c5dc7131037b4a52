//! Matches the pieces of two texts.

use std::collections::HashMap;

use super::chunks::Chunk;

/// For each piece of `base`, finds the corresponding piece of `side`: first one with the same contents, then one with
/// the same identity, and last the only one with the same weaker key.
pub(super) fn paired(base: &[Chunk], side: &[Chunk]) -> Vec<Option<usize>> {
    let mut pairing = Pairing {
        found: vec![None; base.len()],
        taken: vec![false; side.len()],
    };
    pairing.equal(base, side);
    for strictness in 0..=LOOSEST {
        pairing.only(base, side, strictness);
    }
    pairing.found
}

/// Index of the weakest key of a piece. Index 0 is its unique identity.
const LOOSEST: usize = 2;

fn mark<'p>(chunk: &'p Chunk, strictness: usize) -> Option<&'p str> {
    let identity = chunk.identity.as_ref()?;
    match strictness.checked_sub(1) {
        None => Some(&identity.own),
        Some(at) => identity.marks.get(at).map(String::as_str),
    }
}

struct Pairing {
    /// For each piece of the base, its piece of the side.
    found: Vec<Option<usize>>,
    /// For each piece of the side, whether it has been matched.
    taken: Vec<bool>,
}

impl Pairing {
    /// Matches pieces with the same contents, in order if there are several.
    fn equal(&mut self, base: &[Chunk], side: &[Chunk]) {
        let mut waiting: HashMap<&str, Vec<usize>> = HashMap::new();
        for (at, chunk) in side.iter().enumerate().rev() {
            waiting.entry(&chunk.said).or_default().push(at);
        }
        for (found, chunk) in self.found.iter_mut().zip(base) {
            *found = waiting.get_mut(chunk.said.as_str()).and_then(Vec::pop);
            if let Some(taken) = found.and_then(|at| self.taken.get_mut(at)) {
                *taken = true;
            }
        }
    }

    /// Matches pieces by the key with index `strictness`, if exactly one unmatched piece in each text has it.
    fn only(&mut self, base: &[Chunk], side: &[Chunk], strictness: usize) {
        let mut of_mark: HashMap<&str, (Vec<usize>, Vec<usize>)> = HashMap::new();
        for (at, (chunk, found)) in base.iter().zip(&self.found).enumerate() {
            if let Some(mark) = mark(chunk, strictness).filter(|_| found.is_none()) {
                of_mark.entry(mark).or_default().0.push(at);
            }
        }
        for (at, (chunk, taken)) in side.iter().zip(&self.taken).enumerate() {
            if let Some(mark) = mark(chunk, strictness).filter(|_| !taken) {
                of_mark.entry(mark).or_default().1.push(at);
            }
        }
        for (before, after) in of_mark.into_values() {
            if let ([before], [after]) = (before.as_slice(), after.as_slice())
                && let (Some(found), Some(taken)) = (self.found.get_mut(*before), self.taken.get_mut(*after))
            {
                *found = Some(*after);
                *taken = true;
            }
        }
    }
}
