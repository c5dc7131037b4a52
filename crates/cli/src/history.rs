use std::io;

use crate::outcome::Outcome;
use crate::standard_streams::print;

/// What changed from version to version. It is in the program, so that whoever has only that can read it.
const CHANGES: &str = include_str!("../CHANGES.md");

/// Prints what changed from version to version.
pub(crate) fn run() -> io::Result<Outcome> {
    print(CHANGES.as_bytes()).map(|()| Outcome::Clean)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_newest_version_is_this_one() {
        let newest = CHANGES.lines().find_map(|line| line.strip_prefix("## "));
        assert_eq!(newest, Some(env!("CARGO_PKG_VERSION")));
    }
}
