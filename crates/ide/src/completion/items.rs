use std::cell::OnceCell;

use drysheath_office::{Allocation, Office, Thing, ThingId};
use drysheath_syntax::TokenKind;
use drysheath_text::TextRange;
use drysheath_text::safe::line;
use drysheath_workspace::{Analysis, Snapshot};

use super::caret::Caret;
use super::{Completion, CompletionKind};

/// Completion items under construction, with their context.
pub(super) struct Items<'a> {
    pub snapshot: &'a Snapshot,
    pub analysis: &'a Analysis,
    pub caret: Caret,
    pub found: Vec<Completion>,
    allocation: OnceCell<Allocation>,
}

impl<'a> Items<'a> {
    pub fn new(snapshot: &'a Snapshot, analysis: &'a Analysis, caret: Caret) -> Self {
        Self {
            snapshot,
            analysis,
            caret,
            found: Vec::new(),
            allocation: OnceCell::new(),
        }
    }

    pub fn text(&self) -> &'a str {
        &self.analysis.text
    }

    pub fn office(&self) -> &'a Office {
        &self.analysis.office
    }

    /// The things with names; one that is being declared may have none yet.
    pub fn named_things(&self) -> impl Iterator<Item = (ThingId, &'a Thing)> + use<'a> {
        let office = self.office();
        office.things().filter(|(id, _)| !office.name(*id).is_empty())
    }

    /// The numbers of ports in use, apart from the end that is being written.
    pub fn allocation(&self) -> &Allocation {
        let (analysis, end) = (self.analysis, self.caret.word);
        self.allocation
            .get_or_init(|| Allocation::while_writing(&analysis.office, &analysis.networks, end))
    }

    /// Kind and title of a thing, to tell similar names apart.
    pub fn what(&self, id: ThingId) -> String {
        let office = self.office();
        let kind = office.thing(id).kind.map_or("", |kind| kind.word());
        match office.title(id) {
            Some(title) => format!("{kind} \"{}\"", line(title)),
            None => kind.to_owned(),
        }
    }

    /// The part of the word that has been written.
    pub fn written(&self) -> &'a str {
        self.caret.word.of(self.text())
    }

    /// Offers a thing by its name.
    pub fn offer_thing(&mut self, id: ThingId) -> &mut Completion {
        let name = self.office().name(id).to_owned();
        let what = self.what(id);
        self.offer(CompletionKind::Thing, name).detail(what)
    }

    /// Offers an item that is inserted as displayed.
    pub fn offer(&mut self, kind: CompletionKind, label: impl Into<String>) -> &mut Completion {
        let label = label.into();
        let insert = label.clone();
        self.push(kind, label, insert)
    }

    #[expect(clippy::expect_used, reason = "a vector that was just pushed to has a last element")]
    fn push(&mut self, kind: CompletionKind, label: String, insert: String) -> &mut Completion {
        self.found.push(Completion {
            label,
            kind,
            detail: String::new(),
            documentation: String::new(),
            replace: self.caret.word,
            insert,
            snippet: None,
            also: Vec::new(),
        });
        self.found.last_mut().expect("it was just pushed")
    }

    /// Handles a number that ends at the caret and may be complete: items are then inserted after a blank.
    pub fn number_is_complete(&mut self) -> bool {
        if self.caret.kind != Some(TokenKind::Number) {
            return false;
        }
        self.caret.before.push(drysheath_syntax::Token {
            kind: TokenKind::Number,
            range: self.caret.word,
        });
        self.caret.word = TextRange::empty(self.caret.word.end);
        self.caret.kind = None;
        true
    }
}

impl Completion {
    pub(super) fn detail(&mut self, detail: impl Into<String>) -> &mut Self {
        self.detail = detail.into();
        self
    }

    pub(super) fn documentation(&mut self, documentation: impl Into<String>) -> &mut Self {
        self.documentation = documentation.into();
        self
    }
}
