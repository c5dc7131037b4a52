//! Text widths. The installed typeface is unknown, so widths are those of the widest common sans-serif; text laid out
//! with them fits in any other.

/// Advance widths of U+0020 to U+007E of `DejaVu Sans`, in thousandths of the size, as its `hmtx` table has them. The
/// typefaces a sheet asks for first (Arial, Liberation Sans, Helvetica) is narrower in nearly every character, and in
/// every word.
const REGULAR: [u16; 95] = [
    318, 401, 460, 838, 636, 950, 780, 275, 390, 390, 500, 838, 318, 361, 318, 337, 636, 636, 636, 636, 636, 636, 636,
    636, 636, 636, 337, 337, 838, 838, 838, 531, 1000, 684, 686, 698, 770, 632, 575, 775, 752, 295, 295, 656, 557, 863,
    748, 787, 603, 787, 695, 635, 611, 732, 684, 989, 685, 611, 685, 390, 337, 390, 838, 500, 500, 613, 635, 550, 635,
    615, 352, 635, 634, 278, 278, 579, 278, 974, 634, 612, 635, 635, 411, 521, 392, 634, 592, 818, 592, 592, 525, 636,
    337, 636, 838,
];
/// Advance widths of `DejaVu Sans Bold`, likewise.
const BOLD: [u16; 95] = [
    348, 456, 521, 838, 696, 1002, 872, 306, 457, 457, 523, 838, 380, 415, 380, 365, 696, 696, 696, 696, 696, 696, 696,
    696, 696, 696, 400, 400, 838, 838, 838, 580, 1000, 774, 762, 734, 830, 683, 683, 821, 837, 372, 372, 775, 637, 995,
    837, 850, 733, 850, 770, 720, 682, 812, 774, 1103, 771, 724, 725, 457, 365, 457, 838, 500, 500, 675, 716, 593, 716,
    678, 435, 716, 712, 343, 343, 665, 343, 1042, 712, 687, 716, 716, 493, 595, 478, 712, 652, 924, 645, 652, 582, 712,
    365, 712, 838,
];
/// Width of Latin letters with accents, Greek, Cyrillic, arrows and signs: none is wider in that typeface, apart from a
/// few ligatures.
const OTHER: u16 = 1110;
/// Width of ideographs, which are as wide as high and come from another typeface.
const WIDE: u16 = 1250;

/// No-break space.
pub const UNBROKEN: char = '\u{a0}';

/// Formats a figure with its unit so that they are not separated by a line break.
pub fn unbroken(figure: &impl std::fmt::Display) -> String {
    figure.to_string().replace(' ', "\u{a0}")
}

/// A text size in CSS pixels, and whether it is bold.
#[derive(Clone, Copy, Debug)]
pub struct TextStyle {
    pub size: f64,
    pub bold: bool,
}

impl TextStyle {
    /// Upper bound of the width of a text, in CSS pixels.
    pub fn width(self, text: &str) -> f64 {
        let table = if self.bold { &BOLD } else { &REGULAR };
        let sum: u32 = text.chars().map(|one| u32::from(advance(one, table))).sum();
        f64::from(sum) / 1000.0 * self.size
    }

    /// Height of a line of text in CSS pixels.
    pub fn line(self) -> f64 {
        (self.size * 1.25).ceil()
    }

    /// Wraps a text into lines no wider than `most`. Breaks at blanks; a word is split only if it does not fit into a
    /// line of its own.
    pub fn wrap(self, text: &str, most: f64) -> Vec<String> {
        let mut lines = Vec::new();
        let mut line = String::new();
        for word in text
            .split(|one: char| one.is_whitespace() && one != UNBROKEN)
            .filter(|word| !word.is_empty())
        {
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

    /// Splits a word: all but the last piece go to `lines`, the last is returned.
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

fn advance(one: char, table: &[u16; 95]) -> u16 {
    let code = u32::from(one);
    let code = if one == UNBROKEN { 0x20 } else { code };
    let in_table = code.checked_sub(0x20).and_then(|at| table.get(at as usize));
    match in_table {
        Some(width) => *width,
        None if code < 0x2e80 => OTHER,
        None => WIDE,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const TYPE: TextStyle = TextStyle { size: 10.0, bold: true };

    #[test]
    fn no_line_is_wider_than_it_may_be_and_no_letter_is_lost() {
        for text in [
            "",
            "a",
            "pressure at mh-4 and beyond",
            "W".repeat(80).as_str(),
            "漢字かな交じり文の長い題名",
        ] {
            let lines = TYPE.wrap(text, 60.0);
            assert!(lines.iter().all(|line| TYPE.width(line) <= 60.0), "{lines:?}");
            let letters = |text: &str| text.chars().filter(|one| !one.is_whitespace()).collect::<String>();
            assert_eq!(letters(&lines.concat()), letters(text));
        }
    }
}
