//! Helpful messages for statements that the grammar rejects.

use chumsky::error::{Rich, RichPattern, RichReason};
use drysheath_text::TextRange;

use crate::{Expected, Fix, PairState, Problem, ProblemId, Token, TokenKind, WORDS};

const UNREADABLE: ProblemId = ProblemId::StatementUnreadable;

/// Problem of a statement whose first word is missing or wrong; messages about the rest of it would be misleading.
pub(crate) fn first_word(text: &str, slice: &[Token]) -> Option<Problem> {
    let first = slice.first().filter(|token| token.kind == TokenKind::Word)?;
    let written = shown(first.range.of(text));
    let head = slice.iter().take_while(|token| token.kind != TokenKind::OpenBrace);
    let has = |kind| head.clone().any(|token| token.kind == kind);
    if let Some(word) = WORDS
        .iter()
        .find(|word| word.eq_ignore_ascii_case(first.range.of(text)))
    {
        let problem = Problem::new(
            UNREADABLE,
            first.range,
            format!("{written} has capitals, and `{word}` has none"),
        );
        return Some(problem.meant(word));
    }
    if let Some(problem) = kept(text, slice) {
        return Some(problem);
    }
    let is_whole = head.clone().count() == slice.len();
    let names_numbers = is_whole && has(TokenKind::Number) && !has(TokenKind::Colon);
    if names_numbers && has(TokenKind::Text) && !has(TokenKind::On) && !has(TokenKind::Until) {
        let state = if has(TokenKind::Because) {
            PairState::Defective
        } else {
            PairState::Assigned
        };
        return Some(missing_before(first.range, state.word(), &written));
    }
    if has(TokenKind::Because) || has(TokenKind::Until) {
        return Some(missing_before(first.range, "accept", &written));
    }
    if slice.len() == 1 && written.contains('/') {
        return Some(missing_before(first.range, "use", &written));
    }
    if has(TokenKind::Arrow) {
        let message = format!("a run starts with `air`, `wire`, `power` or `ground`, and this one with {written}");
        let problem = Problem::new(UNREADABLE, first.range, message);
        return Some(problem.help("write the medium before the first end of the run"));
    }
    if names_numbers {
        let message = "this is neither a thing nor a run";
        let help = format!("to say what is spare, write `spare` before {written}");
        return Some(Problem::new(UNREADABLE, first.range, message).help(help));
    }
    None
}

/// `reserved tb pair 5 to "fire alarm"`: pairs kept for somebody are `assigned`, free ones `spare`.
fn kept(text: &str, slice: &[Token]) -> Option<Problem> {
    const WORDS: [&str; 7] = [
        "reserved",
        "reserve",
        "allocated",
        "allotted",
        "booked",
        "leased",
        "occupied",
    ];
    let (first, rest) = slice.split_first()?;
    let word = first.range.of(text);
    let is_plain = |token: &Token| !matches!(token.kind, TokenKind::OpenBrace | TokenKind::Colon | TokenKind::Arrow);
    let has_numbers = rest
        .iter()
        .any(|token| token.kind == TokenKind::Number || token.range.of(text) == "rest");
    if !WORDS.contains(&word) || !has_numbers || !rest.iter().all(is_plain) {
        return None;
    }
    let said = rest
        .iter()
        .find(|token| matches!(token.kind, TokenKind::Text | TokenKind::OpenText));
    let what: Vec<&str> = rest
        .iter()
        .take_while(|token| !matches!(token.kind, TokenKind::Text | TokenKind::OpenText))
        .map(|token| token.range.of(text))
        .collect();
    let what = what
        .strip_suffix(&["to"])
        .or(what.strip_suffix(&["for"]))
        .unwrap_or(&what)
        .join(" ");
    let problem = Problem::new(UNREADABLE, first.range, format!("`{word}` starts no statement"));
    Some(match said {
        Some(said) => {
            let better = format!("assigned {what} to {}", said.range.of(text));
            let whole = first.range.cover(said.range);
            problem
                .help(format!("what is kept for somebody is `assigned`: write `{better}`"))
                .fix(Fix::replace(whole, better, "Write it with `assigned`"))
        }
        None => problem.help(format!(
            "say whom it is kept for, as in `assigned {what} to \"fire alarm\"`, or write `spare {what}` if it is free"
        )),
    })
}

/// Problem of a statement whose first word is missing.
fn missing_before(first: TextRange, word: &str, written: &str) -> Problem {
    let fix = Fix::replace(
        TextRange::empty(first.start),
        format!("{word} "),
        format!("Insert `{word}`"),
    );
    Problem::new(UNREADABLE, first, format!("`{word}` is missing before {written}")).fix(fix)
}

/// Converts an error of the grammar to a problem.
pub(crate) fn error(text: &str, slice: &[Token], error: &Rich<'_, Token>) -> Problem {
    let at = error.span().start;
    let found = slice
        .get(at)
        .filter(|token| !token.range.is_empty() && token.kind != TokenKind::Newline);
    let before = at.checked_sub(1).and_then(|before| slice.get(before)).copied();
    let wanted = Wanted::of(error);
    let Some(token) = found.copied() else {
        return nothing_follows(text, slice, at, &wanted);
    };
    if at == 0 && slice.len() > 1 && token.kind != TokenKind::OpenBrace {
        return Problem::new(UNREADABLE, token.range, format!("no statement starts with {}", shown(token.range.of(text)))).help(
            "start with a kind of thing, with `air`, `wire`, `power` or `ground`, or with `use`, `part`, `spare`, `assigned`, `defective`, `bunched`, `tapped`, `accept`, `reading` or `when`",
        );
    }
    let written = shown(token.range.of(text));
    let side_by_side = token.kind == TokenKind::Arrow && before.is_some_and(|before| before.kind == TokenKind::Arrow);
    if side_by_side {
        let message = "one arrow follows another: an end is missing between them, or one of them is too many";
        return Problem::new(UNREADABLE, token.range, message);
    }
    if let Some(problem) = doubled(text, slice, at) {
        return problem;
    }
    if wanted.has(Expected::Date.label())
        && let Some(problem) = short_date(text, slice, at)
    {
        return problem;
    }
    let message = if token.kind == TokenKind::OpenBrace && wanted.has(Expected::ThingName.label()) {
        return Problem::new(
            UNREADABLE,
            before.map_or(token.range, |before| before.range.cover(token.range)),
            "a thing has a kind and a name before its `{`, and one of them is missing",
        )
        .help("write both, such as `monitor m1 {`");
    } else if let (true, Some(name), true) = (
        wanted.has(Expected::ThingName.label()) && token.kind == TokenKind::Colon,
        before,
        at == 2 && slice.first().is_some_and(|first| first.kind == TokenKind::Part),
    ) {
        let name = name.range.of(text);
        return Problem::new(
            UNREADABLE,
            token.range,
            format!("this part has no kind or no name before {written}"),
        )
        .help(format!("write its kind and its name, such as `part office {name} :`"));
    } else if wanted.has(Expected::ThingName.label()) && token.kind == TokenKind::Colon {
        format!("the name of this thing is missing before {written}")
    } else if wanted.has(Expected::OpenBrace.label())
        && wanted.has("the end of the line")
        && token.kind != TokenKind::Arrow
    {
        return Problem::new(
            UNREADABLE,
            token.range,
            format!("{written} is one word too many in the head of this thing"),
        )
        .help("a thing has a kind, a name and perhaps `:` and a part; another statement starts on a line of its own");
    } else if wanted.has("the end of a run") {
        format!("an end of this run is missing before {written}")
    } else if token.kind == TokenKind::Colon
        && before.is_some_and(|before| before.kind.is_word())
        && wanted.has("a value")
    {
        return Problem::new(
            UNREADABLE,
            token.range,
            "`:` is not written between a field and its value",
        )
        .help("delete it")
        .fix(Fix::replace(token.range, "", "Delete `:`"));
    } else if wanted.has("a field") && (is_value(token.kind) || token.kind == TokenKind::OpenBrace) {
        format!("the name of a field is missing before {written}")
    } else if let Some(problem) = comma_before_then(before, token) {
        return problem;
    } else if let Some(problem) = with_missing(text, slice, at).filter(|_| token.kind == TokenKind::Comma) {
        return problem;
    } else {
        let is_list = |first: &&Token| {
            let names_one = matches!(
                first.kind,
                TokenKind::Spare | TokenKind::Assigned | TokenKind::Defective | TokenKind::Bunched | TokenKind::Tapped
            );
            token.kind == TokenKind::Comma && names_one
        };
        if let Some(first) = slice.first().filter(is_list) {
            let word = first.range.of(text);
            return Problem::new(UNREADABLE, token.range, format!("one `{word}` names one range"))
                .help(format!("write another `{word}` for what follows the comma"));
        }
        match wanted.only() {
            Some(only) if only.starts_with('`') && token.kind.is_word() => {
                format!("{only} is missing before {written}")
            }
            _ => format!("{}, found {written}", wanted.sentence()),
        }
    };
    Problem::new(UNREADABLE, token.range, message)
}

/// `6 m, then 10 awg`: a comma before the next piece of a run.
fn comma_before_then(before: Option<Token>, token: Token) -> Option<Problem> {
    let comma = before.filter(|before| token.kind == TokenKind::Then && before.kind == TokenKind::Comma)?;
    let problem = Problem::new(UNREADABLE, comma.range, "a comma is not written before `then`");
    Some(
        problem
            .help("delete the comma before `then`")
            .fix(Fix::replace(comma.range, "", "Delete the comma")),
    )
}

fn nothing_follows(text: &str, slice: &[Token], at: usize, wanted: &Wanted) -> Problem {
    let after = slice
        .get(..at.min(slice.len()))
        .and_then(<[Token]>::last)
        .map_or(TextRange::default(), |token| token.range);
    if wanted.has("the end of a run") {
        let message = format!("an end of this run is missing after {}", shown(after.of(text)));
        return Problem::new(UNREADABLE, after, message);
    }
    let problem = Problem::new(
        UNREADABLE,
        after,
        format!("{} after {}", wanted.sentence(), shown(after.of(text))),
    );
    match wanted.only() {
        Some(only) if only.starts_with('`') => {
            let insert = format!(" {}", only.trim_matches('`'));
            problem.fix(Fix::replace(
                TextRange::empty(after.end),
                insert,
                format!("Insert {only}"),
            ))
        }
        _ => problem,
    }
}

/// Whether the token at `at` repeats the one before it.
pub(crate) fn is_doubled(text: &str, slice: &[Token], at: usize) -> bool {
    let written = |at: usize| {
        slice
            .get(at)
            .map(|token| token.range.of(text))
            .filter(|written| !written.is_empty())
    };
    at.checked_sub(1)
        .is_some_and(|before| written(before).is_some() && written(before) == written(at))
}

/// A repeated token: the one at the error or, if a kind is repeated, the one before the name, where the name is the
/// word too many.
fn doubled(text: &str, slice: &[Token], at: usize) -> Option<Problem> {
    let again = [at, at.wrapping_sub(1)]
        .into_iter()
        .find(|again| is_doubled(text, slice, *again))?;
    let (first, second) = (slice.get(again.checked_sub(1)?)?, slice.get(again)?);
    let written = shown(second.range.of(text));
    let fix = Fix::replace(
        TextRange::new(first.range.end, second.range.end),
        "",
        format!("Delete the second {written}"),
    );
    Some(Problem::new(UNREADABLE, second.range, format!("{written} is written twice")).fix(fix))
}

/// `2026-5-12`: a date that lacks a zero.
fn short_date(text: &str, slice: &[Token], at: usize) -> Option<Problem> {
    let [year, month, day] = slice.get(at..at + 3)? else {
        return None;
    };
    let touches = year.range.end == month.range.start && month.range.end == day.range.start;
    let number = |token: &Token| {
        token
            .range
            .of(text)
            .strip_prefix('-')
            .filter(|number| number.len() <= 2)
    };
    let (month, last) = (number(month).filter(|_| touches)?, day);
    let better = format!("{}-{month:0>2}-{:0>2}", year.range.of(text), number(last)?);
    let range = year.range.cover(last.range);
    let problem = Problem::new(UNREADABLE, range, format!("`{}` is not a whole date", range.of(text)));
    Some(
        problem
            .help(format!("month and day have two digits: write `{better}`"))
            .fix(Fix::replace(range, better.clone(), format!("Write `{better}`"))),
    )
}

/// Problem of a size or length before a comma in a run that has no `with` yet.
fn with_missing(text: &str, slice: &[Token], at: usize) -> Option<Problem> {
    let before = slice.get(..at)?;
    if before.iter().any(|token| token.kind == TokenKind::With) {
        return None;
    }
    let number = before
        .iter()
        .rposition(|token| token.kind == TokenKind::Number)
        .filter(|number| *number > 1)?;
    let (previous, first, last) = (before.get(number - 1)?, before.get(number)?, before.last()?);
    if number + 1 == at {
        return None;
    }
    let range = first.range.cover(last.range);
    Some(
        Problem::new(
            UNREADABLE,
            range,
            format!("`with` is missing before {}", shown(range.of(text))),
        )
        .fix(Fix::replace(
            TextRange::empty(previous.range.end),
            " with",
            "Insert `with`",
        )),
    )
}

fn is_value(kind: TokenKind) -> bool {
    matches!(
        kind,
        TokenKind::Number | TokenKind::Date | TokenKind::Text | TokenKind::OpenText | TokenKind::DotDot
    )
}

/// Labels of what the grammar expected.
struct Wanted(Vec<String>);

impl Wanted {
    fn of(error: &Rich<'_, Token>) -> Self {
        let RichReason::ExpectedFound { expected, .. } = error.reason() else {
            return Self(Vec::new());
        };
        let label = |pattern: &RichPattern<'_, Token>| match pattern {
            RichPattern::Label(label) => Some(label.to_string()),
            RichPattern::EndOfInput => Some("the end of the line".to_owned()),
            _ => None,
        };
        let mut labels: Vec<_> = expected.iter().filter_map(label).collect();
        labels.sort();
        labels.dedup();
        Self(labels)
    }

    fn has(&self, label: &str) -> bool {
        self.0.iter().any(|own| own == label)
    }

    fn only(&self) -> Option<&str> {
        match self.0.as_slice() {
            [only] => Some(only),
            _ => None,
        }
    }

    fn sentence(&self) -> String {
        match self.0.as_slice() {
            [] => "expected nothing more in this statement".to_owned(),
            [only] => format!("expected {only}"),
            [first @ .., last] => format!("expected {} or {last}", first.join(", ")),
        }
    }
}

/// What was written, in backticks and shortened.
pub(crate) fn shown(found: &str) -> String {
    const LONGEST: usize = 40;
    if found.chars().count() > LONGEST {
        format!("`{}…`", found.chars().take(LONGEST).collect::<String>())
    } else {
        format!("`{found}`")
    }
}
