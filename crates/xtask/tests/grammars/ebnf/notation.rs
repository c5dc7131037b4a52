//! A reader of the notation of ISO/IEC 14977, as far as `grammar/office.ebnf` uses it.

use std::collections::BTreeMap;
use std::iter::Peekable;
use std::str::Chars;

/// The comment that the rules of tokens follow.
const TOKENS: &str = "Tokens.";
/// What stands for a special sequence among the names that are not declared.
const SPECIAL: char = '?';

#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Expression {
    Terminal(String),
    Name(String),
    /// `? in words ?`
    Special(String),
    Sequence(Vec<Expression>),
    Choice(Vec<Expression>),
    Optional(Box<Expression>),
    Repeated(Box<Expression>),
    Except(Box<Expression>, Box<Expression>),
}

pub struct Rule {
    pub expression: Expression,
    /// Whether it says what characters a token has, instead of what tokens a statement has.
    pub is_lexical: bool,
}

pub struct Grammar {
    pub rules: BTreeMap<String, Rule>,
}

#[derive(Clone, Debug, PartialEq, Eq)]
enum Symbol {
    Terminal(String),
    Name(String),
    Special(String),
    /// The comment before the rules of tokens.
    Tokens,
    Mark(char),
}

impl Grammar {
    pub fn read(text: &str) -> Self {
        let symbols = symbols(text);
        let mut rest = symbols.as_slice();
        let mut rules = BTreeMap::new();
        let mut is_lexical = false;
        while let Some((first, after)) = rest.split_first() {
            if *first == Symbol::Tokens {
                is_lexical = true;
                rest = after;
                continue;
            }
            let Symbol::Name(name) = first else {
                panic!("a rule starts with its name, not with {first:?}")
            };
            rest = expect(after, '=');
            let expression = choice(&mut rest);
            rest = expect(rest, ';');
            let before = rules.insert(name.clone(), Rule { expression, is_lexical });
            assert!(before.is_none(), "{name} has two rules");
        }
        Self { rules }
    }

    pub fn rule(&self, name: &str) -> &Rule {
        self.rules
            .get(name)
            .unwrap_or_else(|| panic!("there is no rule {name}"))
    }

    /// The terminals of statements that are no words: each is a token of its own.
    pub fn punctuation(&self) -> Vec<String> {
        let mut found = Vec::new();
        for rule in self.rules.values().filter(|rule| !rule.is_lexical) {
            rule.expression.each(&mut |expression| {
                if let Expression::Terminal(text) = expression
                    && !text.starts_with(char::is_alphabetic)
                {
                    found.push(text.clone());
                }
            });
        }
        found.sort();
        found.dedup();
        found
    }
}

impl Expression {
    pub fn each(&self, visit: &mut impl FnMut(&Self)) {
        visit(self);
        match self {
            Self::Terminal(_) | Self::Name(_) | Self::Special(_) => {}
            Self::Sequence(all) | Self::Choice(all) => all.iter().for_each(|one| one.each(visit)),
            Self::Optional(inner) | Self::Repeated(inner) => inner.each(visit),
            Self::Except(inner, without) => {
                inner.each(visit);
                without.each(visit);
            }
        }
    }
}

fn expect(symbols: &[Symbol], mark: char) -> &[Symbol] {
    match symbols.split_first() {
        Some((Symbol::Mark(found), rest)) if *found == mark => rest,
        other => panic!("`{mark}` is wanted, not {:?}", other.map(|(first, _)| first)),
    }
}

fn next_is(symbols: &[Symbol], mark: char) -> bool {
    symbols.first() == Some(&Symbol::Mark(mark))
}

fn several(symbols: &mut &[Symbol], mark: char, read: fn(&mut &[Symbol]) -> Expression) -> Vec<Expression> {
    let mut all = vec![read(symbols)];
    while next_is(symbols, mark) {
        *symbols = &symbols[1..];
        all.push(read(symbols));
    }
    all
}

fn choice(symbols: &mut &[Symbol]) -> Expression {
    let mut all = several(symbols, '|', sequence);
    if all.len() == 1 {
        all.remove(0)
    } else {
        Expression::Choice(all)
    }
}

fn sequence(symbols: &mut &[Symbol]) -> Expression {
    let mut all = several(symbols, ',', term);
    if all.len() == 1 {
        all.remove(0)
    } else {
        Expression::Sequence(all)
    }
}

fn term(symbols: &mut &[Symbol]) -> Expression {
    let inner = factor(symbols);
    if next_is(symbols, '-') {
        *symbols = &symbols[1..];
        return Expression::Except(Box::new(inner), Box::new(factor(symbols)));
    }
    inner
}

fn factor(symbols: &mut &[Symbol]) -> Expression {
    let (first, rest) = symbols.split_first().expect("the grammar ends within a rule");
    *symbols = rest;
    let mut within = |close| {
        let inner = choice(symbols);
        *symbols = expect(symbols, close);
        inner
    };
    match first {
        Symbol::Terminal(text) => Expression::Terminal(text.clone()),
        Symbol::Name(name) => Expression::Name(name.clone()),
        Symbol::Special(text) => Expression::Special(text.clone()),
        Symbol::Mark('(') => within(')'),
        Symbol::Mark('[') => Expression::Optional(Box::new(within(']'))),
        Symbol::Mark('{') => Expression::Repeated(Box::new(within('}'))),
        other => panic!("{other:?} begins nothing"),
    }
}

fn symbols(text: &str) -> Vec<Symbol> {
    let mut found = Vec::new();
    let mut chars = text.chars().peekable();
    while let Some(char) = chars.next() {
        match char {
            _ if char.is_whitespace() => {}
            '(' if chars.peek() == Some(&'*') => {
                if comment(&mut chars).trim_start().starts_with(TOKENS) {
                    found.push(Symbol::Tokens);
                }
            }
            '"' | '\'' => found.push(Symbol::Terminal(until(&mut chars, char))),
            SPECIAL => found.push(Symbol::Special(until(&mut chars, SPECIAL).trim().to_owned())),
            _ if char.is_alphabetic() => found.push(Symbol::Name(name(char, &mut chars))),
            _ => found.push(Symbol::Mark(char)),
        }
    }
    found
}

fn comment(chars: &mut Peekable<Chars<'_>>) -> String {
    chars.next();
    let mut read = String::new();
    while !read.ends_with("*)") {
        read.push(chars.next().expect("a comment is not closed"));
    }
    read
}

fn until(chars: &mut Peekable<Chars<'_>>, end: char) -> String {
    let read: String = chars.by_ref().take_while(|char| *char != end).collect();
    assert!(!read.is_empty(), "nothing between two {end}");
    read
}

/// A name may have blanks in it: `line end`.
fn name(first: char, chars: &mut Peekable<Chars<'_>>) -> String {
    let mut read = String::from(first);
    while let Some(char) = chars.next_if(|char| char.is_alphanumeric() || *char == ' ') {
        read.push(char);
    }
    read.trim_end().to_owned()
}
