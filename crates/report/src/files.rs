use drysheath_text::FileId;
use drysheath_workspace::Texts;

/// Access to the files that results refer to.
pub trait Files {
    /// Path of a file as the user gave it.
    fn path(&self, file: FileId) -> &str;

    /// Path of a file from the root of its repository, independent of how the user wrote it.
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
