//! The grammar of one statement, over its significant tokens. It is generic over the error type: it runs with the empty
//! one first, since nearly every statement is correct, and with the rich one to explain a failure.

use chumsky::extra::Err;
use chumsky::label::LabelError;
use chumsky::prelude::*;

use crate::tree::{
    Accept, Block, End, Field, Medium, PairState, PairStateStatement, Reading, Run, Spare, StatementKind, Thing,
    TokenId, TokenSpan, Use, When,
};
use crate::{Expected, Token, TokenKind};

pub(crate) type Input<'t> = &'t [Token];

/// Requirements on the error type; both `EmptyErr` and `Rich` satisfy them.
pub(crate) trait ParseError<'t>:
    chumsky::error::Error<'t, Input<'t>> + LabelError<'t, Input<'t>, &'static str> + 't
{
}

impl<'t, E> ParseError<'t> for E where
    E: chumsky::error::Error<'t, Input<'t>> + LabelError<'t, Input<'t>, &'static str> + 't
{
}

fn token<'t, E: ParseError<'t>>(
    kind: TokenKind,
    label: &'static str,
) -> impl Parser<'t, Input<'t>, TokenId, Err<E>> + Clone {
    any()
        .filter(move |token: &Token| token.kind == kind)
        .map_with(|_, extra| start(extra.span()))
        .labelled(label)
}

fn word<'t, E: ParseError<'t>>(label: &'static str) -> impl Parser<'t, Input<'t>, TokenId, Err<E>> + Clone {
    any()
        .filter(|token: &Token| token.kind.is_word())
        .map_with(|_, extra| start(extra.span()))
        .labelled(label)
}

/// One or more words, numbers, texts and dates.
fn items<'t, E: ParseError<'t>>(label: &'static str) -> impl Parser<'t, Input<'t>, TokenSpan, Err<E>> + Clone {
    any()
        .filter(|token: &Token| is_item(token.kind))
        .repeated()
        .at_least(1)
        .map_with(|(), extra| span(extra.span()))
        .labelled(label)
}

fn is_item(kind: TokenKind) -> bool {
    match kind {
        TokenKind::Number | TokenKind::Date | TokenKind::Text | TokenKind::OpenText | TokenKind::DotDot => true,
        // `with` ends the list of ends of a run, `then` the sizes of a piece, and `expect` the events.
        TokenKind::With | TokenKind::Then | TokenKind::Expect => false,
        other => other.is_word(),
    }
}

fn start(span: SimpleSpan) -> TokenId {
    TokenId::new(span.start)
}

fn span(span: SimpleSpan) -> TokenSpan {
    TokenSpan::new(span.start, span.end)
}

/// Everything up to the next comma, line end or closing brace of this block, including nested blocks.
fn unreadable<'t, E: ParseError<'t>>() -> impl Parser<'t, Input<'t>, TokenSpan, Err<E>> + Clone {
    let nested = recursive(|nested| {
        let inside = any()
            .filter(|token: &Token| !matches!(token.kind, TokenKind::OpenBrace | TokenKind::CloseBrace))
            .ignored();
        inside.or(nested).repeated().delimited_by(
            token(TokenKind::OpenBrace, Expected::OpenBrace.label()),
            token(TokenKind::CloseBrace, "`}`"),
        )
    });
    let flat = any()
        .filter(|token: &Token| {
            !matches!(
                token.kind,
                TokenKind::OpenBrace | TokenKind::CloseBrace | TokenKind::Comma | TokenKind::Newline
            )
        })
        .ignored();
    flat.or(nested)
        .repeated()
        .at_least(1)
        .map_with(|(), extra| span(extra.span()))
}

fn block<'t, E: ParseError<'t>>() -> impl Parser<'t, Input<'t>, Block, Err<E>> + Clone {
    recursive(|block| {
        let separator = any()
            .filter(|token: &Token| matches!(token.kind, TokenKind::Comma | TokenKind::Newline))
            .labelled("`,`")
            .repeated();
        let field_items = any()
            .filter(|token: &Token| {
                is_item(token.kind) || matches!(token.kind, TokenKind::With | TokenKind::Then | TokenKind::Expect)
            })
            .labelled("a value")
            .repeated()
            .map_with(|(), extra| span(extra.span()));
        // A field ends at a comma, a line end or the block's brace; anything else after it damages only that field.
        let ends_here = any()
            .filter(|token: &Token| {
                matches!(
                    token.kind,
                    TokenKind::Comma | TokenKind::Newline | TokenKind::CloseBrace
                )
            })
            .labelled("`,`")
            .rewind();
        let field = word("a field")
            .then(field_items)
            .then(block.or_not())
            .then_ignore(ends_here)
            .map(|((name, items), block)| Field {
                name,
                items,
                block,
                damaged: false,
            })
            .recover_with(via_parser(unreadable().map(|items| {
                let (name, items) = items.split_first();
                Field {
                    name,
                    items,
                    block: None,
                    damaged: true,
                }
            })));
        token(TokenKind::OpenBrace, Expected::OpenBrace.label())
            .then_ignore(separator)
            .then(field.then_ignore(separator).repeated().collect())
            .then(token(TokenKind::CloseBrace, "`}`"))
            .map(|((open, fields), close)| Block { open, close, fields })
            .boxed()
    })
}

fn thing<'t, E: ParseError<'t>>() -> impl Parser<'t, Input<'t>, Thing, Err<E>> + Clone {
    let part = token(TokenKind::Colon, Expected::Colon.label()).ignore_then(word(Expected::PartName.label()));
    let head = any()
        .filter(|token: &Token| token.kind == TokenKind::Word)
        .map_with(|_, extra| start(extra.span()))
        .labelled(Expected::ThingKind.label())
        .then(word(Expected::ThingName.label()))
        .then(part.or_not())
        // Only a block may follow the head.
        .then_ignore(
            end().or(token(TokenKind::OpenBrace, Expected::OpenBrace.label())
                .ignored()
                .rewind()),
        )
        .map(|((kind, name), part)| Thing {
            kind: Some(kind),
            name: Some(name),
            part,
            block: None,
        })
        .recover_with(via_parser(damaged_head()));
    head.then(block().or_not())
        .map(|(thing, block)| Thing { block, ..thing })
}

/// Head of a thing with missing or surplus words: recovers its first words.
fn damaged_head<'t, E: ParseError<'t>>() -> impl Parser<'t, Input<'t>, Thing, Err<E>> + Clone {
    any()
        .filter(|token: &Token| token.kind == TokenKind::Word)
        .map_with(|_, extra| start(extra.span()))
        .then(word(Expected::ThingName.label()).or_not())
        .then_ignore(
            any()
                .filter(|token: &Token| token.kind != TokenKind::OpenBrace)
                .repeated(),
        )
        .map(|(kind, name)| Thing {
            kind: Some(kind),
            name,
            part: None,
            block: None,
        })
}

fn run<'t, E: ParseError<'t>>() -> impl Parser<'t, Input<'t>, Run, Err<E>> + Clone {
    let medium = select! {
        Token { kind: TokenKind::Air, .. } => Medium::Air,
        Token { kind: TokenKind::Wire, .. } => Medium::Wire,
        Token { kind: TokenKind::Power, .. } => Medium::Power,
        Token { kind: TokenKind::Ground, .. } => Medium::Ground,
    }
    .labelled("a medium");
    let stop = any()
        .filter(|token: &Token| matches!(token.kind, TokenKind::Arrow | TokenKind::With))
        .labelled("`->`")
        .ignored()
        .or(end())
        .rewind();
    let run_end = items("the end of a run")
        .then_ignore(stop)
        .map(|items| End { items, damaged: false })
        .recover_with(via_parser(
            any()
                .filter(|token: &Token| !matches!(token.kind, TokenKind::Arrow | TokenKind::With))
                .repeated()
                .map_with(|(), extra| End {
                    items: span(extra.span()),
                    damaged: true,
                }),
        ));
    let arrow = token(TokenKind::Arrow, "`->`");
    let sizes = items("a size or a length")
        .separated_by(token(TokenKind::Comma, "`,`"))
        .at_least(1)
        .collect::<Vec<TokenSpan>>()
        .boxed();
    let with = token(TokenKind::With, "`with`").ignore_then(sizes.clone());
    let then = token(TokenKind::Then, "`then`").ignore_then(sizes);
    medium
        // One end is too few, but which arrow is missing depends on names, which the grammar does not know.
        .then(run_end.separated_by(arrow).at_least(1).collect())
        .then(with.then(then.repeated().collect()).or_not())
        .then_ignore(end())
        .map(|((medium, ends), stated)| {
            let (with, then) = stated.unwrap_or_default();
            Run {
                medium,
                ends,
                with,
                then,
            }
        })
}

/// Parser of a statement. Word indices are relative to the statement's first token.
pub(crate) fn statement<'t, E: ParseError<'t>>() -> impl Parser<'t, Input<'t>, StatementKind, Err<E>> {
    let use_ = token(TokenKind::Use, "`use`")
        .ignore_then(word(Expected::PartsFile.label()))
        .then_ignore(end())
        .map(|path| StatementKind::Use(Use { path: Some(path) }));
    let part = token(TokenKind::Part, "`part`")
        .ignore_then(thing())
        .map(StatementKind::Part);
    let spare = token(TokenKind::Spare, "`spare`")
        .ignore_then(items("what is spare"))
        .then_ignore(end())
        .map(|items| StatementKind::Spare(Spare { items }));
    let state = select! {
        Token { kind: TokenKind::Assigned, .. } => PairState::Assigned,
        Token { kind: TokenKind::Defective, .. } => PairState::Defective,
        Token { kind: TokenKind::Bunched, .. } => PairState::Bunched,
        Token { kind: TokenKind::Tapped, .. } => PairState::Tapped,
    }
    .labelled("`assigned`");
    let stated = state
        .then(items("the pairs that are meant"))
        .then_ignore(end())
        .map(|(state, items)| StatementKind::Pairs(PairStateStatement { state, items }));
    let accept = token(TokenKind::Accept, "`accept`")
        .ignore_then(word(Expected::RuleName.label()))
        .then_ignore(token(TokenKind::On, Expected::On.label()))
        .then(word(Expected::AcceptedThing.label()))
        .then_ignore(token(TokenKind::Because, Expected::Because.label()))
        .then(
            // An unterminated text is reported separately.
            any()
                .filter(|token: &Token| matches!(token.kind, TokenKind::Text | TokenKind::OpenText))
                .map_with(|_, extra| start(extra.span()))
                .labelled(Expected::Reason.label()),
        )
        .then_ignore(token(TokenKind::Until, Expected::Until.label()))
        .then(token(TokenKind::Date, Expected::Date.label()))
        .then_ignore(end())
        .map(|(((rule, on), because), until)| {
            StatementKind::Accept(Accept {
                rule,
                on,
                because,
                until,
            })
        });
    let reading = token(TokenKind::Reading, "`reading`")
        .ignore_then(token(TokenKind::Date, Expected::Date.label()))
        .then(items("what was read"))
        .then_ignore(end())
        .map(|(date, items)| StatementKind::Reading(Reading { date, items }));
    let clauses = |label| {
        items(label)
            .separated_by(token(TokenKind::Comma, "`,`"))
            .at_least(1)
            .collect::<Vec<TokenSpan>>()
    };
    let when = token(TokenKind::When, "`when`")
        .ignore_then(clauses("an event"))
        .then_ignore(token(TokenKind::Expect, Expected::Expect.label()))
        .then(clauses("a condition"))
        .then_ignore(end())
        .map(|(events, expected)| StatementKind::When(When { events, expected }));
    choice((
        run().map(StatementKind::Run).boxed(),
        thing().map(StatementKind::Thing).boxed(),
        use_.boxed(),
        part.boxed(),
        spare.boxed(),
        stated.boxed(),
        accept.boxed(),
        reading.boxed(),
        when.boxed(),
    ))
}
