use std::sync::LazyLock;

use crate::rule::Rule;
use crate::{air, grounds, language, pairs, power, records, regulators, spans};

/// Every rule, by family.
pub static RULES: LazyLock<Vec<&'static Rule>> = LazyLock::new(|| {
    [
        language::RULES,
        pairs::RULES,
        spans::RULES,
        regulators::RULES,
        grounds::RULES,
        power::RULES,
        air::RULES,
        records::RULES,
    ]
    .concat()
});

/// The rule of that name.
pub fn find(name: &str) -> Option<&'static Rule> {
    numbered(name).map(|(_, rule)| rule)
}

/// The rule of that name, and its number in [`RULES`].
pub(crate) fn numbered(name: &str) -> Option<(usize, &'static Rule)> {
    RULES.iter().copied().enumerate().find(|(_, rule)| rule.name == name)
}
