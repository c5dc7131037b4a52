use crate::TextRange;

/// One replacement in a text.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub struct Edit {
    /// Range replaced, in the text before the edit.
    pub range: TextRange,
    /// What takes the place of the range; empty to delete it.
    pub replacement: String,
}

/// Applies `edits`, whose ranges refer to the text before any of them.
///
/// `None` if edits overlap or are not on character boundaries: half a fix is worse than none.
pub fn apply(text: &str, edits: &[Edit]) -> Option<String> {
    let mut sorted: Vec<&Edit> = edits.iter().collect();
    sorted.sort_by_key(|edit| (edit.range.start, edit.range.end));
    let mut out = String::with_capacity(text.len());
    let mut at = 0;
    for edit in sorted {
        let start = edit.range.start as usize;
        out.push_str(text.get(at..start)?);
        out.push_str(&edit.replacement);
        at = edit.range.end as usize;
    }
    out.push_str(text.get(at..)?);
    Some(out)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn edit(start: u32, end: u32, with: &str) -> Edit {
        Edit {
            range: TextRange::new(start, end),
            replacement: with.to_owned(),
        }
    }

    #[test]
    fn edits_apply_in_order_of_place() {
        let edits = [edit(4, 5, "two"), edit(0, 1, "one")];
        assert_eq!(apply("1 + 2", &edits).as_deref(), Some("one + two"));
    }

    #[test]
    fn overlapping_or_torn_edits_are_refused() {
        assert_eq!(apply("abcd", &[edit(0, 2, ""), edit(1, 3, "")]), None);
        assert_eq!(apply("é", &[edit(1, 2, "")]), None);
        assert_eq!(apply("a", &[edit(5, 6, "")]), None);
    }
}
