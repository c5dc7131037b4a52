use drysheath_text::FileId;

/// The files that results lie in.
pub trait Files {
    /// The file's path, as the user gave it.
    fn path(&self, file: FileId) -> &str;

    /// The file's text.
    fn text(&self, file: FileId) -> &str;
}
