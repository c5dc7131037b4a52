//! The repository's settings, `drysheath.toml`: the levels of rules, the practice numbers, and the annotations in
//! editors. Each number and switch is declared once, with its default and the source of that.

mod by_key;
mod conditions;
mod editor;
mod language;
mod layers;
mod records;

use std::collections::BTreeMap;
use std::sync::Arc;

pub use conditions::CONDITIONS;
pub(crate) use conditions::quantity;
use drysheath_engineering::standard::NamedStandardConditions;
use drysheath_engineering::units::{self, Dimension, Quantity};
use drysheath_office::kinds::{Key, LANGUAGE, SURROUNDINGS};
use drysheath_office::nearest;
use drysheath_syntax::Problem;
use drysheath_text::TextRange;
pub use editor::{EditorKey, SWITCHES, Switch};
pub use language::LANGUAGE_KEY;
pub use records::RECORD_NAMES;
use strum::{EnumCount, IntoStaticStr, VariantArray};
use toml_edit::{Document, Item, Table, Value};

use self::by_key::ByKey;
use self::editor::Switches;
use self::layers::Layer;
use crate::registry::{self, RULES, RuleId};
use crate::rule::{Level, Source};

/// A number that is practice rather than physics.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, IntoStaticStr, VariantArray)]
#[strum(serialize_all = "kebab-case")]
pub enum PracticeKey {
    /// Margin of a dryer's capacity over the usage.
    DryerMargin,
    /// Bottom of the part of a span where a normal reading belongs.
    NormalFrom,
    /// Top of the part of a span where a normal reading belongs.
    NormalTo,
    /// Distance from a cable's far end within which a sensor covers the end, as a fraction of the cable's length.
    FarEndWithin,
    /// Minimum pressure in underground cable.
    MinimumUnderground,
    /// Minimum pressure in buried cable.
    MinimumBuried,
    /// Minimum pressure in aerial cable.
    MinimumAerial,
    /// Smallest leak that is worth a technician's visit.
    LeakSize,
    /// Highest permitted duty cycle of a dryer.
    DutyCycle,
    /// Longest time from today that an acceptance may hold.
    AcceptanceTerm,
    /// Permitted deviation of a meter reading from the computed value, in addition to the errors of sensors.
    MeterLeeway,
    /// Uncertainty of the usage of a section or pipe.
    UsageWithin,
    /// Uncertainty of the usage of a section or pipe before readings correct it.
    UsageEstimateWithin,
    /// Uncertainty of the pneumatic resistance of a section.
    ResistanceWithin,
    /// Accuracy of a regulator's outlet pressure.
    SetWithin,
    /// Largest excess of a wire's stated limit over the published one.
    WireLimit,
    /// Shortest time that full bottles must last where nothing else feeds the office.
    BottlesLast,
    /// Shortest time that a battery must carry its loads.
    BatteryLasts,
}

const PRACTICE_COUNT: usize = PracticeKey::VARIANTS.len();

impl From<PracticeKey> for usize {
    fn from(key: PracticeKey) -> Self {
        key as Self
    }
}

/// A practice number that the settings can change.
#[derive(Debug)]
pub struct Practice {
    /// Key in the settings.
    pub key: PracticeKey,
    /// Meaning, in one sentence.
    pub doc: &'static str,
    /// Dimension. `None` for a percentage.
    pub dimension: Option<Dimension>,
    /// Highest plausible percentage, if there is one.
    pub most: Option<f64>,
    /// Default. Without one, checks that need the number are skipped unless it is set.
    pub default: Option<&'static str>,
    /// Source of the default.
    pub source: Source,
}

impl Practice {
    /// A sample value for messages.
    fn sample(&self) -> &'static str {
        self.default.unwrap_or("5 psi")
    }
}

/// The minimum pressures, in the order of [`SURROUNDINGS`].
const MINIMUMS: [PracticeKey; 3] = [
    PracticeKey::MinimumUnderground,
    PracticeKey::MinimumBuried,
    PracticeKey::MinimumAerial,
];

const MINIMUM: Practice = Practice {
    key: PracticeKey::MinimumUnderground,
    doc: "",
    dimension: Some(Dimension::Pressure),
    most: None,
    default: None,
    source: Source::CommonPractice,
};

/// All practice numbers, in the order of the reference.
pub static PRACTICES: &[Practice] = &[
    Practice {
        key: PracticeKey::DryerMargin,
        doc: "The least margin of a dryer's capacity over the usage, as a percentage of the usage.",
        dimension: None,
        most: None,
        default: Some("25 %"),
        source: Source::CommonPractice,
    },
    Practice {
        key: PracticeKey::NormalFrom,
        doc: "The lowest part of its span at which a sensor should read when all is well.",
        dimension: None,
        most: Some(100.0),
        default: Some("25 %"),
        source: Source::FromMemory("ASME B40.100, for gauges"),
    },
    Practice {
        key: PracticeKey::NormalTo,
        doc: "The highest part of its span at which a sensor should read when all is well.",
        dimension: None,
        most: Some(100.0),
        default: Some("75 %"),
        source: Source::FromMemory("ASME B40.100, for gauges"),
    },
    Practice {
        key: PracticeKey::FarEndWithin,
        doc: "How far from the far end of a cable a sensor may be and still watch that end, as a percentage of the cable's length.",
        dimension: None,
        most: Some(100.0),
        default: Some("10 %"),
        source: Source::CommonPractice,
    },
    Practice {
        key: PracticeKey::MinimumUnderground,
        doc: "Minimum pressure of underground cable where the office states none.",
        ..MINIMUM
    },
    Practice {
        key: PracticeKey::MinimumBuried,
        doc: "Minimum pressure of buried cable where the office states none.",
        ..MINIMUM
    },
    Practice {
        key: PracticeKey::MinimumAerial,
        doc: "Minimum pressure of aerial cable where the office states none.",
        ..MINIMUM
    },
    Practice {
        key: PracticeKey::LeakSize,
        doc: "The smallest leak that a crew is sent out for: wherever it is, it should trip a limit.",
        dimension: Some(Dimension::Flow),
        most: None,
        default: Some("5 scfh"),
        source: Source::CommonPractice,
    },
    Practice {
        key: PracticeKey::DutyCycle,
        doc: "The highest duty cycle of a dryer: the usage as a percentage of its capacity.",
        dimension: None,
        most: Some(100.0),
        default: Some("80 %"),
        source: Source::CommonPractice,
    },
    Practice {
        key: PracticeKey::AcceptanceTerm,
        doc: "The longest time for which a result may be accepted before somebody reviews it.",
        dimension: Some(Dimension::Time),
        most: None,
        default: Some("730 d"),
        source: Source::CommonPractice,
    },
    Practice {
        key: PracticeKey::MeterLeeway,
        doc: "How far a voltage or loop resistance read with a meter may be from the computed value, and how far the loss in a decay test may exceed the declared usage.",
        dimension: None,
        most: Some(100.0),
        default: Some("5 %"),
        source: Source::CommonPractice,
    },
    Practice {
        key: PracticeKey::UsageWithin,
        doc: "The uncertainty of the declared usage of a section or pipe, which is allowed for when readings are compared.",
        dimension: None,
        most: Some(100.0),
        default: Some("10 %"),
        source: Source::CommonPractice,
    },
    Practice {
        key: PracticeKey::UsageEstimateWithin,
        doc: "How far the declared usage of a section or pipe may be from what it loses, before readings correct it: an estimate made at design, \
              which `predict --fit` and the place of a leak start from.",
        dimension: None,
        most: Some(100.0),
        default: Some("30 %"),
        source: Source::CommonPractice,
    },
    Practice {
        key: PracticeKey::ResistanceWithin,
        doc: "The uncertainty of the declared pneumatic resistance of a section, which is allowed for when readings are compared.",
        dimension: None,
        most: Some(100.0),
        default: Some("10 %"),
        source: Source::CommonPractice,
    },
    Practice {
        key: PracticeKey::SetWithin,
        doc: "How far the pressure of a regulator or dryer may be from what is declared, since it is set by hand beside a gauge: what a \
              reading may be off for that.",
        dimension: None,
        most: Some(100.0),
        default: Some("2 %"),
        source: Source::FromMemory("ASME B40.100, grade B in the middle half of its scale"),
    },
    Practice {
        key: PracticeKey::WireLimit,
        doc: "The most that a run may state as the `limit` of its wire, as a percentage of what the published table allows for that size: \
              insulation for high temperatures in free air bears a few times as much, and none more.",
        dimension: None,
        most: None,
        default: Some("400 %"),
        source: Source::CommonPractice,
    },
    Practice {
        key: PracticeKey::BottlesLast,
        doc: "The least time that full bottles must last where no compressor feeds the same cables.",
        dimension: Some(Dimension::Time),
        most: None,
        default: Some("7 d"),
        source: Source::CommonPractice,
    },
    Practice {
        key: PracticeKey::BatteryLasts,
        doc: "The least time that a battery must carry its loads without the mains, which `predict --size` takes for its capacity.",
        dimension: Some(Dimension::Time),
        most: None,
        default: Some("8 h"),
        source: Source::CommonPractice,
    },
];

/// The settings that hold in one folder of a repository.
#[derive(Clone, Debug)]
pub struct Settings {
    levels: ByKey<RuleId, Option<StatedLevel>, { RuleId::COUNT }>,
    percentages: ByKey<PracticeKey, f64, PRACTICE_COUNT>,
    quantities: ByKey<PracticeKey, Option<Quantity>, PRACTICE_COUNT>,
    switches: Switches,
    standard: &'static NamedStandardConditions,
    /// The number of the language, if stated.
    language: Option<u32>,
    /// The permitted names after `record`, if listed.
    record_names: Option<Box<[Box<str>]>>,
    /// For each key that is set, the path of its file from the root.
    stands_in: BTreeMap<&'static str, Arc<str>>,
}

/// A rule's level as set.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum StatedLevel {
    /// The rule is off.
    Off,
    /// Results of the rule have this level.
    At(Level),
}

impl StatedLevel {
    /// Word in the settings.
    fn word(self) -> &'static str {
        match self {
            Self::Off => "off",
            Self::At(level) => level.word(),
        }
    }
}

/// An error in the settings. All other entries still apply.
pub type SettingsProblem = Problem<RuleId>;

impl Default for Settings {
    fn default() -> Self {
        let mut settings = Self {
            levels: ByKey::filled(None),
            percentages: ByKey::filled(0.0),
            quantities: ByKey::filled(None),
            switches: Switches::default(),
            standard: NamedStandardConditions::base(),
            language: None,
            record_names: None,
            stands_in: BTreeMap::new(),
        };
        settings.set_defaults();
        settings
    }
}

impl Settings {
    /// Reads settings. Errors are returned in the list; all other entries apply.
    pub fn read(text: &str) -> (Self, Vec<SettingsProblem>) {
        let mut settings = Self::default();
        let mut problems = Vec::new();
        let layer = Layer::top();
        match document(text, &mut problems) {
            Some(document) => {
                // Standard volume flows in the other settings depend on the conditions, so read those first.
                settings.read_language(&document, &mut problems);
                settings.read_conditions(&document, &layer, &mut problems);
                settings.tables(&document, &layer, &mut problems);
            }
            // The number may be in the text that could not be parsed, so it does not count as missing.
            None => settings.language = Some(LANGUAGE),
        }
        (settings, problems)
    }

    fn set_defaults(&mut self) {
        for practice in PRACTICES {
            if let Some(default) = practice.default {
                // A test checks that every default has its dimension.
                self.set(practice, default);
            }
        }
    }

    /// The standard conditions that the repository's standard volumes refer to.
    pub fn standard(&self) -> &'static NamedStandardConditions {
        self.standard
    }

    /// A percentage as a fraction of 1.
    pub fn fraction(&self, key: PracticeKey) -> f64 {
        self.percentages[key] / 100.0
    }

    /// A quantity. `None` if the settings have none.
    pub fn quantity(&self, key: PracticeKey) -> Option<Quantity> {
        self.quantities[key]
    }

    /// Whether an annotation is enabled.
    pub fn shows(&self, key: EditorKey) -> bool {
        self.switches.is_on(key)
    }

    /// The settings file that declares the minimum pressure for these surroundings.
    pub(crate) fn minimum_file(&self, surroundings: Key) -> Option<&str> {
        let at = SURROUNDINGS.iter().position(|other| *other == surroundings)?;
        self.stated_file(*MINIMUMS.get(at)?)
    }

    /// The minimum pressures that the repository declares.
    pub fn minimums(&self) -> drysheath_prediction::DefaultMinimums {
        MINIMUMS.map(|key| self.quantity(key))
    }

    /// The levels that are set and the practice numbers that have a value, by name, to compare two settings.
    pub fn in_force(&self) -> BTreeMap<&'static str, String> {
        let levels = RULES.iter().filter_map(|rule| {
            let stated = self.levels[rule.id]?;
            Some((rule.name(), stated.word().to_owned()))
        });
        let practices = PRACTICES.iter().filter_map(|practice| {
            let shown = match practice.dimension {
                None => format!("{} %", self.percentages[practice.key]),
                Some(_) => self.quantity(practice.key)?.to_string(),
            };
            Some((<&str>::from(practice.key), shown))
        });
        let standard = (conditions::STANDARD, self.standard.name.to_owned());
        let language = (LANGUAGE_KEY, self.language().to_string());
        let names = self.record_names().map(|names| (records::TABLE, names.join(", ")));
        let others = [Some(standard), Some(language), names];
        levels.chain(practices).chain(others.into_iter().flatten()).collect()
    }

    /// The level of a rule, if the settings set it.
    pub(crate) fn level(&self, rule: RuleId) -> Option<StatedLevel> {
        self.levels[rule]
    }

    fn tables(&mut self, table: &Table, layer: &Layer<'_>, problems: &mut Vec<SettingsProblem>) {
        const TABLES: [&str; 5] = ["levels", "practice", conditions::TABLE, records::TABLE, "editor"];
        const KEYS: [&str; 6] = [
            "levels",
            "practice",
            conditions::TABLE,
            records::TABLE,
            "editor",
            LANGUAGE_KEY,
        ];
        for (key, item) in table {
            let key_range = key_range(table, key);
            if key == LANGUAGE_KEY {
                // Read before all other keys.
                continue;
            }
            let Some(entries) = item.as_table() else {
                problems.push(unknown(key, key_range, "setting", &KEYS));
                if nearest(key, [LANGUAGE_KEY]).is_some() {
                    self.language.get_or_insert(LANGUAGE);
                }
                continue;
            };
            match key {
                "levels" => self.read_levels(entries, layer, problems),
                "practice" => self.read_practices(entries, layer, problems),
                records::TABLE => self.read_record_names(entries, layer, problems),
                "editor" => self.read_switches(entries, problems),
                // Read before all other tables.
                conditions::TABLE => {}
                _ => problems.push(unknown(key, key_range, "table", &TABLES)),
            }
        }
    }

    fn read_levels(&mut self, entries: &Table, layer: &Layer<'_>, problems: &mut Vec<SettingsProblem>) {
        for (name, item) in entries {
            let Some(rule) = registry::find(name) else {
                let names: Vec<_> = RULES.iter().map(|rule| rule.name()).collect();
                problems.push(unknown(name, key_range(entries, name), "rule", &names));
                continue;
            };
            let level = match item.as_str() {
                Some("off") => Some(StatedLevel::Off),
                Some(word) => Level::find(word).map(StatedLevel::At),
                None => None,
            };
            let place = item_range(item).unwrap_or(key_range(entries, name));
            let refused = match level {
                Some(StatedLevel::Off) => !rule.can_be_switched_off(),
                Some(StatedLevel::At(level)) => !rule.can_have(level),
                None => false,
            };
            if refused {
                let refusal = if rule.can_be_accepted() {
                    let message = format!("`{name}` cannot be switched off: it is a rule of the language");
                    problem(place, message).help("accept single results with a reason, or write \"note\"")
                } else {
                    let message = format!(
                        "`{name}` cannot be lowered or switched off: it reports what was not understood and so is not checked"
                    );
                    problem(place, message).help("delete this line, and correct what the rule reports")
                };
                problems.push(refusal);
                continue;
            }
            match level {
                Some(stated) => match layer.refuses(rule, stated, self) {
                    Some((message, help)) => problems.push(problem(place, message).help(help)),
                    None => {
                        self.levels[rule.id] = Some(stated);
                        self.stands_in.insert(rule.name(), layer.file());
                    }
                },
                None => problems.push(problem(
                    place,
                    format!("`{name}` takes \"error\", \"warning\", \"note\" or \"off\""),
                )),
            }
        }
    }

    fn read_practices(&mut self, entries: &Table, layer: &Layer<'_>, problems: &mut Vec<SettingsProblem>) {
        let before = self.normal();
        for (name, item) in entries {
            let practice = PRACTICES.iter().find(|practice| <&str>::from(practice.key) == name);
            let Some(practice) = practice else {
                let names: Vec<&str> = PRACTICES.iter().map(|practice| practice.key.into()).collect();
                problems.push(unknown(name, key_range(entries, name), "practice number", &names));
                continue;
            };
            let written = item.as_str().unwrap_or_default();
            if self.set(practice, written) {
                self.stands_in.insert(practice.key.into(), layer.file());
            } else {
                let wanted = match practice.dimension {
                    Some(dimension) => format!("a {} in quotes, such as \"{}\"", dimension.name(), practice.sample()),
                    None => match practice.most {
                        Some(most) => format!(
                            "a percentage of at most {most} % in quotes, such as \"{}\"",
                            practice.sample()
                        ),
                        None => format!("a percentage in quotes, such as \"{}\"", practice.sample()),
                    },
                };
                problems.push(problem(
                    item_range(item).unwrap_or(key_range(entries, name)),
                    format!("`{name}` takes {wanted}"),
                ));
            }
        }
        self.order_normal(entries, before, problems);
    }

    /// The part of a span where a normal reading belongs, in percent.
    fn normal(&self) -> [f64; 2] {
        [PracticeKey::NormalFrom, PracticeKey::NormalTo].map(|key| self.percentages[key])
    }

    /// Checks that the normal part of a span does not end before it starts: otherwise no reading would be normal.
    fn order_normal(&mut self, entries: &Table, before: [f64; 2], problems: &mut Vec<SettingsProblem>) {
        let [from, to] = self.normal();
        if from < to {
            return;
        }
        let key = ["normal-from", "normal-to"]
            .into_iter()
            .find(|key| entries.contains_key(key));
        let item = key.and_then(|key| entries.get(key));
        let message = format!("`normal-from` is {from} % and `normal-to` {to} %: no reading is between them");
        problems.push(
            problem(item.and_then(item_range).unwrap_or_default(), message).help(format!(
                "set `normal-from` below `normal-to`; until then {} % and {} % hold",
                before[0], before[1]
            )),
        );
        self.percentages[PracticeKey::NormalFrom] = before[0];
        self.percentages[PracticeKey::NormalTo] = before[1];
    }

    fn read_switches(&mut self, entries: &Table, problems: &mut Vec<SettingsProblem>) {
        for (name, item) in entries {
            let Some(switch) = SWITCHES.iter().find(|switch| <&str>::from(switch.key) == name) else {
                let names: Vec<&str> = SWITCHES.iter().map(|switch| switch.key.into()).collect();
                problems.push(unknown(name, key_range(entries, name), "switch", &names));
                continue;
            };
            match item.as_str() {
                Some("yes") => self.switches.set(switch, true),
                Some("no") => self.switches.set(switch, false),
                _ => problems.push(problem(
                    item_range(item).unwrap_or(key_range(entries, name)),
                    format!("`{name}` takes \"yes\" or \"no\""),
                )),
            }
        }
    }

    fn set(&mut self, practice: &Practice, written: &str) -> bool {
        let Some((number, unit)) = written.trim().split_once(' ') else {
            return false;
        };
        let Some(value) = number
            .parse::<f64>()
            .ok()
            .filter(|value| value.is_finite() && *value >= 0.0)
        else {
            return false;
        };
        let Some(dimension) = practice.dimension else {
            if unit.trim() != "%" || practice.most.is_some_and(|most| value > most) {
                return false;
            }
            self.percentages[practice.key] = value;
            return true;
        };
        let unit = units::find(unit.trim()).filter(|unit| unit.dimension == dimension && !unit.absolute);
        let unit = unit.map(|unit| units::counted(unit, self.standard));
        if let Some(unit) = unit {
            self.quantities[practice.key] = Some(Quantity { value, unit });
        }
        unit.is_some()
    }
}

/// Parses settings into a table.
fn document(text: &str, problems: &mut Vec<SettingsProblem>) -> Option<Table> {
    match Document::parse(text) {
        Ok(document) => Some(document.as_table().clone()),
        Err(error) => {
            problems.push(problem(
                error.span().map_or(TextRange::default(), range),
                format!("this is not valid TOML: {}", error.message()),
            ));
            None
        }
    }
}

fn unknown(written: &str, range: TextRange, what: &str, known: &[&str]) -> SettingsProblem {
    let help = match nearest(written, known.iter().copied()) {
        Some(near) => format!("is `{near}` meant?"),
        None => format!("known: {}", known.join(", ")),
    };
    problem(range, format!("unknown {what} `{written}`")).help(help)
}

fn problem(range: TextRange, message: String) -> SettingsProblem {
    Problem::new(RuleId::SettingsUnreadable, range, message)
}

fn key_range(table: &Table, key: &str) -> TextRange {
    table
        .key(key)
        .and_then(toml_edit::Key::span)
        .map_or(TextRange::default(), range)
}

fn item_range(item: &Item) -> Option<TextRange> {
    item.as_value().and_then(Value::span).or(item.span()).map(range)
}

fn range(span: std::ops::Range<usize>) -> TextRange {
    TextRange::new(span.start as u32, span.end as u32)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_default_reads_as_its_dimension() {
        for practice in PRACTICES {
            if let Some(default) = practice.default {
                assert!(Settings::default().set(practice, default), "{:?}", practice.key);
            }
        }
        let listed: Vec<_> = PRACTICES.iter().map(|practice| practice.key).collect();
        assert_eq!(listed, PracticeKey::VARIANTS);
    }

    #[test]
    fn every_sample_in_a_message_can_be_set() {
        for practice in PRACTICES {
            assert!(
                Settings::default().set(practice, practice.sample()),
                "{:?}",
                practice.key
            );
        }
    }

    #[test]
    fn figures_that_cannot_be_meant_are_refused() {
        for (figure, of) in [
            ("NaN %", "dryer-margin"),
            ("inf %", "dryer-margin"),
            ("-5 %", "dryer-margin"),
            ("250 %", "normal-to"),
            ("1e999 scfh", "leak-size"),
            ("3 psi", "leak-size"),
        ] {
            let text = format!("[practice]\n{of} = \"{figure}\"\n");
            let (_, problems) = Settings::read(&text);
            assert_eq!(problems.len(), 1, "{text}");
        }
        let text = "[practice]\nnormal-from = \"80 %\"\nnormal-to = \"20 %\"\n";
        let (settings, problems) = Settings::read(text);
        let messages: Vec<&str> = problems.iter().map(|problem| problem.message.as_str()).collect();
        assert_eq!(
            messages,
            ["`normal-from` is 80 % and `normal-to` 20 %: no reading is between them"]
        );
        assert!(settings.fraction(PracticeKey::NormalFrom) < settings.fraction(PracticeKey::NormalTo));
    }

    #[test]
    fn what_reports_text_that_was_not_understood_stays_on() {
        for level in ["off", "note"] {
            let text = format!("[levels]\nkind-unknown = \"{level}\"\n");
            let (settings, problems) = Settings::read(&text);
            assert_eq!(problems.len(), 1);
            assert_eq!(settings.level(RuleId::KindUnknown), None);
        }
    }

    #[test]
    fn no_rule_of_the_language_can_be_switched_off() {
        use crate::rule::Family;
        for rule in RULES {
            let text = format!("[levels]\n{} = \"off\"\n", rule.name());
            let (settings, problems) = Settings::read(&text);
            if rule.family == Family::Language {
                assert_eq!(problems.len(), 1, "{text}");
                assert_eq!(settings.level(rule.id), None, "{text}");
            }
        }
        let (settings, problems) = Settings::read("[levels]\nfield-missing = \"off\"\n");
        let messages: Vec<&str> = problems.iter().map(|problem| problem.message.as_str()).collect();
        assert_eq!(
            messages,
            ["`field-missing` cannot be switched off: it is a rule of the language"]
        );
        assert_eq!(settings.level(RuleId::FieldMissing), None);
        // A result that was understood may be lowered.
        let (settings, problems) = Settings::read("[levels]\nfield-missing = \"note\"\n");
        assert_eq!(problems, []);
        assert_eq!(settings.level(RuleId::FieldMissing), Some(StatedLevel::At(Level::Note)));
    }

    #[test]
    fn settings_are_read() {
        let (settings, problems) = Settings::read("[practice]\ndryer-margin = \"10 %\"\nminimum-buried = \"20 kPa\"\n");
        assert_eq!(problems, []);
        assert!((settings.fraction(PracticeKey::DryerMargin) - 0.1).abs() < 1e-12);
        assert_eq!(
            settings
                .quantity(PracticeKey::MinimumBuried)
                .map(|it| it.to_string())
                .as_deref(),
            Some("20 kPa")
        );
        assert_eq!(settings.quantity(PracticeKey::MinimumAerial), None);
    }

    #[test]
    fn what_an_editor_shows_can_be_switched() {
        assert!(Settings::default().shows(EditorKey::HintsColours));
        let text = "[editor]\nhints-colours = \"no\"\nhints-parts = false\nhint-parts = \"no\"\n";
        let (settings, problems) = Settings::read(text);
        assert!(!settings.shows(EditorKey::HintsColours) && settings.shows(EditorKey::HintsParts));
        let shown: Vec<_> = problems.iter().map(|it| (it.range.of(text), &*it.message)).collect();
        let expected = [
            ("false", "`hints-parts` takes \"yes\" or \"no\""),
            ("hint-parts", "unknown switch `hint-parts`"),
        ];
        assert_eq!(shown, expected);
    }

    #[test]
    fn an_unknown_key_names_the_nearest_known_one() {
        let text = "[practise]\n[practice]\ndryer-margn = \"10 %\"\n[levels]\npair-assigned-twic = \"off\"\n";
        let (_, problems) = Settings::read(text);
        let shown: Vec<_> = problems
            .iter()
            .map(|it| (it.range.of(text), it.help.as_deref().unwrap_or_default()))
            .collect();
        assert_eq!(
            shown,
            [
                ("practise", "is `practice` meant?"),
                ("dryer-margn", "is `dryer-margin` meant?"),
                ("pair-assigned-twic", "is `pair-assigned-twice` meant?"),
            ]
        );
    }

    #[test]
    fn wrong_values_and_broken_toml_are_placed() {
        let text = "[practice]\ndryer-margin = 25\n";
        let (_, problems) = Settings::read(text);
        assert_eq!(problems.iter().map(|it| it.range.of(text)).collect::<Vec<_>>(), ["25"]);
        let (_, problems) = Settings::read("[levels\n");
        assert_eq!(problems.len(), 1);
    }
}
