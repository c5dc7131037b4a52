//! The attributes of a file: permissions, owner, and who may write it.

use std::fs::{File, Metadata, Permissions};
use std::io;
use std::path::Path;

use crate::kind::trouble;

/// What of a file is to be kept when another takes its place.
pub(crate) struct Attributes {
    permissions: Permissions,
    #[cfg(unix)]
    unix: unix::Unix,
}

/// Refuses a file that its owner has made read-only, or that this user may not write: to take its place would go round that.
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

/// Gives a file that is to be new the permissions of any new file. The user's mask takes away from them.
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

    /// Gives them to another file. Returns in words what cannot be kept.
    pub fn give(self, file: &File) -> io::Result<Vec<String>> {
        #[cfg(unix)]
        let lost = self.unix.give(file)?;
        #[cfg(not(unix))]
        let lost = Vec::new();
        // A change of owner takes some permissions away, so that they come last.
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
        /// Extended attributes, access control lists among them.
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
                // The group alone can often be kept.
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
        // The most that Linux has, for the list of names and for each value.
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
