//! Numbers of ports as printed on equipment: `3`, or `A3` where each row has its own letters.
//!
//! A number with letters is encoded in a single integer: those of a row are consecutive, and no range leads from one
//! row into another. So code that adds, compares or sorts numbers need not know about letters; only display code does.

use std::fmt;

use crate::kinds::HIGHEST_COUNT;

/// How many letters a number may have before it: labels such as `A3`, `CB12` and `BKR3` (common practice, no source).
pub const MOST_LETTERS: usize = 3;
/// Distance between rows: greater than the length of any row.
const ROW: u32 = 1 << 17;
const LETTERS: u32 = 26;

const _: () = assert!(HIGHEST_COUNT < ROW);

/// A number as printed: `3`, `A3`.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Printed(u32);

/// A number as printed at its port.
pub fn printed(number: u32) -> Printed {
    Printed(number)
}

/// A range within one row as written: `5`, `5 .. 9`, `A5 .. A9`.
pub fn numbers_written(from: u32, to: u32) -> String {
    if from == to {
        printed(from).to_string()
    } else {
        format!("{} .. {}", printed(from), printed(to))
    }
}

/// The number without its row's letters.
pub fn in_row(number: u32) -> u32 {
    number % ROW
}

/// Whether two numbers are in the same row: the same letters, or none.
pub(crate) fn is_one_row(one: u32, other: u32) -> bool {
    one / ROW == other / ROW
}

/// The number `number` in the row of `other`.
pub(crate) fn in_row_of(other: u32, number: u32) -> u32 {
    other - in_row(other) + in_row(number)
}

/// Parses a number with letters before it, in either case.
pub(crate) fn lettered(written: &str) -> Option<u32> {
    let digits = written.find(|c: char| !c.is_ascii_alphabetic())?;
    let (letters, number) = written.split_at_checked(digits)?;
    if letters.is_empty() || letters.len() > MOST_LETTERS || !number.bytes().all(|digit| digit.is_ascii_digit()) {
        return None;
    }
    let row = letters.bytes().fold(0, |row, letter| {
        row * (LETTERS + 1) + u32::from(letter.to_ascii_uppercase() - b'A') + 1
    });
    let number = number
        .parse()
        .ok()
        .filter(|number| (1..=HIGHEST_COUNT).contains(number))?;
    Some(row * ROW + number)
}

impl fmt::Display for Printed {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let mut row = self.0 / ROW;
        let mut letters = [0; MOST_LETTERS];
        for letter in letters.iter_mut().rev() {
            *letter = (row % (LETTERS + 1)) as u8;
            row /= LETTERS + 1;
        }
        for letter in letters.iter().filter(|letter| **letter > 0) {
            write!(f, "{}", char::from(b'A' + letter - 1))?;
        }
        write!(f, "{}", in_row(self.0))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn letters_are_printed_as_they_are_read() {
        for written in ["A1", "Z100000", "AB12", "BKR3", "ZZZ9"] {
            assert_eq!(
                lettered(written).map(|number| printed(number).to_string()).as_deref(),
                Some(written)
            );
        }
        assert_eq!(lettered("a03"), lettered("A3"));
        for none in ["3", "A", "A0", "ABCD1", "A1B", "A-1", "A100001", "Ä1", ""] {
            assert_eq!(lettered(none), None, "{none}");
        }
        assert_eq!(printed(17).to_string(), "17");
    }

    #[test]
    fn a_row_counts_on() {
        let (first, last) = (lettered("B9"), lettered("B10"));
        assert_eq!(first.map(|first| first + 1), last);
        assert!(lettered("A100000") < lettered("B1"));
    }
}
