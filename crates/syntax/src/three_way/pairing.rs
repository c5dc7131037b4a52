//! Which piece of one text is which of another.

use std::collections::HashMap;

use super::pieces::Piece;

/// Finds for each piece of `base` the piece of `side` that it has become: first the one that says the same, then the one that
/// is about the same, at last the only one with the same mark.
pub(super) fn paired(base: &[Piece], side: &[Piece]) -> Vec<Option<usize>> {
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

/// The number of the loosest mark that a piece can have. Number 0 is what it alone is about.
const LOOSEST: usize = 2;

fn mark<'p>(piece: &'p Piece, strictness: usize) -> Option<&'p str> {
    let identity = piece.identity.as_ref()?;
    match strictness.checked_sub(1) {
        None => Some(&identity.own),
        Some(at) => identity.marks.get(at).map(String::as_str),
    }
}

struct Pairing {
    /// For each piece of the base, its piece of the side.
    found: Vec<Option<usize>>,
    /// For each piece of the side, whether it has been found.
    taken: Vec<bool>,
}

impl Pairing {
    /// Pairs pieces that say the same, in order where several do.
    fn equal(&mut self, base: &[Piece], side: &[Piece]) {
        let mut waiting: HashMap<&str, Vec<usize>> = HashMap::new();
        for (at, piece) in side.iter().enumerate().rev() {
            waiting.entry(&piece.said).or_default().push(at);
        }
        for (found, piece) in self.found.iter_mut().zip(base) {
            *found = waiting.get_mut(piece.said.as_str()).and_then(Vec::pop);
            if let Some(taken) = found.and_then(|at| self.taken.get_mut(at)) {
                *taken = true;
            }
        }
    }

    /// Pairs pieces of one mark, where one alone in each text has it and is still without its piece.
    fn only(&mut self, base: &[Piece], side: &[Piece], strictness: usize) {
        let mut of_mark: HashMap<&str, (Vec<usize>, Vec<usize>)> = HashMap::new();
        for (at, (piece, found)) in base.iter().zip(&self.found).enumerate() {
            if let Some(mark) = mark(piece, strictness).filter(|_| found.is_none()) {
                of_mark.entry(mark).or_default().0.push(at);
            }
        }
        for (at, (piece, taken)) in side.iter().zip(&self.taken).enumerate() {
            if let Some(mark) = mark(piece, strictness).filter(|_| !taken) {
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
