//! The tree without ranges: two texts of the same shape mean the same.

use std::fmt::Write;

use drysheath_syntax::{Block, Problem, StatementKind, Thing, TokenId, TokenSpan, Tree};

/// Every statement in words.
pub fn of(text: &str, tree: &Tree) -> String {
    let shape = Shape { text, tree };
    let mut out = String::new();
    for statement in &tree.statements {
        let damaged = if statement.damaged { "damaged " } else { "" };
        writeln!(out, "{damaged}{}", shape.statement(&statement.kind)).unwrap();
    }
    let problems = tree
        .problems
        .iter()
        .map(|Problem { id, range, message, .. }| (id, range.of(text), message));
    // A line end says nothing, wherever the problem with it lies.
    problems.for_each(|problem| writeln!(out, "{problem:?}").unwrap());
    out
}

struct Shape<'t> {
    text: &'t str,
    tree: &'t Tree,
}

impl Shape<'_> {
    fn statement(&self, kind: &StatementKind) -> String {
        match kind {
            StatementKind::Use(used) => format!("use {:?}", self.word(used.path)),
            StatementKind::Part(thing) => format!("part {}", self.thing(thing)),
            StatementKind::Thing(thing) => self.thing(thing),
            StatementKind::Run(run) => {
                let ends: Vec<_> = run
                    .ends
                    .iter()
                    .map(|end| (self.items(end.items), end.damaged))
                    .collect();
                let with: Vec<_> = run.with.iter().map(|items| self.items(*items)).collect();
                format!("{} {ends:?} with {with:?}", run.medium.word())
            }
            StatementKind::Spare(spare) => format!("spare {}", self.items(spare.items)),
            StatementKind::Pairs(stated) => format!("{} {}", stated.state.word(), self.items(stated.items)),
            StatementKind::Accept(accept) => {
                let words = [accept.rule, accept.on, accept.because, accept.until].map(|word| self.word(Some(word)));
                format!("accept {words:?}")
            }
            StatementKind::Reading(reading) => {
                format!(
                    "reading {:?} {:?}",
                    self.word(Some(reading.date)),
                    self.items(reading.items)
                )
            }
            StatementKind::When(when) => {
                let clauses: Vec<_> = when.clauses().map(|clause| self.items(clause)).collect();
                format!("when {clauses:?}")
            }
            StatementKind::Unreadable => "unreadable".to_owned(),
        }
    }

    fn thing(&self, thing: &Thing) -> String {
        let head = [thing.kind, thing.name, thing.part].map(|word| self.word(word));
        format!("thing {head:?} {}", self.block(thing.block.as_ref()))
    }

    fn block(&self, block: Option<&Block>) -> String {
        let Some(block) = block else { return "-".to_owned() };
        let fields = block.fields.iter().map(|field| {
            let name = self.word(Some(field.name));
            let items = self.items(field.items);
            format!(
                "{name:?} {items} {} {};",
                field.damaged,
                self.block(field.block.as_ref())
            )
        });
        format!("{{ {} }}", fields.collect::<String>())
    }

    fn word(&self, word: Option<TokenId>) -> Option<&str> {
        word.map(|word| self.tree.range(word).of(self.text))
    }

    fn items(&self, items: TokenSpan) -> String {
        let words = self
            .tree
            .items(items)
            .iter()
            .filter(|token| token.range.of(self.text).trim() != "");
        words
            .map(|token| token.range.of(self.text))
            .collect::<Vec<_>>()
            .join("|")
    }
}
