use std::borrow::Cow;

use super::terminal;

/// Text for a CSV cell. Spreadsheets take a cell that starts with `=`, `+`, `-`, `@` or a tab for a formula, which can
/// start programs: such a cell gets a leading apostrophe (OWASP, "CSV Injection"). Terminal control characters are also
/// replaced, since CSV may be printed. A figure such as `-48 V` cannot be a formula and is unchanged.
pub fn csv_cell(text: &str) -> Cow<'_, str> {
    let mut safe = terminal(text);
    let starts_formula = safe
        .trim_start()
        .starts_with(['=', '+', '-', '@', '＝', '＋', '－', '＠'])
        || safe.starts_with(['\t', '\r', '\n']);
    if starts_formula && !is_figure(&safe) {
        safe.to_mut().insert(0, '\'');
    }
    safe
}

/// Whether a cell is a signed figure, with or without a unit, or a range of figures.
fn is_figure(text: &str) -> bool {
    let mut characters = text.chars();
    matches!(characters.next(), Some('+' | '-'))
        && characters.next().is_some_and(|one| one.is_ascii_digit())
        && characters.all(|one| one.is_alphanumeric() || matches!(one, ' ' | '.' | '%' | '°' | '/' | '-'))
}

#[cfg(test)]
mod tests {
    use super::csv_cell;

    #[test]
    fn formulas_become_text_and_figures_stay() {
        for (text, safe) in [
            ("=cmd|' /C calc'!A0", "'=cmd|' /C calc'!A0"),
            ("+1+cmd|'x'!A0", "'+1+cmd|'x'!A0"),
            ("@SUM(A1)", "'@SUM(A1)"),
            (" =1+1", "' =1+1"),
            ("-48 V .. -57 V", "-48 V .. -57 V"),
            ("-3.5 °C", "-3.5 °C"),
            ("- not in use", "'- not in use"),
            ("10 psi", "10 psi"),
            ("a\u{1b}b", "a␛b"),
        ] {
            assert_eq!(csv_cell(text), safe);
        }
    }
}
