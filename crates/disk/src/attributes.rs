//! Attributes of a file: permissions, owner, and who may write to it.

use std::fs::{File, Metadata, Permissions};
use std::io;
use std::path::Path;

use crate::file_kind::trouble;

/// Attributes to preserve when a file is replaced.
pub(crate) struct Attributes {
    permissions: Permissions,
    #[cfg(unix)]
    unix: unix::Unix,
}

/// Refuses a file that its owner has made read-only or that this user may not write: replacing it would circumvent
/// that.
pub(crate) fn require_writable(path: &Path, metadata: &Metadata) -> io::Result<()> {
    #[cfg(unix)]
    rustix::fs::access(path, rustix::fs::Access::WRITE_OK)?;
    #[cfg(not(unix))]
    let _ = path;
    if metadata.permissions().readonly() {
        return Err(trouble("it is read-only".to_owned()));
    }
    Ok(())
}

/// Gives a new file the usual permissions, which are reduced by the user's umask.
pub(crate) fn as_new(builder: &mut tempfile::Builder<'_, '_>) {
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt;
        builder.permissions(Permissions::from_mode(0o666));
    }
    #[cfg(not(unix))]
    let _ = builder;
}

impl Attributes {
    pub fn of(path: &Path, metadata: &Metadata) -> io::Result<Self> {
        #[cfg(not(unix))]
        let _ = path;
        Ok(Self {
            permissions: metadata.permissions(),
            #[cfg(unix)]
            unix: unix::Unix::of(path, metadata)?,
        })
    }

    /// Applies the attributes to another file. Returns messages about those that cannot be preserved.
    pub fn give(self, file: &File) -> io::Result<Vec<String>> {
        #[cfg(unix)]
        let lost = self.unix.give(file)?;
        #[cfg(not(unix))]
        let lost = Vec::new();
        // Changing the owner clears some permissions, so they are set last.
        file.set_permissions(self.permissions)?;
        Ok(lost)
    }
}

#[cfg(unix)]
mod unix {
    use std::fs::{File, Metadata};
    use std::io;
    use std::os::unix::fs::MetadataExt;
    use std::path::Path;

    use rustix::fs::{Gid, Uid, XattrFlags, fchown, fsetxattr, getxattr, listxattr};
    use rustix::io::Errno;

    pub struct Unix {
        owner: (u32, u32),
        names: u64,
        /// Extended attributes, including access control lists.
        extended: Vec<(Vec<u8>, Vec<u8>)>,
    }

    impl Unix {
        pub fn of(path: &Path, metadata: &Metadata) -> io::Result<Self> {
            Ok(Self {
                owner: (metadata.uid(), metadata.gid()),
                names: metadata.nlink(),
                extended: extended(path)?,
            })
        }

        pub fn give(self, file: &File) -> io::Result<Vec<String>> {
            let mut lost = Vec::new();
            let metadata = file.metadata()?;
            let (user, group) = self.owner;
            if (metadata.uid(), metadata.gid()) != self.owner
                && fchown(file, Some(Uid::from_raw(user)), Some(Gid::from_raw(group))).is_err()
            {
                // Often the group can be preserved even if the owner cannot.
                let _ = fchown(file, None, Some(Gid::from_raw(group)));
                lost.push(format!("its owner, {user}:{group}, could not be kept"));
            }
            for (name, value) in &self.extended {
                if fsetxattr(file, name.as_slice(), value, XattrFlags::empty()).is_err() {
                    let name = String::from_utf8_lossy(name);
                    lost.push(format!("its attribute {name} could not be kept"));
                }
            }
            if self.names > 1 {
                let others = self.names - 1;
                let what = if others == 1 {
                    "name (hard link) keeps"
                } else {
                    "names (hard links) keep"
                };
                lost.push(format!("{others} other {what} the old text"));
            }
            Ok(lost)
        }
    }

    fn extended(path: &Path) -> io::Result<Vec<(Vec<u8>, Vec<u8>)>> {
        // Linux limit for the list of names and for each value.
        const MOST: usize = 64 * 1024;
        let mut buffer = vec![0; MOST];
        let names = match listxattr(path, buffer.as_mut_slice()) {
            Ok(0) | Err(Errno::NOTSUP) => return Ok(Vec::new()),
            Ok(length) => buffer.get(..length).unwrap_or_default().to_owned(),
            Err(error) => return Err(error.into()),
        };
        let mut all = Vec::new();
        for name in names.split(|byte| *byte == 0).filter(|name| !name.is_empty()) {
            let length = getxattr(path, name, buffer.as_mut_slice())?;
            let value = buffer.get(..length).unwrap_or_default();
            all.push((name.to_owned(), value.to_owned()));
        }
        Ok(all)
    }
}
