//! Links in a text: to files that it uses, and to rules that it accepts results of.

use drysheath_rules::Rule;
use drysheath_syntax::StatementKind;
use drysheath_text::{FileId, TextRange};
use drysheath_workspace::{Analysis, Snapshot};

/// A clickable range in the text.
#[derive(Clone, Copy)]
pub struct DocumentLink {
    /// Range of the linked word.
    pub range: TextRange,
    /// What the link opens.
    pub target: Target,
}

/// Target of a link.
#[derive(Clone, Copy)]
pub enum Target {
    /// Another file of the repository.
    File(FileId),
    /// The documentation of a rule.
    Rule(&'static Rule),
}

/// The links of a file, in order. Files that do not exist are not linked.
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
