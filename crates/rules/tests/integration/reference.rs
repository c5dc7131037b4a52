//! Every example of the reference is linted: what it shows must be right.

use drysheath_rules::Settings;
use drysheath_rules::example::check;

/// The fenced blocks that are office text, each with the number of its first line.
fn blocks(markdown: &str) -> Vec<(usize, String)> {
    let mut blocks = Vec::new();
    let mut block: Option<(usize, String)> = None;
    for (number, line) in (1..).zip(markdown.lines()) {
        match (&mut block, line) {
            (None, "```office") => block = Some((number + 1, String::new())),
            (Some(_), "```") => blocks.extend(block.take()),
            (Some((_, text)), _) => {
                text.push_str(line);
                text.push('\n');
            }
            _ => {}
        }
    }
    blocks
}

#[test]
fn every_example_of_the_reference_is_clean() {
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/../../grammar/reference.md");
    let reference = std::fs::read_to_string(path).unwrap();
    let blocks = blocks(&reference);
    assert!(blocks.len() >= 10, "the reference has lost its examples");
    let mut wrong = Vec::new();
    for (line, text) in blocks {
        for finding in check(&text, &Settings::default()).findings {
            wrong.push(format!("line {line}: {}: {}", finding.rule.name(), finding.message));
        }
    }
    assert_eq!(wrong, Vec::<String>::new());
}
