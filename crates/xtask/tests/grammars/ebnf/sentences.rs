//! Draws files from the grammar.

use fastrand::Rng;

use super::notation::{Expression, Grammar};
use super::recogniser::Recogniser;

/// How many derivations below each other may still repeat something or take what is optional.
const DEEPEST: u32 = 14;
const MOST_REPETITIONS: u32 = 3;
/// The number of statements of a file is drawn below this.
const LINES: u32 = 8;

pub struct Sentences<'g> {
    pub grammar: &'g Grammar,
    pub recogniser: &'g Recogniser<'g>,
    pub random: Rng,
}

impl Sentences<'_> {
    /// A file, laid out with the freedom that the grammar gives.
    pub fn file(&mut self) -> String {
        let Expression::Repeated(line) = &self.grammar.rule("file").expression else {
            panic!("a file repeats lines")
        };
        let mut tokens = Vec::new();
        for _ in 0..self.random.u32(1..LINES) {
            self.derive(line, 0, false, &mut tokens);
        }
        self.lay_out(&tokens)
    }

    fn derive(&mut self, expression: &Expression, depth: u32, is_lexical: bool, out: &mut Vec<String>) {
        let grammar = self.grammar;
        match expression {
            Expression::Terminal(text) => out.push(text.clone()),
            Expression::Special(text) => out.push(self.special(text)),
            Expression::Name(name) => {
                let rule = grammar.rule(name);
                if rule.is_lexical && !is_lexical {
                    let mut characters = Vec::new();
                    self.derive(&rule.expression, depth, true, &mut characters);
                    out.push(characters.concat());
                } else {
                    self.derive(&rule.expression, depth + 1, is_lexical, out);
                }
            }
            Expression::Sequence(all) => all.iter().for_each(|one| self.derive(one, depth, is_lexical, out)),
            Expression::Choice(all) => {
                let one = &all[self.random.usize(0..all.len())];
                self.derive(one, depth, is_lexical, out);
            }
            Expression::Optional(inner) => {
                if depth < DEEPEST && self.random.bool() {
                    self.derive(inner, depth + 1, is_lexical, out);
                }
            }
            Expression::Repeated(inner) => {
                let most = if depth < DEEPEST { MOST_REPETITIONS } else { 0 };
                for _ in 0..self.random.u32(0..=most) {
                    self.derive(inner, depth + 1, is_lexical, out);
                }
            }
            Expression::Except(inner, without) => {
                let recogniser = self.recogniser;
                let mut draw = || {
                    let mut drawn = Vec::new();
                    self.derive(inner, depth, is_lexical, &mut drawn);
                    drawn
                };
                let mut drawn = draw();
                while recogniser.derives_expression(without, &drawn, is_lexical) {
                    drawn = draw();
                }
                out.extend(drawn);
            }
        }
    }

    fn special(&mut self, text: &str) -> String {
        let samples: &[&str] = match text {
            "a letter of any script" => &["a", "b", "m", "x", "E", "Z", "é", "ж", "中"],
            "a combining mark" => &["\u{301}"],
            "one of A to Z, in either case" => &["A", "b", "Q"],
            "any character but a line end" => &["a", "7", " ", "#", "{", "}", ",", "-", "ß", "\t"],
            "LF or CR LF" => &["\n", "\n", "\n", "\r\n"],
            other => panic!("nobody knows what ? {other} ? means"),
        };
        samples[self.random.usize(0..samples.len())].to_owned()
    }

    /// Writes tokens with blanks, comments and the line ends that do not count.
    fn lay_out(&mut self, tokens: &[String]) -> String {
        let mut out = String::new();
        let mut depth = 0;
        let mut is_thing = false;
        let mut starts = true;
        for (at, token) in tokens.iter().enumerate() {
            let is_line_end = token.ends_with('\n');
            if starts && !is_line_end {
                is_thing = !self.recogniser.is_token("statement word", token) || token == "part";
                starts = false;
            }
            if is_line_end {
                if self.random.u32(0..6) == 0 {
                    out.push_str(" # a remark {");
                }
                out.push_str(token);
                starts = depth == 0;
                if !starts {
                    out.push_str("    ");
                }
                continue;
            }
            match token.as_str() {
                "{" => depth += 1,
                "}" => depth -= 1,
                _ => {}
            }
            let before = at.checked_sub(1).map_or("\n", |before| tokens[before].as_str());
            let may_break = (token == "{" && !before.ends_with('\n'))
                || (!is_thing
                    && (["->", "with", "then", "expect"].contains(&token.as_str())
                        || ["->", "with", "then", "expect", ","].contains(&before)));
            if may_break && self.random.u32(0..4) == 0 {
                out.push_str(["\n    ", " # on\n\n  ", "\r\n\t"][self.random.usize(0..3)]);
            } else if !before.ends_with('\n') {
                out.push_str([" ", "  ", "\t"][self.random.usize(0..3)]);
            }
            out.push_str(token);
        }
        out
    }
}
