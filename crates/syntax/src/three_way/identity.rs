//! Identity of a statement, by which it is recognized after a change.

use crate::{End, Field, Run, Statement, StatementKind, Thing, Token, TokenSpan, Tree};

/// Identity of a statement.
pub(super) struct Identity {
    /// Identity that only one statement of a file can have, such as a name. Two new statements with the same one
    /// conflict.
    pub own: String,
    /// Weaker keys, the strictest first. They identify a statement if only one statement before and one after has them.
    pub marks: Vec<String>,
    /// First words, for a message.
    pub shown: String,
}

/// The identity of a statement of `tree`, which is the tree of `text`.
pub(super) fn identity(text: &str, tree: &Tree, statement: &Statement) -> Identity {
    let words = Words { text, tree };
    match &statement.kind {
        StatementKind::Thing(thing) => words.thing("", thing, statement.items),
        StatementKind::Part(thing) => words.thing("part ", thing, statement.items),
        StatementKind::Run(run) => words.run(run),
        StatementKind::Spare(spare) => words.about("spare", spare.items),
        StatementKind::Pairs(stated) => words.about(stated.state.word(), stated.items),
        StatementKind::Accept(accept) => {
            let word = |word| tree.range(word).of(text);
            Identity::by_name(format!("accept {} on {}", word(accept.rule), word(accept.on)))
        }
        StatementKind::Reading(reading) => {
            let date = tree.range(reading.date).of(text);
            words.about(&format!("reading {date}"), reading.items)
        }
        // Two expectations for one state are two statements.
        StatementKind::Use(_) | StatementKind::When(_) | StatementKind::Unreadable => {
            Identity::by_name(words.joined(tree.items(statement.items)))
        }
    }
}

impl Identity {
    fn by_name(name: String) -> Self {
        Self {
            shown: name.clone(),
            own: name,
            marks: Vec::new(),
        }
    }
}

struct Words<'t> {
    text: &'t str,
    tree: &'t Tree,
}

impl Words<'_> {
    fn joined(&self, tokens: &[Token]) -> String {
        let words: Vec<&str> = tokens.iter().map(|token| token.range.of(self.text)).collect();
        words.join(" ")
    }

    fn items(&self, items: TokenSpan) -> String {
        self.joined(self.tree.items(items))
    }

    /// A thing is identified by its name, then by its declared former name, and then by its contents: the same thing
    /// under a new name.
    fn thing(&self, prefix: &str, thing: &Thing, items: TokenSpan) -> Identity {
        let word = |word| self.tree.range(word).of(self.text);
        let name_range = thing.name.map(|name| self.tree.range(name));
        let is_other = |token: &&Token| Some(token.range) != name_range;
        let others: Vec<Token> = self.tree.items(items).iter().filter(is_other).copied().collect();
        let kind = thing.kind.map_or("", word);
        let name = thing.name.map_or("", word);
        Identity {
            own: format!("{prefix}thing {name}"),
            marks: vec![
                format!("{prefix}thing {}", self.former_name(thing).unwrap_or(name)),
                self.joined(&others),
            ],
            shown: format!("{prefix}{kind} {name}"),
        }
    }

    /// The first declared former name of a thing.
    fn former_name(&self, thing: &Thing) -> Option<&str> {
        let fields = &thing.block.as_ref()?.fields;
        let is_former = |field: &&Field| self.tree.range(field.name).of(self.text) == "formerly";
        let field = fields.iter().find(is_former)?;
        self.tree
            .items(field.items)
            .first()
            .map(|name| name.range.of(self.text))
    }

    /// A run is identified by its first and last end, then by either.
    fn run(&self, run: &Run) -> Identity {
        let medium = run.medium.word();
        let end = |end: Option<&End>| end.map_or_else(String::new, |end| self.items(end.items));
        let (first, last) = (end(run.ends.first()), end(run.ends.last()));
        Identity {
            own: format!("{medium} {first} -> {last}"),
            marks: vec![format!("{medium} {first} ->"), format!("{medium} -> {last}")],
            shown: format!("{medium} {first} -> {last}"),
        }
    }

    /// A statement about numbers of a thing is identified by all its words and figures, then by the thing and its port.
    fn about(&self, word: &str, items: TokenSpan) -> Identity {
        let tokens = self.tree.items(items);
        let texts = |token: &&Token| !matches!(token.range.of(self.text).chars().next(), Some('"' | '\u{201c}'));
        let figures: Vec<Token> = tokens.iter().take_while(texts).copied().collect();
        let is_word = |token: &&Token| token.kind.is_word();
        let port: Vec<Token> = tokens.iter().take(2).filter(is_word).copied().collect();
        let shown = self.joined(&figures);
        Identity {
            own: format!("{word} {shown}"),
            marks: vec![format!("{word} {}", self.joined(&port))],
            shown: format!("{word} {shown}"),
        }
    }
}
