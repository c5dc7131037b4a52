//! Reads runs, and then statements on spare, assigned or defective numbers, acceptances and readings.

use drysheath_engineering::index::IndexVec;
use drysheath_syntax::{self as syntax, Fix, Medium, StatementKind, TokenKind, TokenSpan, Tree};
use drysheath_text::TextRange;

use super::Lowering;
use super::ends::{EndReader, Position, ReadEnd};
use crate::kinds::{KindId, Port, Role};
use crate::model::{Adapter, Attributes, End, Run, SpareRange, StatedRange};
use crate::problem::{Problem, ProblemId};

impl Lowering<'_> {
    pub(super) fn runs(&mut self) {
        let mut runs = IndexVec::new();
        let mut problems = Vec::new();
        let mut swallowed = false;
        let reader = self.end_reader();
        for statement in &self.tree.statements {
            let StatementKind::Run(written) = &statement.kind else {
                continue;
            };
            let mut sound = !statement.damaged;
            // One mistake in a run gives one problem: further ones may be consequences.
            let mut reported = statement.damaged;
            let mut read = read_ends(&reader, self.tree, written.medium, written.ends.iter());
            let mut is_turned = false;
            if !statement.damaged
                && let Some(turned) = self.turned(&reader, written, &read)
            {
                // Use the meant order, so that no other result follows from its arrows.
                (is_turned, reported) = (true, true);
                read = turned;
            }
            let mut ends = Vec::with_capacity(read.len());
            for read in read {
                sound &= read.sound;
                if let Some(problem) = read.problem.filter(|_| !reported) {
                    reported = true;
                    problems.push(*problem);
                }
                ends.push(read.end);
            }
            if sound && let Some(problem) = self.half_mated(&ends) {
                sound = false;
                if !reported {
                    reported = true;
                    problems.push(problem);
                }
            }
            let mut of_with = Vec::new();
            let mut adapters = Vec::new();
            let (tree, medium) = (self.tree, written.medium);
            let mut with = reader.attributes(tree, medium, &written.with, &mut adapters, &mut of_with);
            let mut then = reader.further_pieces(tree, written, &mut adapters, &mut of_with);
            if is_turned {
                problems.push(self.backwards(written, &with, &then));
                turn(&mut with, &mut then);
            }
            if let Some(reducer) = with.reducer.take() {
                with.damaged = true;
                of_with.push(reducer_alone(reducer));
            }
            for adapter in &adapters {
                if let Some(problem) = self.away(adapter, &ends).filter(|_| sound) {
                    with.damaged = true;
                    of_with.push(problem);
                }
            }
            with.damaged |= written.ends.len() > 2 && !then.is_empty();
            if !reported {
                problems.append(&mut of_with);
            }
            let is_unread = with.damaged || then.iter().any(|piece| piece.damaged);
            swallowed |= (!sound || is_unread) && self.swallows(statement);
            if ends.len() < 2 {
                sound = false;
                if !reported {
                    problems.push(one_end(&ends, statement.range));
                }
            }
            runs.push(Run {
                medium: written.medium,
                ends,
                with,
                then,
                adapters,
                range: statement.range,
                damaged: !sound,
            });
        }
        for run in runs.iter().filter(|run| run.damaged) {
            self.office.unsure.runs.insert(run.medium);
        }
        if swallowed {
            self.office.unsure.doubt_everything();
        }
        self.office.runs = runs;
        self.office.problems.extend(problems);
    }

    /// The ends of a run in reverse order, if the run is written backwards: the ends cannot be read in their order, or
    /// lead against the arrow.
    fn turned(&self, reader: &EndReader<'_>, run: &syntax::Run, read: &[ReadEnd]) -> Option<Vec<ReadEnd>> {
        let is_read = |read: &[ReadEnd]| read.iter().all(|end| end.sound && end.problem.is_none());
        let is_doubtful = if is_read(read) {
            self.leads_back(run.medium, read)
        } else {
            read.iter().any(|end| end.problem.is_some())
        };
        if !is_doubtful || read.len() < 2 {
            return None;
        }
        let turned = read_ends(reader, self.tree, run.medium, run.ends.iter().rev());
        (is_read(&turned) && !self.leads_back(run.medium, &turned)).then_some(turned)
    }

    /// Whether nothing can pass from the first to the last end of a run.
    fn leads_back(&self, medium: Medium, ends: &[ReadEnd]) -> bool {
        let outer = ends.first().zip(ends.last());
        let Some((first, last)) = outer.map(|(first, last)| (&first.end, &last.end)) else {
            return false;
        };
        let Some((from, to)) = first.port.zip(last.port).map(|(from, to)| (from.role, to.role)) else {
            return false;
        };
        // Air passes these in both directions.
        let has_one_way = |end: &End| {
            let kind = end.thing.and_then(|id| self.office.thing(id).kind);
            kind.is_some_and(|kind| {
                !matches!(
                    kind.id,
                    KindId::Cable | KindId::AirPipe | KindId::Valve | KindId::Manifold | KindId::Tank
                )
            })
        };
        match medium {
            Medium::Air => from == Role::Inlet && to == Role::Outlet && (has_one_way(first) || has_one_way(last)),
            Medium::Power => matches!(from, Role::Load | Role::PanelInput) && matches!(to, Role::Battery | Role::Fuse),
            Medium::Ground => from == Role::Bar && matches!(to, Role::Frame | Role::Return),
            Medium::Wire => from.ends_circuit() && !to.ends_circuit() || to.begins_circuit() && !from.begins_circuit(),
        }
    }

    /// The problem of an adapter at a thing that the run does not lead to.
    fn away(&self, adapter: &Adapter, ends: &[End]) -> Option<Problem> {
        let at = adapter.at?;
        if ends.iter().any(|end| end.thing == Some(at)) {
            return None;
        }
        let name = self.office.name(at);
        let message = format!("this run does not lead to `{name}`, where its adapter is said to be");
        let ends: Vec<String> = ends
            .iter()
            .filter_map(|end| Some(format!("`{}`", self.office.name(end.thing?))))
            .collect();
        let help = format!("its ends are {}", ends.join(", "));
        Some(Problem::new(ProblemId::ValueUnreadable, adapter.range, message).help(help))
    }

    /// The problem of a connector that is joined to something other than a connector.
    fn half_mated(&self, ends: &[End]) -> Option<Problem> {
        let is_connector = |end: &&End| end.port.is_some_and(|port| port.role == Role::Connector);
        let connector = ends.iter().find(is_connector)?;
        // A single end is another mistake.
        if ends.len() < 2 || ends.len() == 2 && ends.iter().filter(is_connector).count() == 2 {
            return None;
        }
        let name = connector.range.of(self.text);
        let message = format!("`{name}` is a connector with all its pairs, and mates with one other connector");
        let problem = Problem::new(ProblemId::PortUnknown, connector.range, message);
        Some(problem.help(format!("say which pair is meant, such as `{name} pair 1`")))
    }

    fn backwards(&self, run: &syntax::Run, with: &Attributes, then: &[Attributes]) -> Problem {
        let written: Vec<TextRange> = run.ends.iter().map(|end| self.tree.items_range(end.items)).collect();
        let first = written.first().copied().unwrap_or_default();
        let range = first.cover(written.last().copied().unwrap_or_default());
        let along = match run.medium {
            Medium::Air => "air flows along the arrows, from the dryer to the cable",
            Medium::Power => "power runs along the arrows, from the battery to the load",
            Medium::Ground => "a ground run is written from the frame to the bar",
            Medium::Wire => {
                "a signal goes from its device to an input, and a control from an output to what it switches"
            }
        };
        let problem = Problem::new(ProblemId::RunBackwards, range, "this run is written backwards").help(along);
        let ends: Vec<&str> = written.iter().rev().map(|end| end.of(self.text)).collect();
        let mut reversed = ends.join(" -> ");
        let mut whole = range;
        let last = run.then.last().and_then(|piece| piece.last());
        if let Some(last) = last {
            let pieces = self.pieces_turned(run, with, then);
            reversed = format!("{reversed} with {}", pieces.join(" then "));
            whole = range.cover(self.tree.items_range(*last));
        }
        // No fix where a comment would be lost or unreadable text cannot be moved. A fuse in the last piece is not
        // understood there, but is in its right place once the run is reversed.
        let before_last = then.split_last().map_or(&[][..], |(_, before)| before);
        let is_unread = last.is_some() && std::iter::once(with).chain(before_last).any(|piece| piece.damaged);
        if is_unread || whole.of(self.text).contains('#') {
            return problem;
        }
        problem.fix(Fix::replace(whole, reversed, "Reverse the run"))
    }

    /// The pieces of a run in reverse order, as text. A reducer stays between the pieces that it joins, and the fuse
    /// moves before the first `then`.
    fn pieces_turned(&self, run: &syntax::Run, with: &Attributes, then: &[Attributes]) -> Vec<String> {
        let read = || std::iter::once(with).chain(then);
        let is_within = |range: Option<TextRange>, item: TextRange| range.is_some_and(|range| item.contains(range));
        let is_fuse = |item: TextRange| read().any(|piece| is_within(piece.fuse.map(|fuse| fuse.range), item));
        let is_reducer = |item: TextRange| read().any(|piece| is_within(piece.reducer, item));
        let items = |piece: &[TokenSpan]| -> Vec<TextRange> {
            piece.iter().map(|items| self.tree.items_range(*items)).collect()
        };
        let all: Vec<TextRange> = run.pieces().flat_map(items).collect();
        let mut has_reducer = false;
        let mut turned = Vec::with_capacity(run.then.len() + 1);
        for piece in run.then.iter().rev().map(|piece| &**piece).chain([&*run.with]) {
            let items = items(piece);
            let reducer = has_reducer.then_some("reducer");
            has_reducer = items.iter().any(|item| is_reducer(*item));
            let fuse = all.iter().filter(|item| turned.is_empty() && is_fuse(**item));
            let own = items.iter().filter(|item| !is_fuse(**item) && !is_reducer(**item));
            let words = fuse.chain(own).map(|item| item.of(self.text));
            turned.push(reducer.into_iter().chain(words).collect::<Vec<_>>().join(", "));
        }
        turned
    }

    /// Reads spare, assigned and defective numbers, acceptances and readings.
    pub(super) fn rest(&mut self) {
        let mut problems = Vec::new();
        let mut spares = Vec::new();
        let mut stated = Vec::new();
        let mut readings = Vec::new();
        let mut whens = Vec::new();
        let mut unread_whens = Vec::new();
        let mut lost = Vec::new();
        let mut swallowed = false;
        for statement in &self.tree.statements {
            match &statement.kind {
                // Reported as misplaced in a drawing.
                StatementKind::Accept(_) | StatementKind::Reading(_) | StatementKind::When(_)
                    if self.office.drawing.is_some() => {}
                StatementKind::Spare(written) => {
                    let (read, is_rest) = self.end_reader().spare(self.tree, written);
                    if statement.damaged || !read.sound {
                        lost.push((statement.items, read.end.port));
                    }
                    swallowed |= !read.sound && self.swallows(statement);
                    problems.extend(read.problem.filter(|_| !statement.damaged).map(|problem| *problem));
                    if read.sound {
                        spares.push(SpareRange {
                            end: read.end,
                            is_rest,
                            range: statement.range,
                            is_field: false,
                        });
                    }
                }
                StatementKind::Pairs(written) => {
                    let (read, text) = self.end_reader().stated(self.tree, written);
                    if statement.damaged || !read.sound {
                        lost.push((statement.items, read.end.port));
                    }
                    swallowed |= !read.sound && self.swallows(statement);
                    problems.extend(read.problem.filter(|_| !statement.damaged).map(|problem| *problem));
                    if let Some(text) = text.filter(|_| read.sound) {
                        stated.push(StatedRange {
                            end: read.end,
                            state: written.state,
                            text,
                            range: statement.range,
                        });
                    }
                }
                StatementKind::Accept(written) if !statement.damaged => match self.acceptance(written, statement.range)
                {
                    Ok(acceptance) => self.office.acceptances.push(acceptance),
                    Err(problem) => problems.extend(problem.map(|problem| *problem)),
                },
                StatementKind::Reading(written) if !statement.damaged => match self.reading(written, statement.range) {
                    Ok((reading, outdated)) => {
                        readings.extend(reading);
                        problems.extend(outdated.map(|problem| *problem));
                    }
                    Err(problem) => problems.push(*problem),
                },
                StatementKind::When(written) if statement.damaged => {
                    unread_whens.push(self.unread_when(written, statement.range, true));
                }
                StatementKind::When(written) => {
                    let (when, unread) = self.when(written, statement.range);
                    match when {
                        Some(when) => whens.push(when),
                        None => unread_whens.push(self.unread_when(written, statement.range, !unread.is_empty())),
                    }
                    problems.extend(unread);
                }
                _ => {}
            }
        }
        if swallowed {
            self.office.unsure.doubt_everything();
        }
        for (items, port) in lost {
            self.lost_spare(items, port);
        }
        let said_by_field = std::mem::take(&mut self.said_by_field);
        spares.extend(self.spares_by_field(&said_by_field));
        self.office.spares = spares;
        (self.office.stated, self.office.wired) = stated.into_iter().partition(|stated| stated.state.bars_runs());
        self.office.readings = readings;
        self.office.whens = whens;
        self.office.unread_whens = unread_whens;
        self.office.problems.extend(problems);
    }
}

impl Lowering<'_> {
    /// Marks what may be missing because a statement on spare, assigned or defective numbers could not be read.
    fn lost_spare(&mut self, items: TokenSpan, port: Option<&'static Port>) {
        let unsure = &mut self.office.unsure;
        // With an arrow it may be a run with a wrong first word.
        let is_run = self
            .tree
            .items(items)
            .iter()
            .any(|token| token.kind == TokenKind::Arrow);
        let of = if is_run { &mut unsure.runs } else { &mut unsure.spares };
        match port.filter(|_| !is_run) {
            Some(port) => of.insert(port.medium),
            None => {
                for medium in [Medium::Air, Medium::Wire, Medium::Power] {
                    of.insert(medium);
                }
            }
        }
    }
}

fn read_ends<'e>(
    reader: &EndReader<'_>,
    tree: &Tree,
    medium: Medium,
    ends: impl ExactSizeIterator<Item = &'e syntax::End>,
) -> Vec<ReadEnd> {
    let count = ends.len();
    (0..)
        .zip(ends)
        .map(|(at, end)| reader.end(tree, medium, end, Position::of(at, count)))
        .collect()
}

fn reducer_alone(reducer: TextRange) -> Problem {
    let message = "a reducer joins one piece of tube to the next, and this is the first";
    Problem::new(ProblemId::ValueUnreadable, reducer, message).help("write it after the `then` of the next piece")
}

/// Reverses the pieces of a run that is written backwards. A reducer stays between its pieces, and the fuse goes before
/// all of them.
fn turn(with: &mut Attributes, then: &mut [Attributes]) {
    let fuse = std::iter::once(&mut *with)
        .chain(then.iter_mut())
        .find_map(|piece| piece.fuse.take());
    let mut reducers: Vec<_> = then.iter_mut().map(|piece| piece.reducer.take()).collect();
    reducers.reverse();
    if let [between @ .., last] = then {
        std::mem::swap(with, last);
        between.reverse();
    }
    for (piece, reducer) in then.iter_mut().zip(reducers) {
        piece.reducer = reducer;
    }
    with.fuse = fuse;
}

fn one_end(ends: &[End], run: TextRange) -> Problem {
    let range = ends.first().map_or(run, |end| end.range);
    Problem::new(ProblemId::ValueUnreadable, range, "this run has only one end")
        .help("write `->` and the other end after it")
}
