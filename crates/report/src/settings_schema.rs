//! The JSON Schema of `drysheath.toml`, for editors that complete settings with one.

use drysheath_engineering::standard::{NamedStandardConditions, STANDARDS};
use drysheath_office::kinds::LANGUAGE;
use drysheath_rules::{CONDITIONS, LANGUAGE_KEY, Level, PRACTICES, RECORD_NAMES, RULES, SWITCHES};
use serde_json::{Map, Value, json};

use crate::document::json;

/// The schema, built from the tables of the settings.
pub fn settings_schema() -> String {
    let mut properties = Map::new();
    let language = json!({
        "const": LANGUAGE,
        "description": "The number of the language that the offices are written in. The file at the root must say it; files in folders may repeat it.",
    });
    properties.insert(LANGUAGE_KEY.to_owned(), language);
    properties.insert(
        "levels".to_owned(),
        table("Levels of rules that differ from their defaults.", &levels()),
    );
    properties.insert(
        "practice".to_owned(),
        table("Numbers that are practice rather than physics.", &practices()),
    );
    let (name, key, doc) = CONDITIONS;
    let known: Vec<String> = STANDARDS.iter().map(NamedStandardConditions::written).collect();
    let standard = json!({ "type": "string", "description": doc, "examples": known });
    properties.insert(name.to_owned(), table(doc, &one(key, standard)));
    let (name, key, doc) = RECORD_NAMES;
    let names = json!({ "type": "array", "items": { "type": "string" }, "description": doc });
    properties.insert(name.to_owned(), table(doc, &one(key, names)));
    properties.insert(
        "editor".to_owned(),
        table("What an editor shows beside the text.", &switches()),
    );
    json(&json!({
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "drysheath.toml",
        "description": "The settings of the offices in a folder and below.",
        "type": "object",
        "properties": properties,
        "additionalProperties": false,
    }))
}

fn table(description: &str, properties: &Map<String, Value>) -> Value {
    json!({ "type": "object", "description": description, "properties": properties, "additionalProperties": false })
}

fn one(key: &str, value: Value) -> Map<String, Value> {
    Map::from_iter([(key.to_owned(), value)])
}

fn levels() -> Map<String, Value> {
    let level = |rule: &drysheath_rules::Rule| {
        let levels = [Level::Error, Level::Warning, Level::Note].into_iter();
        let mut words: Vec<_> = levels.filter(|level| rule.can_have(*level)).map(Level::word).collect();
        if rule.can_be_switched_off() {
            words.push("off");
        }
        let level =
            json!({ "type": "string", "enum": words, "default": rule.level.word(), "description": rule.summary });
        (rule.name().to_owned(), level)
    };
    RULES.iter().copied().map(level).collect()
}

fn practices() -> Map<String, Value> {
    let practice = |practice: &drysheath_rules::Practice| {
        let key: &str = practice.key.into();
        let mut value = json!({ "type": "string", "description": format!("{} Source of the default: {}.", practice.doc, practice.source) });
        if let (Some(default), Some(value)) = (practice.default, value.as_object_mut()) {
            value.insert("default".to_owned(), default.into());
        }
        (key.to_owned(), value)
    };
    PRACTICES.iter().map(practice).collect()
}

fn switches() -> Map<String, Value> {
    let switch = |switch: &drysheath_rules::Switch| {
        let key: &str = switch.key.into();
        let default = if switch.default { "yes" } else { "no" };
        let value = json!({ "type": "string", "enum": ["yes", "no"], "default": default, "description": switch.doc });
        (key.to_owned(), value)
    };
    SWITCHES.iter().map(switch).collect()
}
