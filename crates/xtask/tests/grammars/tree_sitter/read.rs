//! What the parser and the tree-sitter grammar find in a text, in the same terms.

use std::collections::BTreeSet;

use drysheath_engineering::units;
use drysheath_syntax::{Block, Statement, StatementKind, Thing, TokenId, TokenKind, TokenSpan, Tree};
use drysheath_text::TextRange;
use tree_sitter::Node;

/// Something in a text, and its bytes.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Found {
    pub start: usize,
    pub end: usize,
    pub what: &'static str,
}

fn found(what: &'static str, range: TextRange) -> Found {
    Found {
        start: range.start as usize,
        end: range.end as usize,
        what,
    }
}

/// The kind of a statement, as the grammar calls it.
fn kind(kind: &StatementKind) -> &'static str {
    match kind {
        StatementKind::Use(_) => "use",
        StatementKind::Part(_) => "part",
        StatementKind::Thing(_) => "thing",
        StatementKind::Run(_) => "run",
        StatementKind::Spare(_) => "spare",
        StatementKind::Pairs(_) => "stated",
        StatementKind::Accept(_) => "accept",
        StatementKind::Reading(_) => "reading",
        StatementKind::When(_) => "when",
        StatementKind::Unreadable => "unreadable",
    }
}

pub fn of_statement(statement: &Statement) -> Found {
    found(kind(&statement.kind), statement.range)
}

/// What the parser finds.
pub fn ours(text: &str, tree: &Tree) -> BTreeSet<Found> {
    let mut ours = Ours {
        tree,
        found: BTreeSet::new(),
    };
    for statement in &tree.statements {
        ours.found.insert(of_statement(statement));
        ours.statement(&statement.kind);
    }
    for pair in tree.words.windows(2) {
        let [number, unit] = pair else { continue };
        if number.kind == TokenKind::Number && unit.kind.is_word() && units::find(unit.range.of(text)).is_some() {
            ours.found.insert(found("quantity", number.range.cover(unit.range)));
        }
    }
    ours.found
}

struct Ours<'t> {
    tree: &'t Tree,
    found: BTreeSet<Found>,
}

impl Ours<'_> {
    fn word(&mut self, what: &'static str, word: TokenId) {
        self.found.insert(found(what, self.tree.range(word)));
    }

    fn items(&mut self, what: &'static str, items: TokenSpan) {
        self.found.insert(found(what, self.tree.items_range(items)));
    }

    fn statement(&mut self, kind: &StatementKind) {
        match kind {
            StatementKind::Use(used) => used.path.into_iter().for_each(|path| self.word("path", path)),
            StatementKind::Part(thing) | StatementKind::Thing(thing) => self.thing(thing),
            StatementKind::Run(run) => {
                run.ends.iter().for_each(|end| self.items("end", end.items));
                run.pieces().flatten().for_each(|items| self.items("joins", *items));
            }
            StatementKind::Accept(accept) => {
                self.word("rule", accept.rule);
                self.word("on", accept.on);
                self.word("until", accept.until);
            }
            StatementKind::Reading(reading) => self.word("date", reading.date),
            StatementKind::When(when) => {
                when.events.iter().for_each(|items| self.items("event", *items));
                when.expected.iter().for_each(|items| self.items("expected", *items));
            }
            StatementKind::Spare(_) | StatementKind::Pairs(_) | StatementKind::Unreadable => {}
        }
    }

    fn thing(&mut self, thing: &Thing) {
        for (what, word) in [("kind", thing.kind), ("name", thing.name), ("part of", thing.part)] {
            if let Some(word) = word {
                self.word(what, word);
            }
        }
        thing.block.iter().for_each(|block| self.block(block));
    }

    fn block(&mut self, block: &Block) {
        self.found.insert(found("block", self.tree.block_range(block)));
        for field in &block.fields {
            self.found.insert(found("field", self.tree.field_range(field)));
            self.word("field name", field.name);
            field.block.iter().for_each(|block| self.block(block));
        }
    }
}

/// What the tree-sitter grammar finds.
pub fn theirs(tree: &tree_sitter::Tree) -> BTreeSet<Found> {
    let mut found = BTreeSet::new();
    each(tree.root_node(), None, &mut |node, field| {
        let parent = node.parent().map_or("", |parent| parent.kind());
        let what = match (parent, node.kind(), field) {
            ("use", _, Some("path")) => "path",
            ("thing" | "part", _, Some("kind")) => "kind",
            ("thing" | "part", _, Some("name")) => "name",
            ("thing" | "part", _, Some("part")) => "part of",
            ("field", _, Some("name")) => "field name",
            ("accept", _, Some("rule")) => "rule",
            ("accept", _, Some("thing")) => "on",
            ("accept", _, Some("until")) => "until",
            ("reading", _, Some("date")) => "date",
            (_, "end", _) => "end",
            (_, "joins", _) => "joins",
            (_, "event", _) => "event",
            (_, "expected", _) => "expected",
            (_, "block", _) => "block",
            (_, "field", _) => "field",
            (_, "quantity", _) => "quantity",
            ("file", kind, _) => match statement(kind) {
                Some(kind) => kind,
                None => return,
            },
            _ => return,
        };
        found.insert(of_node(what, node));
    });
    found
}

/// The statements that the tree-sitter grammar finds, damaged or not.
pub fn statements(tree: &tree_sitter::Tree) -> BTreeSet<Found> {
    let root = tree.root_node();
    let mut cursor = root.walk();
    root.named_children(&mut cursor)
        .filter_map(|node| Some(of_node(statement(node.kind())?, node)))
        .collect()
}

fn of_node(what: &'static str, node: Node<'_>) -> Found {
    Found {
        start: node.start_byte(),
        end: node.end_byte(),
        what,
    }
}

fn statement(kind: &str) -> Option<&'static str> {
    const KINDS: [&str; 9] = [
        "use", "part", "thing", "run", "spare", "stated", "accept", "reading", "when",
    ];
    KINDS.into_iter().find(|one| *one == kind)
}

fn each(node: Node<'_>, field: Option<&str>, visit: &mut impl FnMut(Node<'_>, Option<&str>)) {
    visit(node, field);
    let mut cursor = node.walk();
    if !cursor.goto_first_child() {
        return;
    }
    loop {
        let child = cursor.node();
        if child.is_named() {
            let field = cursor.field_name();
            each(child, field, visit);
        }
        if !cursor.goto_next_sibling() {
            return;
        }
    }
}
