//! The office language for [tree-sitter](https://docs.rs/tree-sitter).

use tree_sitter_language::LanguageFn;

unsafe extern "C" {
    fn tree_sitter_office() -> *const ();
}

/// The language, for `tree_sitter::Parser::set_language(&LANGUAGE.into())`.
// The generated function has this signature and may be called at any time.
pub const LANGUAGE: LanguageFn = unsafe { LanguageFn::from_raw(tree_sitter_office) };
/// What each word is, for highlighting.
pub const HIGHLIGHTS_QUERY: &str = include_str!("../../queries/highlights.scm");
/// What is declared and used.
pub const LOCALS_QUERY: &str = include_str!("../../queries/locals.scm");
/// What a file declares, for lists of symbols.
pub const TAGS_QUERY: &str = include_str!("../../queries/tags.scm");
/// What can be folded.
pub const FOLDS_QUERY: &str = include_str!("../../queries/folds.scm");
/// What is indented.
pub const INDENTS_QUERY: &str = include_str!("../../queries/indents.scm");
