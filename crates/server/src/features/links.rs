//! Document links: to the files in `use` statements, and to the pages of accepted rules.

use drysheath_ide::Target;
use tower_lsp::lsp_types as lsp;

use crate::document::Document;
use crate::uri::uri_of;

/// The links of a file.
pub(crate) fn links(document: &Document) -> Vec<lsp::DocumentLink> {
    let tooltips = document.capabilities().link_tooltips;
    let links = drysheath_ide::links(&document.snapshot, &document.analysis).into_iter();
    links
        .filter_map(|link| {
            let (target, tooltip) = match link.target {
                Target::File(file) => (uri_of(&document.snapshot.path(file)?)?, "The file of parts"),
                Target::Rule(rule) => (document.page(rule)?, rule.summary),
            };
            Some(lsp::DocumentLink {
                range: document.range(link.range),
                target: Some(target),
                tooltip: tooltips.then(|| tooltip.to_owned()),
                data: None,
            })
        })
        .collect()
}
