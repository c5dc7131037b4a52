//! The standard conditions of a repository's standard volumes.

use drysheath_engineering::measure::{AbsolutePressure, Temperature};
use drysheath_engineering::standard::{NamedStandardConditions, STANDARDS, StandardConditions};
use drysheath_engineering::units::{self, Dimension, Quantity};
use toml_edit::{Item, Table};

use super::layers::Layer;
use super::{Settings, SettingsProblem, item_range, key_range, problem, unknown};

/// Name of the table in the settings.
pub(super) const TABLE: &str = "conditions";
/// The only key of the table.
pub(super) const STANDARD: &str = "standard";

/// Table, key and meaning, for the reference.
pub const CONDITIONS: (&str, &str, &str) = (
    TABLE,
    STANDARD,
    "Absolute pressure and temperature at which standard volumes count: those of scfh, scfm, scfd, sl/min, sl/h and sm3/h, and \
     of the units made of them. Normal volumes always count at 101.325 kPa and 0 °C, and the capacity of a dryer with conditions \
     of its own at those.",
);

impl Settings {
    pub(super) fn read_conditions(&mut self, table: &Table, layer: &Layer<'_>, problems: &mut Vec<SettingsProblem>) {
        let Some(entries) = table.get(TABLE).and_then(Item::as_table) else {
            return;
        };
        for (name, item) in entries {
            if name != STANDARD {
                problems.push(unknown(name, key_range(entries, name), "condition", &[STANDARD]));
                continue;
            }
            match meant(item.as_str().unwrap_or_default()) {
                Ok(standard) => match layer.refuses_standard(standard, self) {
                    Some((message, help)) => {
                        let place = item_range(item).unwrap_or(key_range(entries, name));
                        problems.push(problem(place, message).help(help));
                    }
                    None if layer.is_top() => {
                        self.standard = standard;
                        self.set_defaults();
                        self.stands_in.insert(STANDARD, layer.file());
                    }
                    None => {}
                },
                Err(message) => problems.push(
                    problem(item_range(item).unwrap_or(key_range(entries, name)), message).help(format!(
                        "conditions in use are {}; until then `{}` holds",
                        names(),
                        NamedStandardConditions::base().written()
                    )),
                ),
            }
        }
    }
}

fn names() -> String {
    let names: Vec<String> = STANDARDS.iter().map(|known| format!("`{}`", known.written())).collect();
    names.join("; ")
}

/// Parses standard conditions. The error is a message.
fn meant(written: &str) -> Result<&'static NamedStandardConditions, String> {
    let wants = || format!("`{STANDARD}` expects an absolute pressure and a temperature, found `{written}`");
    let (pressure, temperature) = written.split_once(',').ok_or_else(wants)?;
    let pressure = quantity(pressure).ok_or_else(wants)?;
    let temperature = quantity(temperature).and_then(Temperature::of).ok_or_else(wants)?;
    if pressure.dimension() == Dimension::Pressure && !pressure.unit.absolute {
        return Err(format!(
            "`{pressure}` is counted from the air around: `{STANDARD}` expects an absolute pressure, in psia, kPa-abs or bar-abs"
        ));
    }
    let pressure = AbsolutePressure::of(pressure).ok_or_else(wants)?;
    let standard = StandardConditions::new(pressure, temperature).ok_or_else(wants)?;
    NamedStandardConditions::meant(standard)
        .ok_or_else(|| format!("`{written}` is no standard condition that is in use"))
}

/// Parses a quantity: a number, a blank, a unit.
pub(crate) fn quantity(written: &str) -> Option<Quantity> {
    let (number, unit) = written.trim().split_once(' ')?;
    let value = number.parse::<f64>().ok().filter(|value| value.is_finite())?;
    let unit = units::find(unit.trim())?;
    Some(Quantity { value, unit })
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]

    use super::*;

    #[test]
    fn every_condition_in_use_can_be_written_and_rounded() {
        for known in &STANDARDS {
            assert_eq!(meant(&known.written()), Ok(known), "{}", known.name);
        }
        let base = Ok(NamedStandardConditions::base());
        assert_eq!(meant("14.7 psia, 60 degF"), base);
        assert_eq!(meant("1.01325 bar-abs, 15.6 degC"), base);
    }

    #[test]
    fn other_conditions_are_results() {
        for (written, part) in [
            ("14.696 psi, 70 degF", "counted from the air around"),
            ("14.696 psia", "expects an absolute pressure and a temperature"),
            ("70 degF, 14.696 psia", "expects an absolute pressure and a temperature"),
            ("14.696 psia, 70 degC", "in use"),
            ("14.696 psia, 700 degF", "in use"),
            ("14.696 psia, NaN degF", "expects"),
            ("-1 psia, 70 degF", "expects"),
            ("", "expects"),
        ] {
            let text = format!("[conditions]\nstandard = \"{written}\"\n");
            let (settings, problems) = Settings::read(&text);
            assert_eq!(problems.len(), 1, "{written}: {problems:?}");
            let problem = problems.first().unwrap();
            assert!(problem.message.contains(part), "{written}: {}", problem.message);
            assert_eq!(settings.standard(), NamedStandardConditions::base());
        }
        let (_, problems) = Settings::read("[conditions]\nstandart = \"14.7 psia, 60 degF\"\n");
        assert_eq!(problems.len(), 1);
    }

    #[test]
    fn flows_among_the_settings_count_at_the_conditions() {
        let (settings, problems) =
            Settings::read("[practice]\nleak-size = \"5 scfh\"\n[conditions]\nstandard = \"14.696 psia, 70 degF\"\n");
        assert_eq!(problems, []);
        let leak = settings.quantity(crate::PracticeKey::LeakSize).unwrap();
        let base = units::find("scfh").unwrap().to_si(5.0);
        assert!((leak.si() / base - 519.67 / 529.67).abs() < 1e-9);
        assert_eq!(leak.to_string(), "5 scfh");
    }
}
