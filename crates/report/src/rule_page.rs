//! Documentation of a rule: its page, and its line in the list.

use std::fmt::Write;

use drysheath_rules::{Check, Family, RULES, Rule};

/// The page of a rule, in Markdown.
pub fn rule_page(rule: &Rule) -> String {
    let mut page = format!("# {}\n\n{}\n\n", rule.name(), rule.summary);
    let mut level = format!("*{}*", rule.level.word());
    if let Some(planned) = rule.while_planned {
        let _ = write!(level, ", while the office is planned *{}*", planned.word());
    }
    let scope = match rule.check {
        Check::WhileReading => "while a file is read",
        Check::Office(_) | Check::OfficeOn(_) => "on each office",
        Check::HandOver(_) => {
            "only by `drysheath records`, on each office whose records it writes: `lint` and editors do not report it"
        }
        Check::Repository(_) => "on all files of a repository together",
    };
    let _ = writeln!(
        page,
        "Level: {level}. Family: {}. Checked {scope}. Source: {}.\n",
        rule.family.word(),
        rule.source
    );
    let _ = writeln!(
        page,
        "{}",
        rule.explanation.split_whitespace().collect::<Vec<_>>().join(" ")
    );
    if let Some(example) = rule.example {
        let _ = write!(
            page,
            "\n## Example\n\nIn place of the statements of the same name in the [example office](../example.office):\n\n\
             ```\n{}\n```\n\nJust not:\n\n```\n{}\n```\n",
            example.failing.trim_matches('\n'),
            example.passing.trim_matches('\n')
        );
    }
    page.push_str(&precedence(rule));
    page.push_str(&acceptance(rule));
    page
}

/// The paragraph on rules that it yields to.
fn precedence(rule: &Rule) -> String {
    if rule.yields_to.is_empty() {
        return String::new();
    }
    let mut text =
        "\n## Where another result is enough\n\nNothing is reported where a result of one of these rules already \
                    stands for it, is at least as grave, and is not accepted:\n\n"
            .to_owned();
    for (rules, shared) in rule.gives_way() {
        let names: Vec<_> = rules.iter().map(|rule| format!("`{}`", rule.name())).collect();
        let _ = writeln!(text, "* {} {shared}", names.join(", "));
    }
    text
}

/// The paragraph on how to accept a result.
fn acceptance(rule: &Rule) -> String {
    if !rule.can_be_accepted() {
        return "\nIt cannot be accepted, lowered or switched off: what is not understood is not checked either.\n"
            .to_owned();
    }
    let accept = if rule.is_about_things() {
        format!(
            "```\naccept {} on THING because \"…\" until 2027-04-30\n```\n\nor for a whole",
            rule.name()
        )
    } else {
        "A result about a part cannot be accepted by itself. For a whole".to_owned()
    };
    let (level, limit) = if rule.can_be_switched_off() {
        ("off", "")
    } else {
        ("note", "\nIt cannot be switched off: it is a rule of the language.\n")
    };
    format!(
        "\n## Where it is right as it is\n\n{accept} repository, in `drysheath.toml`:\n\n```toml\n[levels]\n{} = \"{level}\"\n```\n{limit}",
        rule.name()
    )
}

/// All rules with level and summary, by family.
pub fn rule_list() -> String {
    let widest = RULES.iter().map(|rule| rule.name().len()).max().unwrap_or_default();
    let mut list = String::new();
    let mut family: Option<Family> = None;
    for rule in RULES {
        if family != Some(rule.family) {
            let gap = if family.is_some() { "\n" } else { "" };
            let _ = writeln!(list, "{gap}{}", rule.family.word());
            family = Some(rule.family);
        }
        let _ = writeln!(
            list,
            "  {:widest$}  {:7}  {}",
            rule.name(),
            rule.level.word(),
            rule.summary
        );
    }
    list
}
