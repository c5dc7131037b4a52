//! Text appended to that of an office, with the names of its things as in the office, so that everything in the office
//! lies in one text.

use std::collections::BTreeSet;
use std::sync::Arc;

use drysheath_text::TextRange;

use crate::model::{Adapter, Attributes, End, Office, Run, Spanned, ThingId};
use crate::value::Value;

/// The position of a text within that of an office, and the prefix of the names in it.
#[derive(Clone, Debug)]
pub(crate) struct Embedding {
    /// Prefix of the names of its things.
    prefix: Box<str>,
    /// Start in the office's text.
    start: u32,
    /// Positions of names in the original text, sorted.
    names: Arc<[u32]>,
}

impl Embedding {
    /// An inset whose names start at `names`, not yet written anywhere.
    pub fn new(prefix: String, names: Arc<[u32]>) -> Self {
        Self {
            prefix: prefix.into(),
            start: 0,
            names,
        }
    }

    /// Start in the office's text.
    pub fn start(&self) -> u32 {
        self.start
    }

    /// Appends the text to that of an office, with prefixed names.
    pub fn write(&mut self, written: &str, office: &mut String) {
        office.push('\n');
        self.start = office.len() as u32;
        let mut at = 0;
        for name in self.names.iter().map(|name| *name as usize) {
            office.push_str(written.get(at..name).unwrap_or_default());
            office.push_str(&self.prefix);
            at = name;
        }
        office.push_str(written.get(at..).unwrap_or_default());
    }

    /// The name in the office for an original name.
    pub fn name_of(&self, name: &str) -> Box<str> {
        format!("{}{name}", self.prefix).into()
    }

    /// Converts a range of the original text to the office's text.
    pub fn placed(&self, written: TextRange) -> TextRange {
        let placed = |at: u32| {
            let before = self.names.partition_point(|name| *name < at) as u32;
            self.start + at + before * self.prefix.len() as u32
        };
        TextRange::new(placed(written.start), placed(written.end))
    }

    /// Converts a range of the office's text to the original text.
    pub fn written(&self, placed: TextRange) -> TextRange {
        let prefix = self.prefix.len() as u32;
        let written = |at: u32| {
            let after = at.saturating_sub(self.start);
            let begins = |(before, name): (u32, &u32)| name + before * prefix;
            let before = (0..).zip(self.names.iter()).take_while(|name| begins(*name) < after);
            let before = before.count() as u32;
            let last = before.checked_sub(1).and_then(|last| self.names.get(last as usize));
            (after.saturating_sub(before * prefix)).max(last.copied().unwrap_or_default())
        };
        TextRange::new(written(placed.start), written(placed.end))
    }

    /// Converts the end of a run to the office; `thing` maps ids of things.
    pub fn end(&self, written: End, thing: impl Fn(ThingId) -> ThingId) -> End {
        End {
            thing: written.thing.map(thing),
            range: self.placed(written.range),
            detail: self.placed(written.detail),
            colours: written.colours.map(|colours| self.placed(colours)),
            ..written
        }
    }

    /// Converts a run to the office.
    pub fn run(&self, written: &Run, thing: impl Fn(ThingId) -> ThingId) -> Run {
        let adapter = |adapter: &Adapter| Adapter {
            fitting: self.spanned(adapter.fitting),
            at: adapter.at.map(&thing),
            range: self.placed(adapter.range),
        };
        Run {
            medium: written.medium,
            ends: written.ends.iter().map(|end| self.end(*end, &thing)).collect(),
            with: self.attributes(&written.with),
            then: written.then.iter().map(|piece| self.attributes(piece)).collect(),
            adapters: written.adapters.iter().map(adapter).collect(),
            range: self.placed(written.range),
            damaged: written.damaged,
        }
    }

    fn attributes(&self, written: &Attributes) -> Attributes {
        let spanned = |stated: Option<_>| stated.map(|stated| self.spanned(stated));
        Attributes {
            length: spanned(written.length),
            gauge: spanned(written.gauge),
            fuse: spanned(written.fuse),
            limit: spanned(written.limit),
            tube: spanned(written.tube),
            bore: spanned(written.bore),
            reducer: written.reducer.map(|reducer| self.placed(reducer)),
            damaged: written.damaged,
        }
    }

    fn spanned<T>(&self, written: Spanned<T>) -> Spanned<T> {
        Spanned {
            value: written.value,
            range: self.placed(written.range),
        }
    }
}

/// Positions of the names of things in an office's text, sorted.
pub(crate) fn names(office: &Office) -> Arc<[u32]> {
    let things = office.things.iter().map(|thing| thing.name.start);
    let start = |end: &End| end.thing.map(|_| end.range.start);
    let ends = office.runs.iter().flat_map(|run| &run.ends);
    let spares = office.spares.iter().map(|spare| &spare.end);
    let stated = office.stated.iter().chain(&office.wired).map(|stated| &stated.end);
    let ends = ends.chain(spares).chain(stated).filter_map(start);
    let places = office.things.iter().flat_map(|thing| &thing.fields);
    let places = places.filter(|field| field.place.file == office.file);
    let places = places.filter_map(|field| match &field.value {
        Value::At(at) => Some(at.name.start),
        Value::Thing(other) => other.thing.map(|_| other.range.start),
        _ => None,
    });
    // The thing's name is the last word of an adapter.
    let adapters = office.runs.iter().flat_map(|run| &run.adapters);
    let adapters = adapters.filter_map(|adapter| {
        let name = office.thing(adapter.at?).name;
        Some(adapter.range.end - name.len())
    });
    let names: BTreeSet<u32> = things.chain(ends).chain(places).chain(adapters).collect();
    names.into_iter().collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ranges_go_forth_and_back() {
        let written = "regulator r\nair r -> f";
        let mut embedding = Embedding::new("b3/".to_owned(), [10, 16, 21].into());
        let mut text = "assembly b3".to_owned();
        embedding.write(written, &mut text);
        assert_eq!(text, "assembly b3\nregulator b3/r\nair b3/r -> b3/f");
        for (from, to, placed) in [
            (0, 11, "regulator b3/r"),
            (10, 11, "b3/r"),
            (12, 22, "air b3/r -> b3/f"),
            (18, 20, "->"),
            (21, 22, "b3/f"),
        ] {
            let range = TextRange::new(from, to);
            let there = embedding.placed(range);
            assert_eq!(there.of(&text), placed);
            assert_eq!(embedding.written(there), range, "{placed}");
        }
        // A position within the prefix maps to the name of the thing.
        let within = TextRange::new(embedding.placed(TextRange::new(10, 11)).start + 1, text.len() as u32);
        assert_eq!(embedding.written(within).start, 10);
    }
}
