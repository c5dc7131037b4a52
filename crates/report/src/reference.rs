//! Markdown tables of the reference, generated from the tables in code.

use std::fmt::Write;

use drysheath_engineering::standard::{NamedStandardConditions, STANDARDS};
use drysheath_engineering::units::Dimension;
use drysheath_office::SETTINGS;
use drysheath_office::kinds::{
    COMMON_FIELDS, EQUIPMENT_FIELDS, FORMER_WORDS, FieldSpec, KINDS, LANGUAGE, Need, Numbering, OF_RUNS_AND_READINGS,
    Port, Shape, Successor,
};
use drysheath_rules::{CONDITIONS, LANGUAGE_KEY, PRACTICES, RECORD_NAMES, SWITCHES};

/// The fields of every thing, then a section for each kind of thing: its other fields, and its ports.
pub fn kinds_tables() -> String {
    let mut out = String::from("### Every thing\n\nEvery thing has these fields beside those of its kind.\n\n");
    fields_table(&mut out, COMMON_FIELDS.iter(), "");
    out.push('\n');
    out.push_str("All equipment, which is every thing but the office and its rooms, has these too:\n\n");
    fields_table(&mut out, EQUIPMENT_FIELDS.iter(), "");
    out.push('\n');
    for kind in KINDS {
        let equipment = EQUIPMENT_FIELDS.iter().filter(|_| kind.is_equipment());
        let common: Vec<_> = COMMON_FIELDS.iter().chain(equipment).map(|common| common.key).collect();
        let is_own = |field: &&FieldSpec| !common.contains(&field.key);
        let _ = writeln!(out, "### {}\n\n{}\n", kind.word(), kind.summary);
        fields_table(&mut out, kind.fields.iter().filter(is_own), "");
        if !kind.ports.is_empty() {
            let _ = writeln!(
                out,
                "\n| end of a run | medium | what it is | port may be left out |\n|---|---|---|---|"
            );
            for port in kind.ports {
                let _ = writeln!(
                    out,
                    "| {} | {} | {} | {} |",
                    port_form(port),
                    port.medium.word(),
                    port.doc,
                    bare(port)
                );
            }
        }
        out.push('\n');
    }
    out.push_str("### Runs and readings\n\n| figure | plausible range |\n|---|---|\n");
    for (what, domain) in OF_RUNS_AND_READINGS {
        let _ = writeln!(out, "| {what} | {domain} |");
    }
    out
}

fn fields_table<'s>(out: &mut String, fields: impl Iterator<Item = &'s FieldSpec>, within: &str) {
    if within.is_empty() {
        let _ = writeln!(
            out,
            "| field | expects | plausible range | required | default | meaning |\n|---|---|---|---|---|---|"
        );
    }
    for field in fields.filter(|field| field.gone.is_none()) {
        let need = match field.need {
            Need::Optional => "",
            Need::Always => "always",
            Need::Installed => "once installed",
        };
        let default = field.default.map(|default| format!("`{default}`")).unwrap_or_default();
        let domain = field.domain().map(ToString::to_string).unwrap_or_default();
        let word = format!("{within}{}", field.word());
        let since = match field.since {
            0 => String::new(),
            language => format!(" Since language {language}."),
        };
        let _ = writeln!(
            out,
            "| `{word}` | {} | {domain} | {need} | {default} | {}{since} |",
            field.shape.wanted(),
            field.doc
        );
        if let Shape::Group(inner) | Shape::Named(inner) = field.shape {
            inner_fields(out, inner, &format!("{word} / "));
        }
    }
}

/// The fields inside a field. A separate function, since the type of a recursive iterator cannot be named.
fn inner_fields(out: &mut String, fields: &'static [FieldSpec], within: &str) {
    fields_table(out, fields.iter(), within);
}

/// The words of earlier languages, and their replacements.
pub fn former_words_table() -> String {
    let mut out = String::from("| word | of | until language | today |\n|---|---|---|---|\n");
    for kind in KINDS {
        former_fields(&mut out, kind.word(), kind.fields);
    }
    for former in FORMER_WORDS {
        let _ = writeln!(
            out,
            "| `{}` | {} | {} | `{}` |",
            former.word, former.of, former.until, former.now
        );
    }
    out
}

fn former_fields(out: &mut String, kind: &str, fields: &'static [FieldSpec]) {
    for field in fields {
        if let Some(gone) = field.gone {
            let now = match gone.successor {
                Successor::Field(key) => format!("`{}`", key.word()),
                Successor::Spare(port) => format!("`spare NAME {port} N`"),
            };
            let _ = writeln!(out, "| `{}` | {kind} | {} | {now} |", field.word(), gone.until);
        }
        former_fields(out, kind, field.inner());
    }
}

fn port_form(port: &Port) -> String {
    match port.numbering {
        Numbering::None => format!("`{}`", port.word),
        Numbering::Count(_) | Numbering::Range(_) => format!("`{} N`", port.word),
        Numbering::Connectors => format!("`{} N`, or the thing alone", port.word),
        Numbering::Named(_) => format!("`{} NAME`", port.word),
    }
}

fn bare(port: &Port) -> &'static str {
    use drysheath_office::kinds::Bare;
    match port.bare {
        Bare::Never => "",
        Bare::Target => "where an arrow points to it",
        Bare::Source => "where an arrow leaves it",
        Bare::Always => "yes",
    }
}

/// Every unit by dimension.
pub fn units_table() -> String {
    let mut out = String::from("| dimension | unit | also written | in SI | source |\n|---|---|---|---|---|\n");
    for dimension in Dimension::ALL {
        for unit in dimension.units() {
            let aliases: Vec<_> = unit.aliases.iter().map(|alias| format!("`{alias}`")).collect();
            let _ = writeln!(
                out,
                "| {} | `{}` | {} | {} | {} |",
                dimension.name(),
                unit.name,
                aliases.join(" "),
                si_form(unit),
                unit.source
            );
        }
    }
    out
}

fn si_form(unit: &drysheath_engineering::units::Unit) -> String {
    use drysheath_engineering::units::Scale;
    match unit.scale {
        Scale::Factor(factor) => format!("× {factor:e}"),
        Scale::Affine { factor, offset } => format!("+ {offset}, × {factor}"),
        Scale::Diameter(factor) => format!("a disc of that diameter, × {factor:e}"),
        Scale::AmericanWireGauge => "by the gauge formula".to_owned(),
    }
}

/// Table of the practice numbers: keys, defaults and sources.
pub fn practice_table() -> String {
    let mut out = String::from("| key | default | source of the default | meaning |\n|---|---|---|---|\n");
    for practice in PRACTICES {
        let key: &str = practice.key.into();
        let default = practice
            .default
            .map_or("none: the checks that need it are not made".to_owned(), |default| {
                format!("`\"{default}\"`")
            });
        let _ = writeln!(out, "| `{key}` | {default} | {} | {} |", practice.source, practice.doc);
    }
    out
}

/// The supported standard conditions.
pub fn conditions_table() -> String {
    let (table, key, doc) = CONDITIONS;
    let mut out = format!("`{key}` in `[{table}]`: {doc}\n\n| conditions | who counts so |\n|---|---|\n");
    for known in &STANDARDS {
        let _ = writeln!(out, "| `\"{}\"` | {} |", known.written(), known.source);
    }
    out
}

/// The setting for the names of the repository's own facts.
pub fn record_names() -> String {
    let (table, key, doc) = RECORD_NAMES;
    format!("`{key}` in `[{table}]`: {doc}\n")
}

/// The annotations in editors.
pub fn editor_table() -> String {
    let mut out = String::from("| key | default | what is shown |\n|---|---|---|\n");
    for switch in SWITCHES {
        let key: &str = switch.key.into();
        let default = if switch.default { "yes" } else { "no" };
        let _ = writeln!(out, "| `{key}` | `\"{default}\"` | {} |", switch.doc);
    }
    out
}

/// A settings file without effect: the practice numbers as comments, each with its default.
pub fn settings_sample() -> String {
    let mut out = format!(
        "{LANGUAGE_KEY} = {LANGUAGE}\n\n\
         # Settings of the offices in this folder and below. Nothing below is required: the defaults are the lines behind `#`.\n\
         # A folder of theirs, such as a county, may have a {SETTINGS} of its own, which says only what is other there.\n\
         \n[levels]\n# A rule is an \"error\", a \"warning\", a \"note\" or \"off\"; `drysheath rules` lists them.\n\
         # contact-cannot-report-cut-pair = \"off\"\n\n[practice]\n"
    );
    for practice in PRACTICES {
        let key: &str = practice.key.into();
        let _ = writeln!(out, "# {} Source: {}.", practice.doc, practice.source);
        let _ = match practice.default {
            Some(default) => writeln!(out, "# {key} = \"{default}\""),
            None => writeln!(out, "# {key} has no default: the checks that need it are not made"),
        };
    }
    let (table, key, doc) = CONDITIONS;
    let _ = writeln!(
        out,
        "\n[{table}]\n# {doc}\n# {key} = \"{}\"",
        NamedStandardConditions::base().written()
    );
    let (table, key, doc) = RECORD_NAMES;
    let _ = writeln!(out, "\n[{table}]\n# {doc}\n# {key} = [\"serial\", \"asset\"]");
    out
}
