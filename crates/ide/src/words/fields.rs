//! Things, parts, and what is said of them.

use drysheath_office::kinds::{Choice, FieldSpec, Kind, Shape, field};
use drysheath_office::{FittingType, Level, Severity, Sex, ThingId};
use drysheath_syntax::{Block, Field, Items, Thing};
use strum::VariantArray;

use super::{Meaning, Reader};

/// Whose fields are read.
#[derive(Clone, Copy)]
struct Owner {
    kind: &'static Kind,
    thing: Option<ThingId>,
}

impl Reader<'_, '_> {
    /// A thing, or a part where there is no thing of that number.
    pub(super) fn declaration(&mut self, thing: &Thing, id: Option<ThingId>) {
        let kind = thing.kind.and_then(|kind| Kind::find(self.text(kind)));
        if let (Some(word), Some(kind)) = (thing.kind, kind) {
            self.is(word, Meaning::Kind(kind));
        }
        if let Some(word) = thing.name {
            let name = self.text(word);
            let declared = match id {
                Some(id) => Meaning::Thing { id, declared: true },
                None => Meaning::Part { name, declared: true },
            };
            self.is(word, declared);
        }
        if let Some(word) = thing.part {
            let name = self.text(word);
            self.is(word, Meaning::Part { name, declared: false });
        }
        if let (Some(block), Some(kind)) = (&thing.block, kind) {
            self.block(block, kind.fields, Owner { kind, thing: id });
        }
    }

    fn block(&mut self, block: &Block, specs: &'static [FieldSpec], owner: Owner) {
        for written in &block.fields {
            match field(specs, self.text(written.name)) {
                Some(spec) => self.field(written, spec, owner),
                None => self.quantities(&written.items, false),
            }
        }
    }

    fn field(&mut self, written: &Field, spec: &'static FieldSpec, owner: Owner) {
        let kind = owner.kind;
        self.is(written.name, Meaning::Field { spec, kind });
        self.value(&written.items, spec, owner);
        if let Some(block) = &written.block {
            self.block(block, spec.inner(), owner);
        }
    }

    fn value(&mut self, items: &Items, spec: &'static FieldSpec, owner: Owner) {
        self.quantities(items, matches!(spec.shape, Shape::Difference));
        match spec.shape {
            Shape::Choice(choices) => self.choices(items, |word| {
                let found: Option<&Choice> = choices.iter().find(|choice| choice.word == word);
                found.map(|choice| choice.doc)
            }),
            Shape::YesNo => self.choices(items, |word| matches!(word, "yes" | "no").then_some(spec.doc)),
            Shape::Link => self.choices(items, |word| match word {
                "lan" => Some("It reports over a LAN."),
                "dialled" => Some("It dials a line to report."),
                _ => None,
            }),
            Shape::Fitting => self.fitting(items),
            Shape::Limit(_) => self.limit(items),
            Shape::At => self.at(items),
            Shape::Named(_) => {
                let word = items.start;
                if items.start < items.end && self.kind_of(word).is_word() {
                    let name = self.text(word);
                    let meaning = Meaning::Inner {
                        owner: owner.thing,
                        key: spec.key,
                        name,
                        declared: true,
                    };
                    self.is(word, meaning);
                }
            }
            _ => {}
        }
    }

    fn choices(&mut self, items: &Items, doc: impl Fn(&str) -> Option<&'static str>) {
        for word in items.clone() {
            if let Some(doc) = doc(self.text(word)).filter(|_| self.kind_of(word).is_word()) {
                self.is(word, Meaning::Choice(doc));
            }
        }
    }

    pub(super) fn fitting(&mut self, items: &Items) {
        self.choices(items, |word| {
            let kind = FittingType::VARIANTS.iter().find(|kind| kind.word() == word);
            let sex = || Sex::VARIANTS.iter().find(|sex| sex.word() == word);
            kind.map(|kind| kind.doc()).or_else(|| sex().map(|sex| sex.doc()))
        });
    }

    fn limit(&mut self, items: &Items) {
        self.choices(items, |word| {
            let level = Level::VARIANTS.iter().find(|level| level.word() == word);
            let severity = || Severity::VARIANTS.iter().find(|severity| severity.word() == word);
            level
                .map(|level| level.doc())
                .or_else(|| severity().map(|severity| severity.doc()))
        });
        if let Some(word) = items.clone().find(|word| self.text(*word) == "deadband") {
            self.is(word, Meaning::Keyword);
            self.quantities(&(word + 1..items.end), true);
        }
    }

    fn at(&mut self, items: &Items) {
        if items.start < items.end {
            let host = self.thing(items.start);
            self.inner_names(&(items.start + 1..items.end), host);
        }
    }
}
