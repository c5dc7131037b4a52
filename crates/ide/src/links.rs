//! What in a text leads elsewhere: files that it uses, rules that it accepts results of.

use drysheath_rules::Rule;
use drysheath_syntax::StatementKind;
use drysheath_text::{FileId, TextRange};
use drysheath_workspace::{Analysis, Snapshot};

/// A word that leads elsewhere.
#[derive(Clone, Copy)]
pub struct DocumentLink {
    /// The bytes of the word.
    pub range: TextRange,
    /// What the link opens.
    pub target: Target,
}

/// Where a link leads.
#[derive(Clone, Copy)]
pub enum Target {
    /// Another file of the repository.
    File(FileId),
    /// To what is to be read of a rule.
    Rule(&'static Rule),
}

/// The links of a file, in order. A file that is not there is none.
pub fn links(snapshot: &Snapshot, analysis: &Analysis) -> Vec<DocumentLink> {
    let link = |range, target| DocumentLink { range, target };
    let uses = analysis.office.uses.iter();
    let mut links: Vec<DocumentLink> = uses
        .filter_map(|used| {
            Some(link(
                used.range,
                Target::File(snapshot.used(analysis.file, &used.value)?),
            ))
        })
        .collect();
    for statement in &analysis.tree.statements {
        if let StatementKind::Accept(accept) = &statement.kind {
            let range = analysis.tree.range(accept.rule);
            let rule = drysheath_rules::find(range.of(&analysis.text));
            links.extend(rule.map(|rule| link(range, Target::Rule(rule))));
        }
    }
    links.sort_by_key(|link| link.range);
    links
}
