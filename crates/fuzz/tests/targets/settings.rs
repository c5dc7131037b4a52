//! Any settings are read, and what is wrong with them is shown where it stands.

use drysheath_fixture::{Change, check, mutated};
use drysheath_rules::Settings;

use crate::holds::is_range_of;

#[test]
fn any_settings_are_read() {
    const SETTINGS: &str = include_str!("../../../../tests/county/drysheath.toml");
    check!(200_000)
        .with_type::<(Vec<Change>, Vec<u8>)>()
        .for_each(|(changes, bytes)| {
            let text = mutated(SETTINGS, changes);
            for text in [text.as_str(), &String::from_utf8_lossy(bytes)] {
                let (_, problems) = Settings::read(text);
                for problem in problems {
                    is_range_of(text, problem.range);
                }
            }
        });
}
