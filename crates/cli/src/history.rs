use std::io;

use crate::outcome::Outcome;
use crate::standard_streams::print;

/// Change log. Embedded, so that it can be read without the repository.
const CHANGES: &str = include_str!("../CHANGES.md");

/// Prints the change log.
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
