use std::path::{Path, PathBuf};

use tower_lsp::lsp_types::Url;

/// The path of a file's address. Addresses of other kinds, such as of a text that was never saved, stand for a path of
/// their own that no disk has.
pub(crate) fn path_of(uri: &Url) -> PathBuf {
    uri.to_file_path().unwrap_or_else(|()| PathBuf::from(uri.as_str()))
}

/// The address of a path.
pub(crate) fn uri_of(path: &Path) -> Option<Url> {
    Url::from_file_path(path)
        .ok()
        .or_else(|| Url::parse(&path.to_string_lossy()).ok())
}
