//! Reads the corpora of `tree-sitter test`: a name between lines of `=`, a text, a line of `-`, and what it is read as.

pub struct Case {
    pub name: String,
    pub text: String,
    pub expected: String,
}

pub fn cases(file: &str) -> Vec<Case> {
    let mut cases = Vec::new();
    let mut lines = file.lines().peekable();
    while let Some(line) = lines.next() {
        if !line.starts_with("===") {
            continue;
        }
        let name = lines.next().unwrap().to_owned();
        lines.next();
        let text: Vec<&str> = lines.by_ref().take_while(|line| *line != "---").collect();
        let mut expected = String::new();
        while let Some(line) = lines.next_if(|line| !line.starts_with("===")) {
            expected.push_str(line);
            expected.push('\n');
        }
        // The blank lines around a text are not part of it.
        let text = text.join("\n");
        let text = text.strip_prefix('\n').unwrap_or(&text).to_owned();
        cases.push(Case { name, text, expected });
    }
    cases
}

/// A tree without the names of fields, which a corpus may leave out, and without the blanks that only make it readable.
pub fn normal(tree: &str) -> String {
    let words: Vec<&str> = tree.split_whitespace().filter(|word| !word.ends_with(':')).collect();
    words.join(" ").replace("( ", "(").replace(" )", ")")
}
