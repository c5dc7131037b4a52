use std::collections::HashMap;
use std::hash::Hasher;

use drysheath_office::kinds::Key;
use drysheath_office::{Field, Fields, Office, ThingId, Value};
use drysheath_text::{Place, TextRange};
use rustc_hash::FxHasher;
use unicode_normalization::UnicodeNormalization;
use unicode_security::skeleton;

use crate::finding::Sink;
use crate::lint::Inspection;
use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};

pub(crate) static RULE: Rule = Rule {
    id: RuleId::NamesAlike,
    level: Level::Error,
    while_planned: None,
    yields_to: &[],
    family: Family::Records,
    summary: "Two names differ only in case, or look alike.",
    explanation: "On a label, over the telephone and on a printed sheet `TB1`, `tb1` and `tbl` are one name, and \
                  so are two names of which one has a letter of another alphabet. Runs tell them apart all the same, so \
                  that one wrong letter leads to the other thing without a word. Rename one of them. Letters look alike \
                  as the Unicode consortium lists them.",
    source: Source::Published("Unicode Technical Standard #39, section 4, confusable detection"),
    example: Some(Example {
        failing: r"
block tb1 { pairs 10 }
block tbl { pairs 20 }
#     ^^^
spare tb1 pair 1 .. 10
spare tbl pair 1 .. 20
",
        passing: r"
block tb1 { pairs 10 }
block tb2 { pairs 20 }
spare tb1 pair 1 .. 10
spare tb2 pair 1 .. 20
",
    }),
    check: Check::Office(check),
};

fn check(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {
    let office = inspection.whole;
    // The name of a damaged thing is not reliable.
    let is_named_here = |id, range| office.is_own(range) || office.route_with(id).is_some();
    let sound = || {
        let things = office.things().filter(|(_, thing)| !thing.damaged);
        things.filter(move |(id, thing)| is_named_here(*id, thing.range))
    };
    let things = sound().map(|(id, thing)| DeclaredName {
        name: office.name(id),
        place: office.place(thing.name),
        of: Some(id),
    });
    report(things, sink);
    let parts = office.parts.iter().map(|part| DeclaredName {
        name: &part.name,
        place: part.place,
        of: None,
    });
    report(parts, sink);
    for (id, thing) in sound() {
        inside(office, Some(id), thing.range, &thing.fields, sink);
    }
    for part in &office.parts {
        inside(office, None, TextRange::new(0, u32::MAX), &part.fields, sink);
    }
}

/// Compares the named fields within one block: sections, places, contacts. Fields outside of `own` belong to a part,
/// which is checked separately.
fn inside(office: &Office, of: Option<ThingId>, own: TextRange, fields: &[Field], sink: &mut Sink<'_>) {
    let is_named = |field: &&Field| matches!(field.value, Value::Named { .. });
    let mut count = 0;
    for field in fields {
        if let Value::Group(inner) | Value::Named { fields: inner, .. } = &field.value {
            count += u32::from(is_named(&field));
            inside(office, of, own, inner, sink);
        }
    }
    // Most blocks have no second name.
    if count < 2 {
        return;
    }
    let is_own = |place: Place| place.file == office.file && own.contains(place.range);
    let mut seen: Vec<Key> = Vec::new();
    for key in fields.iter().filter(is_named).map(|field| field.spec.key) {
        if seen.contains(&key) {
            continue;
        }
        seen.push(key);
        let mut named: Vec<_> = fields
            .named(key)
            .map(|(name, place, _)| DeclaredName { name, place, of })
            .collect();
        named.sort_by_key(|named| is_own(named.place));
        if named.last().is_some_and(|last| is_own(last.place)) {
            report(named.into_iter(), sink);
        }
    }
}

struct DeclaredName<'o> {
    name: &'o str,
    place: Place,
    of: Option<ThingId>,
}

fn report<'o>(names: impl Iterator<Item = DeclaredName<'o>>, sink: &mut Sink<'_>) {
    let names: Vec<_> = names.collect();
    if !may_be_alike(&names) {
        return;
    }
    let names = names.into_iter();
    let mut by_case: HashMap<String, (&str, Place)> = HashMap::new();
    let mut by_look: HashMap<String, (&str, Place)> = HashMap::new();
    for DeclaredName { name, place, of } in names.filter(|named| !named.name.is_empty()) {
        let (case, look) = (in_lower_case(name), lookalike_key(name));
        let same_case = by_case.get(&case).copied();
        let other = same_case.or_else(|| by_look.get(&look).copied());
        // An identical name is reported by another rule.
        if let Some((other, first)) = other.filter(|(other, _)| *other != name) {
            let how = if name.nfc().eq(other.nfc()) {
                "differ only in how an accent is stored"
            } else if same_case.is_some() {
                "differ only in capitals"
            } else {
                "look alike"
            };
            sink.report_at(of, place, format!("the names `{name}` and `{other}` {how}"))
                .related(first, "the other of the two")
                .help("rename one of the two wherever it is named");
        }
        by_case.entry(case).or_insert((name, place));
        by_look.entry(look).or_insert((name, place));
    }
}

/// Whether any two names may differ only in case or look alike. This fast check avoids normalizing names: hardly any
/// office has such names.
fn may_be_alike(names: &[DeclaredName<'_>]) -> bool {
    if names.iter().any(|named| !named.name.is_ascii()) {
        return true;
    }
    let mut keys: Vec<u64> = names.iter().map(|named| lookalike_hash(named.name)).collect();
    keys.sort_unstable();
    keys.windows(2).any(|pair| pair.first() == pair.last())
}

/// A hash that is equal for names that differ only in case or look alike.
fn lookalike_hash(name: &str) -> u64 {
    let mut hasher = FxHasher::default();
    for byte in name.bytes() {
        match byte.to_ascii_lowercase() {
            b'0' => hasher.write_u8(b'o'),
            b'1' | b'i' => hasher.write_u8(b'l'),
            b'm' => b"rn".iter().for_each(|byte| hasher.write_u8(*byte)),
            other => hasher.write_u8(other),
        }
    }
    hasher.finish()
}

fn in_lower_case(name: &str) -> String {
    if name.is_ascii() {
        name.to_ascii_lowercase()
    } else {
        name.nfc().flat_map(char::to_lowercase).collect()
    }
}

/// A string that is equal for names that look alike.
fn lookalike_key(name: &str) -> String {
    if !name.is_ascii() {
        return skeleton(name).collect();
    }
    // The library's table has an entry for every letter; of the ASCII ones these four look like others.
    let mut look = String::with_capacity(name.len());
    for char in name.chars() {
        match char {
            '0' => look.push('O'),
            '1' | 'I' => look.push('l'),
            'm' => look.push_str("rn"),
            other => look.push(other),
        }
    }
    look
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_looks_alike_or_differs_in_capitals_is_told_apart_by_nothing_coarse() {
        for (one, other) in [("hf1", "hfl"), ("PS-I", "ps-i"), ("rn0", "mO"), ("Im", "lrn")] {
            assert_eq!(lookalike_hash(one), lookalike_hash(other), "{one} {other}");
        }
        assert_ne!(lookalike_hash("ps1"), lookalike_hash("ps2"));
    }

    #[test]
    fn ascii_looks_as_the_standard_says() {
        for char in ('a'..='z').chain('A'..='Z').chain('0'..='9').chain(['-', '_']) {
            let name = char.to_string();
            assert_eq!(lookalike_key(&name), skeleton(&name).collect::<String>(), "{name}");
        }
    }
}
