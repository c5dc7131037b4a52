//! The schema of the settings says what the program reads.

use std::collections::BTreeSet;

use drysheath_report::settings_schema;
use drysheath_rules::{RULES, Settings};
use serde_json::Value;

#[test]
fn it_offers_for_each_rule_the_levels_that_are_read() {
    let schema: Value = serde_json::from_str(&settings_schema()).unwrap();
    for rule in RULES {
        let name = rule.name();
        let offered = schema["properties"]["levels"]["properties"][name]["enum"]
            .as_array()
            .unwrap();
        let offered: BTreeSet<&str> = offered.iter().filter_map(Value::as_str).collect();
        let is_read = |word: &&str| Settings::read(&format!("[levels]\n{name} = \"{word}\"\n")).1.is_empty();
        let read: BTreeSet<&str> = ["error", "warning", "note", "off"]
            .into_iter()
            .filter(is_read)
            .collect();
        assert_eq!(offered, read, "{name}");
    }
}
