//! Recognises texts by the grammar alone: it knows no word of the language but those that the grammar names, and of the layout
//! what the grammar says in words at its end.

use std::cell::RefCell;
use std::collections::{BTreeSet, HashMap};

use super::notation::{Expression, Grammar};

/// What a line end may come before without ending a statement.
const GOES_ON_BEFORE: [&str; 4] = ["->", "with", "then", "expect"];
/// What a line end may come after without ending a statement.
const GOES_ON_AFTER: [&str; 5] = ["->", "with", "then", "expect", ","];
const LINE_END: &str = "\n";
/// What the grammar says in words of sizes.
const DEEPEST_BLOCK: usize = 16;
const LONGEST_NUMBER: usize = 40;

type Ends = BTreeSet<usize>;

pub struct Recogniser<'g> {
    grammar: &'g Grammar,
    punctuation: Vec<String>,
    /// Which tokens are of which lexical rule: the same few thousand come again and again.
    known: RefCell<HashMap<(String, String), bool>>,
}

/// A token, and whether it stands at the margin.
#[derive(Clone, Copy, Debug)]
struct Placed<'t> {
    text: &'t str,
    at_margin: bool,
}

impl<'g> Recogniser<'g> {
    pub fn new(grammar: &'g Grammar) -> Self {
        let mut punctuation = grammar.punctuation();
        punctuation.sort_by_key(|mark| std::cmp::Reverse(mark.len()));
        Self {
            grammar,
            punctuation,
            known: RefCell::default(),
        }
    }

    /// Whether a text is a file of the grammar.
    pub fn is_file(&self, text: &str) -> bool {
        self.tokens(text).is_some_and(|tokens| {
            let depths = tokens.iter().scan(0, |depth, token| {
                *depth += usize::from(token.text == "{");
                let there = *depth;
                *depth -= usize::from(token.text == "}").min(*depth);
                Some(there)
            });
            if depths.max() > Some(DEEPEST_BLOCK) {
                return false;
            }
            let is_too_long =
                |token: &Placed<'_>| token.text.len() > LONGEST_NUMBER && self.is_token("number", token.text);
            if tokens.iter().any(is_too_long) {
                return false;
            }
            let laid_out = self.laid_out(&tokens);
            self.derives("file", &laid_out)
        })
    }

    /// Whether the tokens of a piece of a line are what a rule says.
    pub fn is(&self, rule: &str, text: &str) -> bool {
        let tokens = self.tokens(text).unwrap_or_default();
        let tokens: Vec<&str> = tokens.iter().map(|token| token.text).collect();
        self.derives(rule, &tokens)
    }

    /// Whether what was drawn is what an expression says.
    pub fn derives_expression(&self, expression: &Expression, drawn: &[String], is_lexical: bool) -> bool {
        let drawn: Vec<&str> = drawn.iter().map(String::as_str).collect();
        if is_lexical {
            let text = drawn.concat();
            let units: Vec<&str> = text.split_inclusive(|_: char| true).collect();
            return self.characters(expression, &units, 0).contains(&units.len());
        }
        self.words(expression, &drawn, 0, &mut HashMap::new())
            .contains(&drawn.len())
    }

    /// Whether a text is a token of a lexical rule.
    pub fn is_token(&self, rule: &str, token: &str) -> bool {
        let key = (rule.to_owned(), token.to_owned());
        if let Some(known) = self.known.borrow().get(&key) {
            return *known;
        }
        let is = self.longest(rule, token) == Some(token.len());
        self.known.borrow_mut().insert(key, is);
        is
    }

    /// How many bytes at the start of a text are a token of a lexical rule, at most.
    fn longest(&self, rule: &str, text: &str) -> Option<usize> {
        let line = text.find('\n').map_or(text.len(), |at| at + 1);
        let mut units: Vec<&str> = text[..line].split_inclusive(|_: char| true).collect();
        if text.starts_with("\r\n") {
            units = vec!["\r\n"];
        }
        let ends = self.characters(&self.grammar.rule(rule).expression, &units, 0);
        let last = ends.last()?;
        Some(units[..*last].iter().map(|unit| unit.len()).sum())
    }

    /// The tokens of a text, without blanks and comments; nothing where there is none.
    fn tokens<'t>(&self, text: &'t str) -> Option<Vec<Placed<'t>>> {
        let text = text.strip_prefix('\u{feff}').unwrap_or(text);
        let mut tokens = Vec::new();
        let mut at = 0;
        while let Some(rest) = text.get(at..).filter(|rest| !rest.is_empty()) {
            if rest.starts_with([' ', '\t']) {
                at += 1;
                continue;
            }
            if let Some(length) = self.longest("comment", rest).filter(|length| *length > 0) {
                at += length;
                continue;
            }
            let marks = self.punctuation.iter().filter(|mark| rest.starts_with(*mark));
            let lexical = ["word", "number", "date", "text", "line end"];
            let lengths = lexical.iter().filter_map(|rule| self.longest(rule, rest));
            let length = marks
                .map(String::len)
                .chain(lengths)
                .max()
                .filter(|length| *length > 0)?;
            let token = &rest[..length];
            tokens.push(Placed {
                text: if token == "\r\n" { LINE_END } else { token },
                at_margin: at == 0 || text.as_bytes()[at - 1] == b'\n',
            });
            at += length;
        }
        Some(tokens)
    }

    /// The tokens with the line ends that end a statement or separate fields, and no others.
    fn laid_out<'t>(&self, tokens: &[Placed<'t>]) -> Vec<&'t str> {
        let mut out: Vec<&str> = Vec::new();
        let mut depth = 0;
        for (at, token) in tokens.iter().enumerate() {
            match token.text {
                "{" => depth += 1,
                "}" => depth -= 1,
                LINE_END => {
                    let line: Vec<Placed<'_>> = tokens[at..]
                        .iter()
                        .skip_while(|next| next.text == LINE_END)
                        .copied()
                        .collect();
                    let next = line.first().map_or("", |next| next.text);
                    let goes_on =
                        GOES_ON_BEFORE.contains(&next) || out.last().is_some_and(|last| GOES_ON_AFTER.contains(last));
                    if next == "{" || (depth == 0 && goes_on && !self.starts_statement(&line)) {
                        continue;
                    }
                }
                _ => {}
            }
            out.push(token.text);
            if token.text == "}" && depth == 0 {
                out.push(LINE_END);
            }
        }
        out.push(LINE_END);
        out
    }

    /// Whether a line starts at the margin as only a statement can.
    fn starts_statement(&self, line: &[Placed<'_>]) -> bool {
        let text = |at: usize| line.get(at).map_or("", |token| token.text);
        let is_named = self.is_token("word", text(0)) && self.is_token("word", text(1));
        line.first().is_some_and(|first| first.at_margin)
            && (self.is_token("statement word", text(0)) || (is_named && [":", "{"].contains(&text(2))))
    }

    fn derives(&self, rule: &str, tokens: &[&str]) -> bool {
        let mut known = HashMap::new();
        self.rule(rule, tokens, 0, &mut known).contains(&tokens.len())
    }

    /// Where what a rule says can end that starts at a token.
    fn rule(&self, name: &str, tokens: &[&str], at: usize, known: &mut HashMap<(String, usize), Ends>) -> Ends {
        let rule = self.grammar.rule(name);
        if rule.is_lexical {
            let is = tokens.get(at).is_some_and(|token| self.is_token(name, token));
            return is.then_some(at + 1).into_iter().collect();
        }
        let key = (name.to_owned(), at);
        if let Some(ends) = known.get(&key) {
            return ends.clone();
        }
        let ends = self.words(&rule.expression, tokens, at, known);
        known.insert(key, ends.clone());
        ends
    }

    fn words(
        &self,
        expression: &Expression,
        tokens: &[&str],
        at: usize,
        known: &mut HashMap<(String, usize), Ends>,
    ) -> Ends {
        match expression {
            Expression::Terminal(text) => (tokens.get(at) == Some(&text.as_str()))
                .then_some(at + 1)
                .into_iter()
                .collect(),
            Expression::Name(name) => self.rule(name, tokens, at, known),
            Expression::Special(text) => panic!("? {text} ? is not made of tokens"),
            _ => combined(expression, at, &mut |inner, at| self.words(inner, tokens, at, known)),
        }
    }

    fn characters(&self, expression: &Expression, units: &[&str], at: usize) -> Ends {
        let there = units.get(at).copied().unwrap_or_default();
        match expression {
            Expression::Terminal(text) => {
                let length = text.chars().count();
                let is = units.get(at..at + length).is_some_and(|found| found.concat() == *text);
                is.then_some(at + length).into_iter().collect()
            }
            Expression::Name(name) => self.characters(&self.grammar.rule(name).expression, units, at),
            Expression::Special(text) => (!there.is_empty() && is_special(text, there))
                .then_some(at + 1)
                .into_iter()
                .collect(),
            _ => combined(expression, at, &mut |inner, at| self.characters(inner, units, at)),
        }
    }
}

/// Where an expression can end that is put together of others.
fn combined(expression: &Expression, at: usize, ends: &mut dyn FnMut(&Expression, usize) -> Ends) -> Ends {
    match expression {
        Expression::Sequence(all) => all.iter().fold(Ends::from([at]), |starts, one| {
            starts.into_iter().flat_map(|at| ends(one, at)).collect()
        }),
        Expression::Choice(all) => all.iter().flat_map(|one| ends(one, at)).collect(),
        Expression::Optional(inner) => {
            let mut all = ends(inner, at);
            all.insert(at);
            all
        }
        Expression::Repeated(inner) => {
            let mut all = Ends::from([at]);
            let mut new = all.clone();
            while !new.is_empty() {
                let further: Ends = new.into_iter().flat_map(|at| ends(inner, at)).collect();
                new = further.difference(&all).copied().collect();
                all.extend(&new);
            }
            all
        }
        Expression::Except(inner, without) => {
            let without = ends(without, at);
            ends(inner, at).difference(&without).copied().collect()
        }
        Expression::Terminal(_) | Expression::Name(_) | Expression::Special(_) => unreachable!("not put together"),
    }
}

/// What the special sequences of the grammar mean.
fn is_special(text: &str, unit: &str) -> bool {
    let char = unit.chars().next().unwrap_or_default();
    match text {
        "a letter of any script" => char.is_alphabetic() && !is_combining(char),
        "a combining mark" => is_combining(char),
        "one of A to Z, in either case" => char.is_ascii_alphabetic(),
        "any character but a line end" => !matches!(char, '\n' | '\r'),
        "LF or CR LF" => matches!(unit, "\n" | "\r\n"),
        other => panic!("nobody knows what ? {other} ? means"),
    }
}

/// The block of combining diacritical marks: those that letters of an office's names have.
fn is_combining(char: char) -> bool {
    matches!(char, '\u{300}'..='\u{36f}')
}
