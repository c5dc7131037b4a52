//! Reads the runs, and after them what is spare, what is accepted and what was read.

use drysheath_engineering::index::IndexVec;
use drysheath_syntax::{self as syntax, Fix, Medium, StatementKind};
use drysheath_text::TextRange;

use super::Lowering;
use super::ends::{EndReader, Position};
use crate::model::{End, Run, SpareRange};
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
            let count = written.ends.len();
            let mut sound = !statement.damaged;
            // One slip in a run makes one result: what follows it may be a consequence.
            let mut reported = statement.damaged;
            let mut first_of_run = None;
            let mut ends = Vec::with_capacity(written.ends.len());
            for (at, end) in written.ends.iter().enumerate() {
                let read = reader.end(self.tree, written.medium, end, Position::of(at, count));
                sound &= read.sound;
                if let Some(problem) = read.problem.filter(|_| !reported) {
                    first_of_run = Some(problems.len());
                    reported = true;
                    problems.push(*problem);
                }
                ends.push(read.end);
            }
            if let Some(first) = first_of_run.take()
                && let Some(backwards) = self.backwards(&reader, written)
            {
                problems.truncate(first);
                problems.push(backwards);
            }
            let mut of_with = Vec::new();
            let with = reader.attributes(self.tree, written.medium, &written.with, &mut of_with);
            if !reported {
                problems.append(&mut of_with);
            }
            swallowed |= (!sound || with.damaged) && self.swallows(statement);
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

    /// A run whose ends cannot be read in the order in which they are written, and can in the opposite one.
    fn backwards(&self, reader: &EndReader<'_>, run: &syntax::Run) -> Option<Problem> {
        let count = run.ends.len();
        let mut reversed = run.ends.iter().rev().enumerate();
        let reads = |(at, end)| {
            let read = reader.end(self.tree, run.medium, end, Position::of(at, count));
            read.sound && read.problem.is_none()
        };
        if count < 2 || !reversed.all(reads) {
            return None;
        }
        let written: Vec<TextRange> = run.ends.iter().map(|end| self.tree.items_range(end.items)).collect();
        let range = written.first()?.cover(*written.last()?);
        let along = match run.medium {
            Medium::Air => "air flows along the arrows, from the dryer to the cable",
            Medium::Power => "power runs along the arrows, from the battery to the load",
            Medium::Ground => "a ground run is written from the frame to the bar",
            Medium::Wire => "a wire run is written from the device to the monitor",
        };
        let problem = Problem::new(ProblemId::PortUnknown, range, "this run is written backwards").help(along);
        // A comment between the ends would be lost.
        if range.of(self.text).contains('#') {
            return Some(problem);
        }
        let ends: Vec<&str> = written.iter().rev().map(|end| end.of(self.text)).collect();
        Some(problem.fix(Fix::replace(range, ends.join(" -> "), "Reverse the run")))
    }

    /// What is spare, what is accepted and what was read.
    pub(super) fn rest(&mut self) {
        let mut problems = Vec::new();
        let mut spares = Vec::new();
        let mut readings = Vec::new();
        let mut lost_spare = false;
        let mut swallowed = false;
        for statement in &self.tree.statements {
            match &statement.kind {
                StatementKind::Spare(written) => {
                    let read = self.end_reader().spare(self.tree, written);
                    lost_spare |= statement.damaged || !read.sound;
                    swallowed |= !read.sound && self.swallows(statement);
                    problems.extend(read.problem.filter(|_| !statement.damaged).map(|problem| *problem));
                    if read.sound {
                        spares.push(SpareRange {
                            end: read.end,
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
                    Ok(reading) => readings.extend(reading),
                    Err(problem) => problems.push(*problem),
                },
                _ => {}
            }
        }
        if swallowed {
            self.office.unsure.doubt_everything();
        }
        if lost_spare {
            for medium in [Medium::Air, Medium::Wire, Medium::Power] {
                self.office.unsure.runs.insert(medium);
            }
        }
        self.office.spares = spares;
        self.office.readings = readings;
        self.office.problems.extend(problems);
    }
}

fn one_end(ends: &[End], run: TextRange) -> Problem {
    let range = ends.first().map_or(run, |end| end.range);
    Problem::new(ProblemId::ValueUnreadable, range, "this run has only one end")
        .help("write `->` and the other end after it")
}
