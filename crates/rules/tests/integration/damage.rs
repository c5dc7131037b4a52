//! One mistake gives one result: deleting, doubling or swapping any one token, joining lines, and cutting a file anywhere.
//!
//! The texts are the example office, three more that have what it lacks, and every file of the county. Results that the
//! undamaged text has do not count. `--nocapture` shows the figures.
#![allow(clippy::cast_possible_wrap, clippy::cast_sign_loss, clippy::cast_precision_loss)]

use std::fmt::Write;

use drysheath_fixture::county;
use drysheath_office::{PartsInMemory, lower};
use drysheath_rules::{Finding, Settings, example, lint};
use drysheath_syntax::{StatementKind, Token, TokenKind, Tree, parse};
use drysheath_text::{FileId, TextRange, apply};

/// Every file by its path.
fn files() -> Vec<(String, String)> {
    let own = [
        ("example", example::OFFICE),
        ("more", include_str!("damage/more.office")),
        ("field", include_str!("damage/field.office")),
        ("wiring", include_str!("damage/wiring.office")),
        ("pieces", include_str!("damage/pieces.office")),
    ];
    let own = own.map(|(path, text)| (path.to_owned(), text.to_owned()));
    own.into_iter().chain(county()).collect()
}

fn shelf(files: &[(String, String)]) -> PartsInMemory {
    PartsInMemory::new(
        files
            .iter()
            .map(|(path, text)| (FileId(1), path.as_str(), text.as_str())),
    )
}

/// The settings of the county, which state the minimum pressures of its offices.
fn settings() -> Settings {
    let (settings, problems) = Settings::read(include_str!("../../../../tests/county/drysheath.toml"));
    assert!(problems.is_empty(), "{problems:?}");
    settings
}

/// What is said of a text: what is accepted too, and what is not.
struct Results {
    tree: Tree,
    accepted: Vec<Finding>,
    open: Vec<Finding>,
}

fn results(path: &str, text: &str, library: &PartsInMemory) -> Results {
    let tree = parse(text);
    let office = lower(FileId(0), path, text.into(), &tree, library);
    let findings = lint(&office, &settings(), example::TODAY);
    let (accepted, open) = findings.into_iter().partition(|finding| finding.accepted.is_some());
    Results { tree, accepted, open }
}

/// Takes away what the whole text says too. Where an acceptance may be lost, what it accepted rightly counts again.
fn new_results(damaged: Results, whole: &Results, may_lose_acceptance: bool) -> Vec<Finding> {
    let accepted = whole.accepted.iter().filter(|_| may_lose_acceptance);
    let before = whole.open.iter().chain(accepted);
    let mut known: Vec<_> = before.map(|it| (it.rule.name(), it.message.as_str())).collect();
    let is_new = |it: &Finding| {
        let at = known
            .iter()
            .position(|other| *other == (it.rule.name(), it.message.as_str()));
        at.map(|at| known.swap_remove(at)).is_none()
    };
    damaged.open.into_iter().filter(is_new).collect()
}

/// One damage to a text.
struct Damage {
    /// What was done, in words.
    what: String,
    /// The damaged text.
    text: String,
    /// Where, in the whole text.
    at: TextRange,
    /// How much longer the text has become.
    longer: i64,
}

/// Most cases of one kind in one file of the county; of more, an even sample is tried. Set `DAMAGE_CASES` to
/// try more of them, in release mode.
const MOST_CASES: usize = 120;

fn most_cases() -> usize {
    let set = std::env::var("DAMAGE_CASES").ok();
    set.and_then(|number| number.parse().ok()).unwrap_or(MOST_CASES)
}

/// What a kind of damage came to.
#[derive(Default)]
struct Tally {
    cases: usize,
    /// Cases by their number of results; the last entry stands for all above.
    counts: [usize; 8],
    worst: usize,
    worst_case: String,
    /// Cases with a result elsewhere than in the damaged statement and its neighbours.
    far: Vec<String>,
    /// Fixes that were offered for a case's one result, and those that leave nothing to say.
    fixes: usize,
    mends: usize,
    /// Fixes that leave more to say than there was.
    harms: Vec<String>,
}

impl Tally {
    /// Of the cases that give any result, the part that gives one.
    fn exactly_one(&self) -> f64 {
        self.counts[1] as f64 / (self.cases - self.counts[0]).max(1) as f64
    }

    fn print(&self, name: &str) {
        println!(
            "{name}: {} cases, {} say nothing, {:.2} % of the others give exactly one result; by number {:?}; {} with one far away",
            self.cases,
            self.counts[0],
            100.0 * self.exactly_one(),
            self.counts,
            self.far.len(),
        );
        println!("  worst: {} at {}", self.worst, self.worst_case);
        println!("  {} fixes, of which {} leave nothing to say", self.fixes, self.mends);
    }

    fn add(&mut self, path: &str, whole: &Results, damage: &Damage, library: &PartsInMemory) {
        let is_cut = damage.what == CUT;
        let touches = |range: TextRange| range.start <= damage.at.end && damage.at.start <= range.end;
        let mut statements = whole.tree.statements.iter();
        let touches_acceptance = statements.any(|it| matches!(it.kind, StatementKind::Accept(_)) && touches(it.range));
        let may_lose_acceptance = is_cut || touches_acceptance;
        let new = new_results(results(path, &damage.text, library), whole, may_lose_acceptance);
        let case = || {
            let mut shown = format!("{path}, byte {}, {}", damage.at.start, damage.what);
            for it in &new {
                let written = it.place.range.of(&damage.text);
                write!(shown, "\n    {} `{written}`: {}", it.rule.name(), it.message).unwrap();
            }
            shown
        };
        self.cases += 1;
        self.counts[new.len().min(self.counts.len() - 1)] += 1;
        if new.len() > self.worst {
            self.worst = new.len();
            self.worst_case = case();
        }
        let near = neighbourhood(&whole.tree, damage);
        let is_far = |it: &Finding| it.place.range.end < near.start || it.place.range.start > near.end;
        if new.iter().any(is_far) {
            self.far.push(case());
        }
        if let [Finding { fix: Some(fix), .. }] = new.as_slice()
            && !is_cut
        {
            let mended = apply(&damage.text, &fix.edits).unwrap();
            let left = new_results(results(path, &mended, library), whole, may_lose_acceptance);
            self.fixes += 1;
            self.mends += usize::from(left.is_empty());
            if left.len() > 1 {
                self.harms.push(format!("{}\n{left:?}", case()));
            }
        }
    }
}

/// The bytes, in the damaged text, of the damaged statement and its two neighbours.
fn neighbourhood(tree: &Tree, damage: &Damage) -> TextRange {
    let statements = &tree.statements;
    let at = statements.partition_point(|statement| statement.range.end < damage.at.start);
    let last = statements.partition_point(|statement| statement.range.start <= damage.at.end);
    let start = at.checked_sub(1).map_or(0, |at| statements[at].range.start);
    let end = statements.get(last).map_or(u32::MAX, |statement| statement.range.end);
    TextRange::new(start, (i64::from(end) + damage.longer).clamp(0, u32::MAX.into()) as u32)
}

fn tally(damages: impl Fn(&str, &Tree) -> Vec<Damage>) -> Tally {
    tally_of(damages, |_| true)
}

/// The tally of the sampled cases that are wanted.
fn tally_of(damages: impl Fn(&str, &Tree) -> Vec<Damage>, is_wanted: impl Fn(&Damage) -> bool) -> Tally {
    let files = files();
    let shelf = shelf(&files);
    let mut tally = Tally::default();
    for (path, text) in &files {
        let whole = results(path, text, &shelf);
        let damages = damages(text, &whole.tree);
        let is_ours = !path.starts_with("offices/") && !path.starts_with("parts/");
        let step = if is_ours {
            1
        } else {
            damages.len().div_ceil(most_cases()).max(1)
        };
        for damage in damages.into_iter().step_by(step).filter(&is_wanted) {
            tally.add(path, &whole, &damage, &shelf);
        }
    }
    tally
}

fn meaningful(tree: &Tree) -> Vec<Token> {
    let tokens = tree.tokens.iter().copied();
    tokens
        .filter(|token| !token.kind.is_trivia() && token.kind != TokenKind::Newline)
        .collect()
}

fn shown(text: &str, range: TextRange) -> String {
    let start = text[..range.start as usize].rfind('\n').map_or(0, |at| at + 1);
    let end = text[range.end as usize..]
        .find('\n')
        .map_or(text.len(), |at| at + range.end as usize);
    format!("`{}` in `{}`", range.of(text), &text[start..end])
}

fn deletions(text: &str, tree: &Tree) -> Vec<Damage> {
    let deletion = |token: Token| Damage {
        what: format!("without {}", shown(text, token.range)),
        text: [&text[..token.range.start as usize], &text[token.range.end as usize..]].concat(),
        at: token.range,
        longer: -i64::from(token.range.len()),
    };
    meaningful(tree).into_iter().map(deletion).collect()
}

fn doublings(text: &str, tree: &Tree) -> Vec<Damage> {
    let doubling = |token: Token| {
        let (before, after) = text.split_at(token.range.end as usize);
        Damage {
            what: format!("twice {}", shown(text, token.range)),
            text: format!("{before} {}{after}", token.range.of(text)),
            at: token.range,
            longer: i64::from(token.range.len()) + 1,
        }
    };
    meaningful(tree).into_iter().map(doubling).collect()
}

fn swaps(text: &str, tree: &Tree) -> Vec<Damage> {
    let swap = |pair: &[Token]| {
        let [one, other] = pair else { panic!("windows of two") };
        let (one, other) = (one.range, other.range);
        let between = TextRange::new(one.end, other.start).of(text);
        let (before, after) = (&text[..one.start as usize], &text[other.end as usize..]);
        Damage {
            what: format!("swapped {} with `{}`", shown(text, one), other.of(text)),
            text: format!("{before}{}{between}{}{after}", other.of(text), one.of(text)),
            at: one.cover(other),
            longer: 0,
        }
    };
    meaningful(tree).windows(2).map(swap).collect()
}

fn joined_lines(text: &str, tree: &Tree) -> Vec<Damage> {
    let joined = |token: &Token| Damage {
        what: format!(
            "the line end taken away after {}",
            shown(text, TextRange::empty(token.range.start))
        ),
        text: [
            &text[..token.range.start as usize],
            " ",
            &text[token.range.end as usize..],
        ]
        .concat(),
        at: token.range,
        longer: 1 - i64::from(token.range.len()),
    };
    // A line end after a comment would make a comment of the next line.
    let ends = tree.tokens.windows(2).filter_map(|pair| match pair {
        [before, end] if end.kind == TokenKind::Newline && before.kind != TokenKind::Comment => Some(end),
        _ => None,
    });
    ends.map(joined).collect()
}

/// What is done to a text that ends too soon.
const CUT: &str = "cut";

/// The text cut before and within each token, or before every character where all cases are wanted.
fn cuts(text: &str, tree: &Tree) -> Vec<Damage> {
    let cut = |at: usize| Damage {
        what: CUT.to_owned(),
        text: text[..at].to_owned(),
        at: TextRange::new(at as u32, text.len() as u32),
        longer: at as i64 - text.len() as i64,
    };
    let mut places: Vec<usize> = if most_cases() > MOST_CASES {
        (0..text.len()).filter(|at| text.is_char_boundary(*at)).collect()
    } else {
        let around = |token: &Token| [token.range.start, token.range.start.midpoint(token.range.end)];
        let around = tree.tokens.iter().flat_map(around);
        around.map(|at| text.floor_char_boundary(at as usize)).collect()
    };
    places.dedup();
    places.into_iter().map(cut).collect()
}

#[test]
fn a_missing_token_is_one_result() {
    let tally = tally(deletions);
    tally.print("deleting a token");
    assert!(tally.exactly_one() >= 0.99, "{}", tally.exactly_one());
    assert!(tally.worst <= 3, "{}", tally.worst_case);
    assert!(tally.far.is_empty(), "{}", tally.far.join("\n"));
    assert!(tally.harms.is_empty(), "{}", tally.harms.join("\n"));
}

#[test]
fn a_doubled_token_is_one_result() {
    let tally = tally(doublings);
    tally.print("doubling a token");
    assert!(tally.exactly_one() >= 0.99, "{}", tally.exactly_one());
    assert!(tally.worst <= 3, "{}", tally.worst_case);
    assert!(tally.far.is_empty(), "{}", tally.far.join("\n"));
    assert!(tally.harms.is_empty(), "{}", tally.harms.join("\n"));
}

#[test]
fn swapped_tokens_are_at_most_a_few_results() {
    let tally = tally(swaps);
    tally.print("swapping neighbours");
    assert!(tally.worst <= 3, "{}", tally.worst_case);
}

#[test]
fn joined_lines_are_one_result() {
    let tally = tally(joined_lines);
    tally.print("joining two lines");
    assert!(tally.exactly_one() >= 0.95, "{}", tally.exactly_one());
    assert!(tally.worst <= 3, "{}", tally.worst_case);
    assert!(tally.far.is_empty(), "{}", tally.far.join("\n"));
}

#[test]
fn a_file_may_end_anywhere() {
    // A text that ends between two statements is a whole office, only a smaller one: what it lacks is rightly missed.
    let is_cut = |damage: &Damage| parse(&damage.text).cut;
    let inside = tally_of(cuts, is_cut);
    inside.print("ending inside a statement");
    assert!(inside.worst <= 2, "{}", inside.worst_case);
    assert!(inside.far.is_empty(), "{}", inside.far.join("\n"));
    let between = tally_of(cuts, |damage| !is_cut(damage));
    between.print("ending after one");
}
