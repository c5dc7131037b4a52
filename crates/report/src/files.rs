use drysheath_text::FileId;
use drysheath_workspace::Texts;

/// The files that results lie in.
pub trait Files {
    /// The file's path, as the user gave it.
    fn path(&self, file: FileId) -> &str;

    /// The file's path from the root of its repository, which does not depend on how the user wrote it.
    fn path_from_root(&self, file: FileId) -> &str {
        self.path(file)
    }

    /// The text of a file.
    fn text(&self, file: FileId) -> &str;
}

impl Files for Texts {
    fn path(&self, file: FileId) -> &str {
        Texts::path(self, file)
    }

    fn path_from_root(&self, file: FileId) -> &str {
        Texts::path_from_root(self, file)
    }

    fn text(&self, file: FileId) -> &str {
        Texts::text(self, file)
    }
}
