//! Ends of runs, what joins them, what is spare, and what was read.

use drysheath_engineering::colour::parse_colours;
use drysheath_office::ThingId;
use drysheath_office::kinds::{Key, Numbering, Port, Role};
use drysheath_syntax::{Items, Medium, TokenKind};

use super::{Meaning, Reader};

impl Reader<'_, '_> {
    /// An end of a run in a medium; without one, numbered ports that are spare.
    pub(super) fn end(&mut self, items: &Items, medium: Option<Medium>) {
        let Some(thing) = self.thing_of(items) else { return };
        let after = items.start + 1..items.end;
        let wanted = move |port: &&Port| match medium {
            Some(medium) => port.medium == medium,
            None => matches!(port.numbering, Numbering::Count(_) | Numbering::Range(_)),
        };
        if let Some((port, rest)) = self.port(&after, thing, wanted) {
            self.numbers(&rest, thing, port);
        }
    }

    fn thing_of(&mut self, items: &Items) -> Option<ThingId> {
        (items.start < items.end).then(|| self.thing(items.start)).flatten()
    }

    /// Notes the word of a port, and says which port it is and what follows.
    fn port(
        &mut self,
        items: &Items,
        thing: ThingId,
        wanted: impl Fn(&&'static Port) -> bool,
    ) -> Option<(&'static Port, Items)> {
        let word = items.clone().next()?;
        let kind = self.words.analysis.office.thing(thing).kind?;
        let written = self.text(word);
        let port = kind.ports.iter().filter(wanted).find(|port| port.word == written)?;
        self.is(word, Meaning::Port { thing, port });
        Some((port, word + 1..items.end))
    }

    fn numbers(&mut self, items: &Items, thing: ThingId, port: &'static Port) {
        let mut pair = None;
        for (at, word) in (0..).zip(items.clone()) {
            let written = self.text(word);
            match (self.kind_of(word), port.numbering) {
                (TokenKind::Number, Numbering::Count(_) | Numbering::Range(_)) => {
                    if let Ok(number) = written.parse() {
                        self.is(word, Meaning::Numbered { thing, port, number });
                        pair = Some(number);
                    }
                }
                (kind, Numbering::Named(key)) if at == 0 && kind.is_word() => {
                    let meaning = Meaning::Inner {
                        owner: Some(thing),
                        key,
                        name: written,
                        declared: false,
                    };
                    self.is(word, meaning);
                }
                (TokenKind::Word, _) if port.role == Role::Pair && parse_colours(written).is_some() => {
                    if let Some(pair) = pair {
                        self.is(word, Meaning::Colours { thing, pair });
                    }
                }
                _ => {}
            }
        }
    }

    /// What stands after `with`, between two commas.
    pub(super) fn joining(&mut self, items: &Items) {
        self.quantities(items, false);
        for word in items.clone() {
            if matches!(self.text(word), "tube" | "bore" | "adapter") {
                self.is(word, Meaning::Keyword);
            }
        }
        self.fitting(items);
    }

    /// What was read.
    pub(super) fn reading(&mut self, items: &Items) {
        self.quantities(items, false);
        let Some(thing) = self.thing_of(items) else { return };
        let after = items.start + 1..items.end;
        let is_read = |port: &&Port| matches!(port.role, Role::Signal(_) | Role::Load);
        if let Some((port, rest)) = self.port(&after, thing, is_read) {
            self.numbers(&rest, thing, port);
        }
        for word in after {
            if matches!(self.text(word), "loop" | "decay" | "in" | "at") && self.kind_of(word).is_word() {
                let is_unit = self.kind_of(word.saturating_sub(1)) == TokenKind::Number;
                if !is_unit {
                    self.is(word, Meaning::Keyword);
                }
            }
        }
    }

    /// `branch b1` and `place mh-4` after the name of a cable.
    pub(super) fn inner_names(&mut self, items: &Items, owner: Option<ThingId>) {
        let mut rest = items.clone();
        while let Some(word) = rest.next() {
            let key = match self.text(word) {
                "branch" => Key::Branch,
                "place" => Key::Place,
                _ => continue,
            };
            self.is(word, Meaning::Keyword);
            if let Some(word) = rest.next() {
                let meaning = Meaning::Inner {
                    owner,
                    key,
                    name: self.text(word),
                    declared: false,
                };
                self.is(word, meaning);
            }
        }
    }
}
