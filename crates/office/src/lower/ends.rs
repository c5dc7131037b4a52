//! Reads the ends of runs and of statements on numbers of ports.

use drysheath_engineering::colour::{parse_colours, two_colours};
use drysheath_syntax::{self as syntax, Fix, Medium, PairState, TokenKind, Tree};
use drysheath_text::TextRange;

use super::annotations::Annotations;
use super::candidates::Candidate;
use super::end_problems::{
    another_statement, list, list_or, no_ports, not_a_pair, port_missing, port_unknown, unknown_thing, word_missing,
};
use super::reader::{Context, Read, Reader, VALUE, Wanted};
use super::shapes::unquoted;
use crate::kinds::{Bare, HIGHEST_COUNT, KINDS, Key, Kind, Numbering, Port, Role, Shape, SignalSource};
use crate::model::{End, Office, Thing};
use crate::problem::{Problem, ProblemId};
use crate::semantics::Meaning;
use crate::spelling::{Suggestions, nearest, with_article};
use crate::value::Fields;

/// Stands for all numbers of a port that no other statement names.
pub(super) const REST: &str = "rest";

/// Words with a fixed role in some statements that are nevertheless not tokens of their own, since they are free
/// elsewhere.
pub const BINDING_WORDS: [&str; 2] = [REST, "to"];

pub(super) struct EndReader<'r> {
    pub(super) text: &'r str,
    /// The office so far: all things and their names.
    pub(super) office: &'r Office,
    /// Records the meaning of each token, if the caller needs it.
    pub(super) annotations: Option<&'r Annotations<'r>>,
    suggestions: Suggestions,
}

/// Position of an end in its run.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) enum Position {
    First,
    Middle,
    Last,
}

impl Position {
    /// Position of end number `at` of `count`.
    pub(super) fn of(at: usize, count: usize) -> Self {
        match at {
            0 => Self::First,
            at if at + 1 == count => Self::Last,
            _ => Self::Middle,
        }
    }
}

/// An end that was read, and its problem.
pub(super) struct ReadEnd {
    pub end: End,
    pub problem: Option<Box<Problem>>,
    /// Whether the end is reliable.
    pub sound: bool,
}

impl ReadEnd {
    /// Records that the last word is the name of a port.
    pub(super) fn annotate_port(&self, port: &'static Port, reader: &Reader<'_>) {
        if let Some(thing) = self.end.thing {
            reader.annotate(Meaning::Port { thing, port });
        }
    }
}

impl ReadEnd {
    /// An end with nothing known.
    pub(super) fn new(range: TextRange) -> Self {
        Self {
            end: End {
                thing: None,
                port: None,
                numbers: (0, 0),
                range,
                detail: range,
                colours: None,
            },
            problem: None,
            sound: true,
        }
    }
}

impl<'r> EndReader<'r> {
    pub(super) fn new(office: &'r Office, annotations: Option<&'r Annotations<'r>>) -> Self {
        Self {
            text: &office.text,
            office,
            annotations,
            suggestions: Suggestions::default(),
        }
    }

    pub(super) fn end(&self, tree: &Tree, medium: Medium, written: &syntax::End, position: Position) -> ReadEnd {
        let mut read = ReadEnd::new(tree.items_range(written.items));
        read.sound = !written.damaged;
        let mut reader = self.reader(tree, written.items);
        // Nothing is concluded from a damaged end, but its words still have a meaning.
        if !written.damaged || self.annotations.is_some() {
            read.problem = self.read(medium, &mut reader, position, &mut read).err();
        }
        if read.problem.is_some() {
            reader.annotate_rest(None, "");
        }
        read.sound &= read.problem.is_none();
        read
    }

    /// A reader of some items that also knows the token before them: in `wire wire f1` one of the two is surplus.
    pub(super) fn reader<'t>(&self, tree: &'t Tree, items: syntax::TokenSpan) -> Reader<'t>
    where
        'r: 't,
    {
        let before = tree.range_before(items).unwrap_or_default();
        Reader::new(self.text, tree.items(items), before, self.office.standard).annotating(self.annotations)
    }

    /// Reads the end in a `spare` statement: numbered ports of one thing, or one of its contacts. The flag is true for
    /// `rest` in place of numbers.
    pub(super) fn spare(&self, tree: &Tree, written: &syntax::Spare) -> (ReadEnd, bool) {
        let mut read = ReadEnd::new(tree.items_range(written.items));
        let mut reader = self.reader(tree, written.items);
        let mut is_rest = false;
        match self.read_spare(&mut reader, &mut read) {
            Ok(rest) => is_rest = rest,
            Err(problem) => read.problem = Some(problem),
        }
        read.sound &= read.problem.is_none();
        (read, is_rest)
    }

    pub(super) fn read_spare(&self, reader: &mut Reader<'_>, read: &mut ReadEnd) -> Read<bool> {
        let Some(kind) = self.thing(reader, read)? else {
            return Ok(false);
        };
        let (port, range) = self.port_of(kind, Port::can_be_spare, "can be spare", reader, read)?;
        let is_rest = self.rest(port, range, reader, read)?;
        if !is_rest {
            self.numbers(port, range, reader, read)?;
        }
        self.nothing_more(reader)?;
        Ok(is_rest)
    }

    /// Reads the end and the text in an `assigned` or `defective` statement.
    pub(super) fn stated(&self, tree: &Tree, written: &syntax::PairStateStatement) -> (ReadEnd, Option<Box<str>>) {
        let mut read = ReadEnd::new(tree.items_range(written.items));
        let mut reader = self.reader(tree, written.items);
        let mut text = None;
        match self.read_stated(written.state, &mut reader, &mut read) {
            Ok(said) => text = said,
            Err(problem) => {
                reader.annotate_rest(None, "");
                read.problem = Some(problem);
            }
        }
        read.sound &= read.problem.is_none();
        (read, text)
    }

    pub(super) fn read_stated(
        &self,
        state: PairState,
        reader: &mut Reader<'_>,
        read: &mut ReadEnd,
    ) -> Read<Option<Box<str>>> {
        let Some(kind) = self.thing(reader, read)? else {
            return Ok(None);
        };
        let has_pairs = |port: &Port| port.is_counted() && port.medium == Medium::Wire;
        let other = reader.peek().and_then(|word| {
            let written = word.range.of(self.text);
            let port = kind.ports.iter().find(|port| port.word == written)?;
            (port.is_counted() && !has_pairs(port)).then(|| not_a_pair(state, kind, port, word.range))
        });
        if let Some(problem) = other {
            return Err(problem);
        }
        let what = format!("can be {}", state.word());
        let (port, range) = self.port_of(kind, has_pairs, &what, reader, read)?;
        self.numbers(port, range, reader, read)?;
        let text = self.text_of(state, reader)?;
        self.nothing_more(reader)?;
        Ok(Some(text))
    }

    /// Reads `to "subscribers"` or `because "open at mh-4"`.
    fn text_of(&self, state: PairState, reader: &mut Reader<'_>) -> Read<Box<str>> {
        let again = reader.again();
        let before = reader.last();
        let (word, joint) = (state.word(), state.joint());
        if !reader.candidate_word(joint) {
            let example = match state {
                PairState::Assigned => "say to whom, such as `to \"subscribers\"`",
                PairState::Defective => "say what is wrong with it, such as `because \"open at mh-4\"`",
                PairState::Bunched => "say why, such as `because \"one pair alone is over 4000 ohm\"`",
                PairState::Tapped => "say why, such as `because \"cut-over to m2, order W-7\"`",
            };
            let Some(found) = reader.peek() else {
                let message = format!("`{word}` expects `{joint}` and a text in quotes after it");
                return Err(Box::new(Problem::new(VALUE, before, message).help(example)));
            };
            if let Some(problem) = again.or_else(|| another_statement(self.text, reader)) {
                return Err(problem);
            }
            let written = found.range.of(self.text);
            let problem = Problem::new(VALUE, found.range, format!("`{joint}` is missing before `{written}`"));
            let is_text = matches!(found.kind, TokenKind::Text | TokenKind::OpenText);
            return Err(Box::new(if is_text {
                let at = TextRange::empty(before.end);
                problem.fix(Fix::replace(at, format!(" {joint}"), format!("Insert `{joint}`")))
            } else if PairState::ALL.iter().any(|other| other.joint() == written) {
                let message = format!("`{word}` has `{joint}` before its text, not `{written}`");
                Problem::new(VALUE, found.range, message).meant(joint)
            } else {
                problem.help(example)
            }));
        }
        reader.candidate(Candidate::Text);
        let is_text = |kind| matches!(kind, TokenKind::Text | TokenKind::OpenText);
        let Some((written, range)) = reader.next_if(is_text) else {
            return Err(reader.wanted(Context::of(joint), Wanted::Words("a text in quotes")));
        };
        let text = unquoted(written);
        let text = text.trim();
        if text.is_empty() {
            let message = match state {
                PairState::Assigned => "this does not say to whom it is assigned",
                PairState::Defective => "this does not say what is wrong with it",
                PairState::Bunched | PairState::Tapped => "this does not say why",
            };
            let help = "write it for whoever looks for a pair next year";
            return Err(Box::new(Problem::new(VALUE, range, message).help(help)));
        }
        Ok(text.into())
    }

    /// Reads a port's word, among the ports that satisfy `can`.
    fn port_of(
        &self,
        kind: &'static Kind,
        can: impl Fn(&Port) -> bool,
        what: &str,
        reader: &mut Reader<'_>,
        read: &ReadEnd,
    ) -> Read<(&'static Port, TextRange)> {
        let can = |port: &&'static Port| can(port);
        let words: Vec<_> = kind.ports.iter().filter(can).map(|port| port.word).collect();
        let again = reader.again();
        reader.candidate(Candidate::Port);
        let Some((word, range)) = reader.word() else {
            if let Some(problem) = port_missing(&words, reader, self.text) {
                return Err(problem);
            }
            let wanted = list(&words);
            let message = if words.is_empty() {
                format!("{} has nothing that {what}", with_article(kind.word()))
            } else {
                format!("say which of it: {wanted}, and its number or name")
            };
            return Err(Box::new(Problem::new(VALUE, reader.last(), message)));
        };
        let Some(port) = kind.ports.iter().filter(can).find(|port| port.word == word) else {
            if let Some(again) = again {
                return Err(again);
            }
            return Err(port_unknown(kind, word, range, &words));
        };
        read.annotate_port(port, reader);
        Ok((port, range))
    }

    /// Reads `rest` in place of the numbers of a port.
    fn rest(&self, port: &'static Port, word: TextRange, reader: &mut Reader<'_>, read: &mut ReadEnd) -> Read<bool> {
        if !port.is_counted() {
            return Ok(false);
        }
        reader.candidate(Candidate::Word(REST));
        let Some(token) = reader.peek().filter(|token| token.kind.is_word()) else {
            return Ok(false);
        };
        let written = token.range.of(self.text);
        if written != REST {
            if port.has_letters() && reader.lettered().is_some() {
                return Ok(false);
            }
            if self.is_name(written) || nearest(written, [REST]).is_none() {
                return Ok(false);
            }
            let problem = Problem::new(VALUE, token.range, format!("unknown word `{written}`"));
            return Err(Box::new(problem.meant(REST)));
        }
        reader.next();
        if let Some(thing) = read.end.thing {
            reader.annotate(Meaning::Rest { thing, port });
        }
        read.end.port = Some(port);
        read.end.detail = word.cover(token.range);
        Ok(true)
    }

    pub(super) fn read(
        &self,
        medium: Medium,
        reader: &mut Reader<'_>,
        position: Position,
        read: &mut ReadEnd,
    ) -> Read<()> {
        let Some(kind) = self.thing(reader, read)? else {
            return Ok(());
        };
        if kind.ports_in(medium).next().is_none() {
            return Err(no_ports(medium, kind, reader, self.text));
        }
        reader.candidate(Candidate::Port);
        let Some(word) = reader.peek().filter(|token| token.kind.is_word()) else {
            // A port without any numbers cannot be meant.
            let has_some = |port: &'static Port| {
                let rows = read.end.thing.and_then(|id| self.office.rows(id, port));
                rows.is_none_or(|rows| rows.iter().next().is_some())
            };
            let numbered = |port: &&'static Port| port.is_counted() && has_some(port);
            let words: Vec<_> = kind.ports_in(medium).filter(numbered).map(|port| port.word).collect();
            if let Some(problem) = port_missing(&words, reader, self.text) {
                return Err(problem);
            }
            self.bare(medium, kind, position, reader, read)?;
            return self.nothing_more(reader);
        };
        let written = word.range.of(self.text);
        let mut ports = kind.ports_in(medium);
        let Some(port) = ports.find(|port| port.word == written) else {
            if let Some(again) = reader.again() {
                return Err(again);
            }
            // A known name starts another end: the arrow is missing.
            if self.is_name(written) {
                self.bare(medium, kind, position, reader, read)?;
                return self.nothing_more(reader);
            }
            if let Some(port) = self.port_named(medium, kind, written, read) {
                return Err(word_missing(port.word, word.range, reader, self.text));
            }
            if reader.lettered().is_some() {
                let lettered: Vec<_> = kind.ports_in(medium).filter(|port| port.has_letters()).collect();
                if let [only] = lettered.as_slice() {
                    return Err(word_missing(only.word, word.range, reader, self.text));
                }
            }
            let words: Vec<_> = kind.ports_in(medium).map(|port| port.word).collect();
            return Err(port_unknown(kind, written, word.range, &words));
        };
        reader.next();
        read.annotate_port(port, reader);
        self.has_signal(port, kind, word.range, read)?;
        self.numbers(port, word.range, reader, read)?;
        if port.role == Role::Pair {
            self.colours(reader, read)?;
        }
        self.nothing_more(reader)
    }

    fn thing_of(&self, read: &ReadEnd) -> Option<&Thing> {
        read.end.thing.map(|id| self.office.thing(id))
    }

    fn is_name(&self, written: &str) -> bool {
        self.office.named(written).is_some()
    }

    /// The port with named fields of which one is called `written`.
    fn port_named(&self, medium: Medium, kind: &'static Kind, written: &str, read: &ReadEnd) -> Option<&'static Port> {
        let thing = self.thing_of(read)?;
        kind.ports_in(medium).find(|port| match port.numbering {
            Numbering::Named(key) => thing.named(key).any(|(name, ..)| name == written),
            _ => false,
        })
    }

    /// Reads the thing at the start of an end. Returns its kind; without it the rest cannot be read.
    pub(super) fn thing(&self, reader: &mut Reader<'_>, read: &mut ReadEnd) -> Read<Option<&'static Kind>> {
        let again = reader.again();
        reader.candidate(Candidate::Thing);
        let Some((name, range)) = reader.word() else {
            let range = reader.rest().unwrap_or(reader.last());
            return Err(Box::new(Problem::new(VALUE, range, "the name of a thing is missing")));
        };
        reader.annotate_thing();
        let Some(id) = self.office.named(name) else {
            read.sound = false;
            if let Some(again) = again {
                return Err(again);
            }
            if self.office.unsure.names {
                return Ok(None);
            }
            if KINDS.iter().any(|kind| kind.ports.iter().any(|port| port.word == name)) {
                let message = format!("the name of a thing is missing before `{name}`");
                return Err(Box::new(Problem::new(ProblemId::NameUnknown, range, message)));
            }
            return Err(Box::new(unknown_thing(name, range, self.office, &self.suggestions)));
        };
        read.end.thing = Some(id);
        let kind = self.office.thing(id).kind;
        read.sound &= kind.is_some();
        Ok(kind)
    }

    /// An end that names only the thing. In the middle of a run each side has its own port.
    fn bare(
        &self,
        medium: Medium,
        kind: &'static Kind,
        position: Position,
        reader: &Reader<'_>,
        read: &mut ReadEnd,
    ) -> Read<()> {
        // A block or lead without a port is its connector, which mates with one other.
        let has_connector = self
            .thing_of(read)
            .is_some_and(|thing| thing.damaged || thing.has(Key::Connector));
        let is_there =
            |port: &&'static Port| port.role != Role::Connector || has_connector && position != Position::Middle;
        let bare = |as_target| bare_port(kind, medium, as_target).filter(is_there);
        let as_target = position != Position::First && bare(true).is_none();
        let as_source = position != Position::Last && bare(false).is_none();
        if !as_target && !as_source {
            if position != Position::Middle {
                read.end.port = bare(position == Position::Last);
                // A port with numbers means its first one if no number is written.
                let is_numbered = read
                    .end
                    .port
                    .is_some_and(|port| !matches!(port.numbering, Numbering::None | Numbering::Connectors));
                read.end.numbers = if is_numbered { (1, 1) } else { (0, 0) };
            }
            return Ok(());
        }
        let named = kind
            .ports_in(medium)
            .filter(|port| port.role != Role::Connector || has_connector);
        let words: Vec<_> = named.map(|port| port.word).collect();
        let name = reader.last().of(self.text);
        let message = if words.len() == 1 && as_source && kind.ports_in(medium).any(|port| port.bare == Bare::Target) {
            format!(
                "{} run can end at `{name}` but not go on from it",
                with_article(medium.word())
            )
        } else {
            format!("the port of `{name}` is missing: {}", list_or(&words))
        };
        let problem = Problem::new(ProblemId::PortUnknown, reader.last(), message);
        let may_have_connector = kind.ports_in(medium).any(|port| port.role == Role::Connector) && !has_connector;
        Err(Box::new(if may_have_connector {
            problem.help(
                "say which pair, or `connector plug` or `connector socket` of it where all its pairs are plugged in",
            )
        } else {
            problem
        }))
    }

    /// Checks that the group exists that a signal depends on.
    pub(super) fn has_signal(&self, port: &Port, kind: &Kind, range: TextRange, read: &mut ReadEnd) -> Read<()> {
        let Role::Signal(signal) = port.role else { return Ok(()) };
        let SignalSource::Group(key) = signal.source else {
            return Ok(());
        };
        let Some(thing) = self.thing_of(read).filter(|thing| !thing.has(key)) else {
            return Ok(());
        };
        if thing.damaged {
            read.sound = false;
            return Ok(());
        }
        let name = thing.name.of(self.text);
        Err(Box::new(
            Problem::new(
                ProblemId::PortUnknown,
                range,
                format!("the {} `{name}` has no {} signal", kind.word(), port.word),
            )
            .help(format!(
                "if it has that signal, add `{} {{ … }}` with the signal's span to it",
                key.word()
            )),
        ))
    }

    pub(super) fn numbers(
        &self,
        port: &'static Port,
        word: TextRange,
        reader: &mut Reader<'_>,
        read: &mut ReadEnd,
    ) -> Read<()> {
        read.end.port = Some(port);
        read.end.detail = word;
        match port.numbering {
            Numbering::None => {}
            Numbering::Connectors => {
                if reader.peek().is_some_and(|token| token.kind == TokenKind::Number) {
                    let number = reader.count(
                        HIGHEST_COUNT,
                        Context::of(port.word),
                        Wanted::Shape(Shape::Count(HIGHEST_COUNT)),
                    )?;
                    read.end.numbers = (number, number);
                    read.end.detail = word.cover(reader.last());
                }
            }
            Numbering::Named(key) => {
                let again = reader.again();
                if let Some(id) = read.end.thing {
                    reader.candidate(Candidate::NameOf(id, key));
                }
                let Some((name, range)) = reader.word() else {
                    return Err(Box::new(Problem::new(
                        VALUE,
                        word,
                        format!("`{}` expects a name after it", port.word),
                    )));
                };
                read.end.detail = word.cover(range);
                reader.annotate(Meaning::Named {
                    thing: read.end.thing,
                    key,
                    declares: false,
                    is_nested: false,
                });
                let thing = self.thing_of(read);
                let known: Vec<_> = thing
                    .map(|thing| thing.named(key).map(|(name, ..)| name).collect())
                    .unwrap_or_default();
                match (1..).zip(&known).find(|(_, own)| **own == name) {
                    Some((number, _)) => read.end.numbers = (number, number),
                    None if thing.is_some_and(|thing| thing.damaged) => read.sound = false,
                    None => {
                        if let Some(again) = again {
                            return Err(again);
                        }
                        let problem = Problem::new(
                            ProblemId::NameUnknown,
                            range,
                            match read.end.thing {
                                Some(id) => format!("`{}` has no {} named `{name}`", self.office.name(id), port.word),
                                None => format!("there is no {} named `{name}`", port.word),
                            },
                        );
                        return Err(Box::new(match nearest(name, known.iter().copied()) {
                            Some(near) => problem.meant(near),
                            None if known.is_empty() => problem.help(format!(
                                "declare it as `{} {name} {{ … }}` in the thing's block",
                                key.word()
                            )),
                            None => problem.help(format!("known are {}", list(&known))),
                        }));
                    }
                }
            }
            Numbering::Count(_) | Numbering::Range(_) => {
                reader.candidate(Candidate::PortNumber(port));
                let may_lack = port.bare != Bare::Never;
                if may_lack && reader.peek().is_none_or(|token| token.kind != TokenKind::Number) {
                    read.end.numbers = (1, 1);
                    return Ok(());
                }
                reader.annotate_numbers(read.end.thing, port);
                read.end.numbers = reader.numbers(
                    HIGHEST_COUNT,
                    port.has_letters(),
                    Context::of(port.word),
                    Wanted::Shape(Shape::Count(HIGHEST_COUNT)),
                )?;
                read.end.detail = word.cover(reader.last());
            }
        }
        Ok(())
    }

    /// Reads the colours that may follow a pair's number to help find it in the binder.
    fn colours(&self, reader: &mut Reader<'_>, read: &mut ReadEnd) -> Read<()> {
        reader.candidate(Candidate::Colours);
        let Some(token) = reader.peek().filter(|token| token.kind.is_word()) else {
            return Ok(());
        };
        let written = token.range.of(self.text);
        if self.is_name(written) {
            return Ok(());
        }
        let has_own = self.thing_of(read).is_some_and(|thing| thing.has(Key::Pair));
        let is_read = parse_colours(written).is_some() || has_own && two_colours(written).is_some();
        if !is_read {
            return Err(Box::new(
                Problem::new(VALUE, token.range, format!("unknown colours `{written}`"))
                    .help("write tip and ring, such as `white-blue`, or leave the colours out"),
            ));
        }
        reader.next();
        if let Some(thing) = read.end.thing {
            let (_, pair) = read.end.numbers;
            reader.annotate(Meaning::Colours { thing, pair });
        }
        read.end.colours = Some(token.range);
        Ok(())
    }

    pub(super) fn nothing_more(&self, reader: &mut Reader<'_>) -> Read<()> {
        reader.candidate(Candidate::Onward);
        let Some(rest) = reader.rest() else { return Ok(()) };
        if let Some(again) = reader.again() {
            return Err(again);
        }
        let after = reader.last();
        if let Some(problem) = self.with_missing(rest, reader) {
            return Err(problem);
        }
        let next = reader
            .peek()
            .filter(|token| token.kind.is_word())
            .filter(|_| self.is_name(reader.peek_text()));
        Err(Box::new(match next {
            Some(next) => Problem::new(
                VALUE,
                next.range,
                format!("an arrow is missing before `{}`", next.range.of(self.text)),
            )
            .fix(Fix::replace(TextRange::empty(after.end), " ->", "Insert `->`")),
            None => match another_statement(self.text, reader) {
                Some(problem) => return Err(problem),
                None => Problem::new(
                    VALUE,
                    rest,
                    format!("unexpected `{}` at the end of this", rest.of(self.text)),
                ),
            },
        }))
    }

    /// A size or length at the end of an end: `with` is missing before it.
    fn with_missing(&self, rest: TextRange, reader: &Reader<'_>) -> Option<Box<Problem>> {
        reader.ahead().any_quantity("", &[], Context::of("")).ok()?;
        let at = TextRange::empty(reader.last().end);
        let problem = Problem::new(
            VALUE,
            rest,
            format!("`with` is missing before `{}`", rest.of(self.text)),
        );
        Some(Box::new(problem.fix(Fix::replace(at, " with", "Insert `with`"))))
    }
}

/// The port that a run end without a port means.
pub(crate) fn bare_port(kind: &'static Kind, medium: Medium, as_target: bool) -> Option<&'static Port> {
    kind.ports_in(medium).find(|port| match port.bare {
        Bare::Always => true,
        Bare::Target => as_target,
        Bare::Source => !as_target,
        Bare::Never => false,
    })
}

impl Shape {
    /// Whether the shape is a block of fields.
    pub(super) fn is_block(self) -> bool {
        matches!(self, Self::Group(_) | Self::Named(_))
    }
}
