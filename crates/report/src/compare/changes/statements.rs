//! Changes of statements that are neither things nor runs: spares, acceptances, readings, used files and declared
//! parts.

use drysheath_office::kinds::Port;
use drysheath_office::{Acceptance, Allocation, Part, Terminal, ThingId, When};
use drysheath_rules::renamed;
use drysheath_text::TextRange;
use rustc_hash::{FxHashMap, FxHashSet};

use super::circuits::{TerminalKey, own};
use super::{ChangePlace, Changes, OfficeState, Subject, field_record};
use crate::compare::fields::FieldComparer;
use crate::compare::names;
use crate::compare::record::{Deed, Of};

/// More numbers than any thing has: a larger range is a mistake.
const MOST_IN_RANGE: u32 = 10_000;

impl Changes<'_> {
    /// Records changed statements that are neither things nor runs.
    pub(super) fn statements(&mut self) {
        self.spares();
        self.stated();
        self.acceptances();
        self.readings();
        self.whens();
        self.uses();
    }

    fn spares(&mut self) {
        let (base, head) = (self.base, self.head);
        let before = spares(&base, &|thing| self.matching.number(thing));
        let after = spares(&head, &own);
        for (deed, state, own, others) in [
            (Deed::Added, &head, &after, &before),
            (Deed::Removed, &base, &before, &after),
        ] {
            let others: FxHashSet<TerminalKey> = others.iter().map(|(key, ..)| *key).collect();
            let left: Vec<_> = own.iter().filter(|(key, ..)| !others.contains(key)).collect();
            for run in left.chunk_by(|(one, ..), (other, ..)| (one.0, one.1) == (other.0, other.1)) {
                let Some((.., range)) = run.first() else { continue };
                let ends: Vec<Terminal> = run.iter().map(|(_, terminal, _)| *terminal).collect();
                let at = if deed == Deed::Added {
                    ChangePlace::Head(*range)
                } else {
                    ChangePlace::Base(*range)
                };
                self.tell(deed, Of::Spare, names::ranges(state.office, &ends), (None, None), &at);
            }
        }
    }

    fn stated(&mut self) {
        let (base, head) = (self.base, self.head);
        let before = stated(&base, &|thing| self.matching.number(thing));
        let after = stated(&head, &own);
        for (deed, state, own, others) in [
            (Deed::Added, &head, &after, &before),
            (Deed::Removed, &base, &before, &after),
        ] {
            let others: FxHashMap<TerminalKey, &str> = others.iter().map(|own| (own.key, &*own.said)).collect();
            let words = |own: &DeclaredNumber| match (others.get(&own.key), deed) {
                (Some(other), _) if **other == own.said => None,
                (Some(other), Deed::Added) => Some((Deed::Changed, Some((*other).to_owned()), Some(own.said.clone()))),
                // A statement in both states is reported once, for the head.
                (Some(_), _) => None,
                (None, Deed::Added) => Some((deed, None, Some(own.said.clone()))),
                (None, _) => Some((deed, Some(own.said.clone()), None)),
            };
            let left: Vec<_> = own.iter().filter_map(|own| Some((own, words(own)?))).collect();
            let is_one =
                |one: &DeclaredNumber, other: &DeclaredNumber| (one.key.0, one.key.1) == (other.key.0, other.key.1);
            for run in left.chunk_by(|(one, said), (other, also)| is_one(one, other) && said == also) {
                let Some((first, (deed, before, after))) = run.first().cloned() else {
                    continue;
                };
                let ends: Vec<Terminal> = run.iter().map(|(own, _)| own.terminal).collect();
                let at = if deed == Deed::Removed {
                    ChangePlace::Base(first.range)
                } else {
                    ChangePlace::Head(first.range)
                };
                let subject = names::ranges(state.office, &ends);
                self.tell(deed, Of::PairState, subject, (before, after), &at);
            }
        }
    }

    fn acceptances(&mut self) {
        let (base, head) = (self.base.office, self.head.office);
        let terms = |accepted: &Acceptance| format!("because \"{}\" until {}", accepted.because, accepted.until.value);
        let subject = |name: &str, accepted: &Acceptance| format!("{} on {name}", rule_of(accepted));
        let mut known = vec![false; base.acceptances.len()];
        for accepted in &head.acceptances {
            let was = base.acceptances.iter().zip(&mut known).find(|(was, known)| {
                !**known && rule_of(was) == rule_of(accepted) && self.matching.head_of(was.on) == Some(accepted.on)
            });
            let told = subject(head.name(accepted.on), accepted);
            let now = Some(terms(accepted));
            let at = ChangePlace::Head(accepted.range);
            match was {
                Some((was, known)) => {
                    *known = true;
                    let before = Some(terms(was));
                    if before != now {
                        self.tell(Deed::Changed, Of::Acceptance, told, (before, now), &at);
                    }
                }
                None => self.tell(Deed::Added, Of::Acceptance, told, (None, now), &at),
            }
        }
        for (was, _) in base.acceptances.iter().zip(known).filter(|(_, known)| !known) {
            let told = subject(base.name(was.on), was);
            let before = Some(terms(was));
            self.tell(
                Deed::Removed,
                Of::Acceptance,
                told,
                (before, None),
                &ChangePlace::Base(was.range),
            );
        }
    }

    fn readings(&mut self) {
        let (base, head) = (self.base.office, self.head.office);
        let word = |port: Option<&'static Port>| port.map(|port| port.word);
        let mut known = vec![false; base.readings.len()];
        for reading in &head.readings {
            let was = base.readings.iter().zip(&mut known).find(|(was, known)| {
                let thing = was.of.thing.and_then(|thing| self.matching.head_of(thing));
                !**known
                    && thing == reading.of.thing
                    && (was.date.value, word(was.of.port), was.of.numbers, was.measured)
                        == (
                            reading.date.value,
                            word(reading.of.port),
                            reading.of.numbers,
                            reading.measured,
                        )
            });
            match was {
                Some((_, known)) => *known = true,
                None => {
                    let told = self.head.written(reading.range);
                    self.tell(
                        Deed::Added,
                        Of::Reading,
                        told,
                        (None, None),
                        &ChangePlace::Head(reading.range),
                    );
                }
            }
        }
        for (was, _) in base.readings.iter().zip(known).filter(|(_, known)| !known) {
            let told = self.base.written(was.range);
            self.tell(
                Deed::Removed,
                Of::Reading,
                told,
                (None, None),
                &ChangePlace::Base(was.range),
            );
        }
    }

    /// Records changed `when` statements. Statements with the same words are the same, but for new names of their things.
    fn whens(&mut self) {
        let (base, head) = (self.base, self.head);
        let words_of = |state: &OfficeState<'_>, when: &When, name_now: &dyn Fn(ThingId) -> Option<String>| {
            let renamed: Vec<(&str, String)> = when
                .things()
                .filter_map(|thing| Some((state.office.name(thing), name_now(thing)?)))
                .collect();
            let words = when.range.of(&state.office.text).split_whitespace().map(|word| {
                let name = word.strip_suffix(',').unwrap_or(word);
                let now = renamed.iter().find(|(was, _)| *was == name);
                now.map_or_else(|| word.to_owned(), |(_, now)| word.replacen(name, now, 1))
            });
            words.collect::<Vec<String>>().join(" ")
        };
        let as_written = |_: ThingId| None;
        let as_named_now = |thing: ThingId| Some(head.office.name(self.matching.head_of(thing)?).to_owned());
        let before: Vec<(String, String, TextRange)> = base
            .office
            .whens
            .iter()
            .map(|when| {
                let words = |name_now: &dyn Fn(ThingId) -> Option<String>| words_of(&base, when, name_now);
                (words(&as_written), words(&as_named_now), when.range)
            })
            .collect();
        let after: Vec<(String, TextRange)> = head
            .office
            .whens
            .iter()
            .map(|when| (words_of(&head, when, &as_written), when.range))
            .collect();
        for (told, range) in &after {
            if !before.iter().any(|(_, was, _)| was == told) {
                self.tell(
                    Deed::Added,
                    Of::When,
                    told.clone(),
                    (None, None),
                    &ChangePlace::Head(*range),
                );
            }
        }
        for (told, named_now, range) in &before {
            if !after.iter().any(|(is, _)| is == named_now) {
                self.tell(
                    Deed::Removed,
                    Of::When,
                    told.clone(),
                    (None, None),
                    &ChangePlace::Base(*range),
                );
            }
        }
    }

    fn uses(&mut self) {
        let (base, head) = (self.base.office, self.head.office);
        for used in &head.uses {
            if !base.uses.iter().any(|was| was.value == used.value) {
                let told = used.value.to_string();
                self.tell(Deed::Added, Of::Use, told, (None, None), &ChangePlace::Head(used.range));
            }
        }
        for was in &base.uses {
            if !head.uses.iter().any(|used| used.value == was.value) {
                let told = was.value.to_string();
                self.tell(
                    Deed::Removed,
                    Of::Use,
                    told,
                    (None, None),
                    &ChangePlace::Base(was.range),
                );
            }
        }
    }

    /// Records changed parts that the office itself declares.
    pub(super) fn parts(&mut self) {
        let (base, head) = (self.base.office, self.head.office);
        for part in &head.parts {
            let told = format!("part {} {}", part.kind.word(), part.name);
            let Some(was) = base.parts.iter().find(|was| was.name == part.name) else {
                self.tell(
                    Deed::Added,
                    Of::Part,
                    told,
                    (None, None),
                    &ChangePlace::Head(part.place.range),
                );
                continue;
            };
            let comparer = FieldComparer {
                files: self.files,
                offices: None,
                is_same_thing: &|_, _| false,
                is_told: &|_, _| false,
            };
            for change in comparer.compare(&was.fields, &part.fields) {
                let line = self.line_of(&change);
                let subject = Subject {
                    name: &told,
                    title: None,
                };
                self.found.push(field_record(subject, change, line));
            }
        }
        let is_gone = |was: &&std::sync::Arc<Part>| !head.parts.iter().any(|part| part.name == was.name);
        for was in base.parts.iter().filter(is_gone) {
            let told = format!("part {} {}", was.kind.word(), was.name);
            self.tell(
                Deed::Removed,
                Of::Part,
                told,
                (None, None),
                &ChangePlace::Base(was.place.range),
            );
        }
    }
}

/// Current name of the rule in an acceptance.
fn rule_of(accepted: &Acceptance) -> &str {
    let name = &accepted.rule.value;
    renamed(name).map_or(name, |rule| rule.name())
}

/// A number declared assigned, defective, bunched or tapped.
#[derive(Clone)]
struct DeclaredNumber {
    key: TerminalKey,
    terminal: Terminal,
    said: String,
    range: TextRange,
}

/// The numbers declared assigned, defective, bunched or tapped, sorted by thing.
fn stated(state: &OfficeState<'_>, number: &dyn Fn(ThingId) -> i64) -> Vec<DeclaredNumber> {
    let mut all = Vec::new();
    for stated in state.office.stated.iter().chain(&state.office.wired) {
        let (Some(thing), Some(port)) = (stated.end.thing, stated.end.port) else {
            continue;
        };
        let (from, to) = stated.end.numbers;
        all.extend(
            (from..=to.min(from.saturating_add(MOST_IN_RANGE))).map(|at| DeclaredNumber {
                key: (number(thing), port.word, at),
                terminal: Terminal {
                    thing,
                    port,
                    number: at,
                },
                said: stated.said(),
                range: stated.range,
            }),
        );
    }
    all.sort_by_key(|own| own.key);
    all
}

/// The numbers declared spare, sorted by thing. `rest` equals the ranges that it stands for.
fn spares(state: &OfficeState<'_>, number: &dyn Fn(ThingId) -> i64) -> Vec<(TerminalKey, Terminal, TextRange)> {
    let mut all = Vec::new();
    if state.office.spares.is_empty() {
        return all;
    }
    for spare in Allocation::new(state.office, state.networks).all_spare() {
        let (thing, port) = (spare.thing, spare.port);
        for at in spare.from..=spare.to.min(spare.from.saturating_add(MOST_IN_RANGE)) {
            let terminal = Terminal {
                thing,
                port,
                number: at,
            };
            all.push(((number(thing), port.word, at), terminal, spare.range));
        }
    }
    all.sort_by_key(|(key, ..)| *key);
    all
}
