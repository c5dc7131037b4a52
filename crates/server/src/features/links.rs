//! Addresses in a text: files that it uses, pages of the rules that it accepts results of.

use drysheath_ide::{Target, World};
use tower_lsp::lsp_types as lsp;

use crate::document::Document;
use crate::uri::uri_of;

/// The links of a file.
pub(crate) fn links(world: &mut World, document: &Document) -> Vec<lsp::DocumentLink> {
    let tooltips = document.capabilities().link_tooltips;
    let links = drysheath_ide::links(world, &document.analysis).into_iter();
    links
        .filter_map(|link| {
            let (target, tooltip) = match link.target {
                Target::File(file) => (uri_of(&world.path(file)?)?, "The file of parts"),
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
