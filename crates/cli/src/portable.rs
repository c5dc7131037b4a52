//! File names that are valid on every system.

/// Makes a name valid for files and folders on every system. Windows reserves device names, with any extension, does
/// not allow `<>:"|?*` or backslashes, and drops trailing blanks and full stops
/// (<https://learn.microsoft.com/windows/win32/fileio/naming-a-file>). Other names are unchanged.
pub(crate) fn portable(name: &str) -> String {
    let is_refused = |one: char| one.is_control() || matches!(one, '<' | '>' | ':' | '"' | '|' | '?' | '*' | '\\');
    let mut taken: String = name
        .chars()
        .map(|one| if is_refused(one) { '_' } else { one })
        .collect();
    let (stem, rest) = taken.split_at(taken.find('.').unwrap_or(taken.len()));
    if is_device(stem.trim_end()) {
        taken = format!("{stem}_{rest}");
    }
    if taken.ends_with([' ', '.']) {
        taken.push('_');
    }
    taken
}

/// Whether a name is that of a Windows device.
fn is_device(stem: &str) -> bool {
    let stem = stem.to_ascii_lowercase();
    let is_numbered = |device: &str| {
        let number = stem.strip_prefix(device).and_then(|rest| rest.parse::<char>().ok());
        number.is_some_and(|number| matches!(number, '1'..='9' | '\u{b9}' | '\u{b2}' | '\u{b3}'))
    };
    matches!(stem.as_str(), "con" | "prn" | "aux" | "nul") || is_numbered("com") || is_numbered("lpt")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_that_every_system_takes_stay() {
        for name in ["elm-hollow", "c101.side", "com10", "console", "nulls", "ü b", "lpt"] {
            assert_eq!(portable(name), name);
        }
    }

    #[test]
    fn names_of_devices_and_refused_characters_are_replaced() {
        let names = [
            ("nul", "nul_"),
            ("CON", "CON_"),
            ("com1.b1", "com1_.b1"),
            ("Lpt9", "Lpt9_"),
            ("aux .x", "aux _.x"),
            ("a:b", "a_b"),
            ("javascript:alert(1)", "javascript_alert(1)"),
            ("a\\b", "a_b"),
            ("end.", "end._"),
            ("end ", "end _"),
        ];
        for (name, expected) in names {
            assert_eq!(portable(name), expected, "{name}");
        }
    }
}
