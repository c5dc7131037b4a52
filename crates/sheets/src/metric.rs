//! How wide text gets. A sheet is read where nobody knows which typeface is installed, so that the widths are those of the widest
//! sans-serif in common use, and what is laid out by them has room to spare in any other.

/// Advance widths of U+0020 to U+007E of `DejaVu Sans Bold`, in thousandths of the size, as its `hmtx` table has them. Its regular
/// cut and the usual narrower typefaces (Arial, Liberation Sans, Helvetica) are narrower in every character.
const ASCII: [u16; 95] = [
    348, 456, 521, 838, 696, 1002, 872, 306, 457, 457, 523, 838, 380, 415, 380, 365, 696, 696, 696, 696, 696, 696, 696, 696,
    696, 696, 400, 400, 838, 838, 838, 580, 1000, 774, 762, 734, 830, 683, 683, 821, 837, 372, 372, 775, 637, 995, 837, 850,
    733, 850, 770, 720, 682, 812, 774, 1103, 771, 724, 725, 457, 365, 457, 838, 500, 500, 675, 716, 593, 716, 678, 435, 716,
    712, 343, 343, 665, 343, 1042, 712, 687, 716, 716, 493, 595, 478, 712, 652, 924, 645, 652, 582, 712, 365, 712, 838,
];
/// Regular text is narrower than bold by this much at the least: over all of ASCII 7 % in the same family.
const REGULAR: f64 = 0.95;
/// Latin letters with accents, Greek, Cyrillic, arrows and signs: none is wider in that typeface, apart from a few ligatures.
const OTHER: u16 = 1110;
/// Ideographs are as wide as high, and come from a typeface of their own.
const WIDE: u16 = 1250;

/// A size of text in CSS pixels, and whether it is bold.
#[derive(Clone, Copy, Debug)]
pub struct Type {
    pub size: f64,
    pub bold: bool,
}

impl Type {
    /// No more than this is the width of a text, in CSS pixels.
    pub fn width(self, text: &str) -> f64 {
        let sum: u32 = text.chars().map(|one| u32::from(advance(one))).sum();
        f64::from(sum) / 1000.0 * self.size * if self.bold { 1.0 } else { REGULAR }
    }

    /// From the top of one line to the top of the next.
    pub fn line(self) -> f64 {
        (self.size * 1.25).ceil()
    }

    /// The text in lines that are no wider than `most`: broken at blanks, and within a word only where it does not fit alone.
    pub fn wrap(self, text: &str, most: f64) -> Vec<String> {
        let mut lines = Vec::new();
        let mut line = String::new();
        for word in text.split_whitespace() {
            let joined = if line.is_empty() {
                word.to_owned()
            } else {
                format!("{line} {word}")
            };
            if self.width(&joined) <= most {
                line = joined;
                continue;
            }
            if !line.is_empty() {
                lines.push(std::mem::take(&mut line));
            }
            line = self.break_word(word, most, &mut lines);
        }
        if !line.is_empty() {
            lines.push(line);
        }
        lines
    }

    /// Puts all but the last piece of a word into `lines`, and returns that.
    fn break_word(self, word: &str, most: f64, lines: &mut Vec<String>) -> String {
        let mut piece = String::new();
        for one in word.chars() {
            piece.push(one);
            if self.width(&piece) > most && piece.chars().count() > 1 {
                piece.pop();
                lines.push(std::mem::replace(&mut piece, one.to_string()));
            }
        }
        piece
    }
}

fn advance(one: char) -> u16 {
    let code = u32::from(one);
    let in_table = code.checked_sub(0x20).and_then(|at| ASCII.get(at as usize));
    match in_table {
        Some(width) => *width,
        None if code < 0x2e80 => OTHER,
        None => WIDE,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const TYPE: Type = Type { size: 10.0, bold: true };

    #[test]
    fn no_line_is_wider_than_it_may_be_and_no_letter_is_lost() {
        for text in ["", "a", "pressure at mh-4 and beyond", "W".repeat(80).as_str(), "漢字かな交じり文の長い題名"] {
            let lines = TYPE.wrap(text, 60.0);
            assert!(lines.iter().all(|line| TYPE.width(line) <= 60.0), "{lines:?}");
            let letters = |text: &str| text.chars().filter(|one| !one.is_whitespace()).collect::<String>();
            assert_eq!(letters(&lines.concat()), letters(text));
        }
    }
}
