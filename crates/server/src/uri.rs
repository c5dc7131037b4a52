use std::path::{Path, PathBuf};

use tower_lsp::lsp_types::Url;

/// Path of a file URI. Other URIs, such as of a text that was never saved, become a path that cannot exist on disk.
pub(crate) fn path_of(uri: &Url) -> PathBuf {
    uri.to_file_path().unwrap_or_else(|()| PathBuf::from(uri.as_str()))
}

/// File URI of a path.
pub(crate) fn uri_of(path: &Path) -> Option<Url> {
    Url::from_file_path(path)
        .ok()
        .or_else(|| Url::parse(&path.to_string_lossy()).ok())
}
