//! Locates a leak from the readings of one day.
//!
//! As the estimate without a leak, with one leak added: its place is tried along all cables, and for each place the
//! flow of the leak is estimated together with all other figures. χ² at a place tells how well a leak there explains
//! the readings. All places whose χ² is at most four above the least are reported: two standard deviations of the place
//! (likelihood ratio, any text on estimation). They may lie in several stretches.

use drysheath_engineering::estimate::{Estimate, EstimateError, within};
use drysheath_engineering::measure::Flow;
use drysheath_engineering::network::Link;

use super::{FitProblem, TrialLeak};

/// Places whose χ² exceeds the least by no more than this are reported.
const WITHIN: f64 = 4.0;
/// A line whose χ² exceeds the least by more than this at its ends and middle is not searched place by place.
const HOPELESS: f64 = 60.0;
/// Steps of the search along a line.
const STEPS: f64 = 16.0;
/// Iterations that narrow the bracket around a best place or around an end of a stretch.
const REFINED: u32 = 8;
/// Differences of χ² below this are ignored.
const NOTHING: f64 = 1e-3;
/// Standard deviation of the leak's flow before any reading, as a multiple of total usage: wide enough to have no
/// influence.
const WIDE: f64 = 10.0;

/// A stretch of a line where the leak may be.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LeakInterval {
    /// Index of the line in [`super::Air::lines`].
    pub line: usize,
    /// Beginning, metres from the beginning of the line.
    pub from: f64,
    /// End, metres from the beginning of the line.
    pub to: f64,
    /// Most likely place, metres from the beginning of the line.
    pub best: f64,
    /// Flow of a leak at `best`.
    pub flow: Flow,
    /// χ² with a leak at `best`.
    pub chi_squared: f64,
}

/// The places where a leak may be.
#[derive(Clone, Debug, PartialEq)]
pub struct LeakSearch {
    /// Stretches where it may be; the first contains the most likely place.
    pub stretches: Vec<LeakInterval>,
    /// χ² without a leak.
    pub without: f64,
    /// χ² with the most likely leak.
    pub least: f64,
}

/// χ² and flow of a trial leak at a place on a line.
#[derive(Clone, Copy, Debug)]
struct TrialFit {
    metres: f64,
    chi_squared: f64,
    flow: f64,
}

/// The search along the lines of a system.
struct LeakScan<'r, 'a> {
    readings: &'r FitProblem<'a>,
    /// Flow of the leak for a factor of one, m³/s.
    scale: f64,
    /// The estimate without a leak: χ² and factors.
    without: Estimate,
    /// Factors found at the last place, as the starting point for the next.
    last: Vec<f64>,
}

impl FitProblem<'_> {
    /// Finds where on the cables a single leak explains the readings best. `None` where the system has no cable.
    ///
    /// # Errors
    ///
    /// [`EstimateError`] as [`FitProblem::fit`].
    pub fn leak(&self) -> Result<Option<LeakSearch>, EstimateError> {
        let start = vec![0.0; self.factors];
        let without = within(&self.measured, &start, NOTHING, |factors| self.modelled(factors, None))?;
        let used = self
            .unknown
            .iter()
            .filter(|unknown| matches!(unknown.of, super::FitParameter::Usage(..)));
        let used: f64 = used.map(|unknown| unknown.declared).sum();
        if used <= 0.0 {
            return Ok(None);
        }
        let mut last = without.factors.clone();
        last.push(0.0);
        let mut search = LeakScan {
            readings: self,
            scale: WIDE * used,
            without,
            last,
        };
        Ok(search.run())
    }

    fn is_cable(&self, stretch: usize) -> bool {
        let of_cable = |stretch: &super::FitSegment| matches!(self.network.law(stretch.link), Link::Section(_));
        self.stretches.get(stretch).is_some_and(of_cable)
    }
}

impl LeakScan<'_, '_> {
    fn run(&mut self) -> Option<LeakSearch> {
        let mut lines: Vec<usize> = (0..self.readings.stretches.len())
            .filter(|stretch| self.readings.is_cable(*stretch))
            .filter_map(|stretch| Some(self.readings.stretches.get(stretch)?.line))
            .collect();
        lines.dedup();
        let mut along: Vec<(usize, Vec<TrialFit>)> = lines
            .iter()
            .map(|line| (*line, self.at(*line, &self.ends(*line))))
            .collect();
        let least = |along: &[(usize, Vec<TrialFit>)]| {
            let all = along.iter().flat_map(|(_, tried)| tried);
            all.map(|tried| tried.chi_squared).min_by(f64::total_cmp)
        };
        let most = least(&along)? + HOPELESS;
        along.retain(|(_, tried)| tried.iter().any(|tried| tried.chi_squared <= most));
        for (line, tried) in &mut along {
            *tried = self.at(*line, &self.marks(*line));
            self.sharpen(*line, tried);
        }
        let least = least(&along)?;
        let mut stretches = Vec::new();
        for (line, tried) in &along {
            self.told(*line, tried, least + WITHIN, &mut stretches);
        }
        stretches.sort_by(|one, other| one.chi_squared.total_cmp(&other.chi_squared));
        Some(LeakSearch {
            stretches,
            without: self.without.chi_squared,
            least: least.min(self.without.chi_squared),
        })
    }

    /// Beginning, middle and end of the cable part of a line.
    fn ends(&self, line: usize) -> Vec<f64> {
        let marks = self.marks(line);
        let middle = marks.get(marks.len() / 2);
        marks
            .first()
            .into_iter()
            .chain(middle)
            .chain(marks.last())
            .copied()
            .collect()
    }

    /// Points to try on a line, in order: the ends of its stretches and points between.
    fn marks(&self, line: usize) -> Vec<f64> {
        let of_line = || {
            let all = self.readings.stretches.iter().enumerate();
            all.filter(move |(number, stretch)| stretch.line == line && self.readings.is_cable(*number))
                .map(|(_, stretch)| stretch)
        };
        let length: f64 = of_line().map(|stretch| stretch.to - stretch.from).sum();
        let mut marks = Vec::new();
        for stretch in of_line() {
            let pieces = ((stretch.to - stretch.from) / length * STEPS).ceil().max(2.0);
            let steps = std::iter::successors(Some(0.0), |step| Some(step + 1.0));
            let places = steps.take_while(|step| *step <= pieces).map(|step| step / pieces);
            marks.extend(places.map(|part| stretch.from + part * (stretch.to - stretch.from)));
        }
        marks.dedup_by(|later, first| (*later - *first).abs() < crate::line::POSITION_TOLERANCE);
        marks
    }

    fn at(&mut self, line: usize, marks: &[f64]) -> Vec<TrialFit> {
        marks.iter().filter_map(|metres| self.try_at(line, *metres)).collect()
    }

    /// χ² with a leak at a place. `None` if the leak would have to let air in.
    fn try_at(&mut self, line: usize, metres: f64) -> Option<TrialFit> {
        let all = self.readings.stretches.iter();
        let stretch = all.enumerate().position(|(number, stretch)| {
            stretch.line == line
                && self.readings.is_cable(number)
                && (stretch.from - crate::line::POSITION_TOLERANCE..=stretch.to + crate::line::POSITION_TOLERANCE)
                    .contains(&metres)
        })?;
        let on = self.readings.stretches.get(stretch)?;
        let part = ((metres - on.from) / (on.to - on.from)).clamp(0.0, 1.0);
        let (readings, scale) = (self.readings, self.scale);
        let model = |factors: &[f64]| {
            let (flow, factors) = factors.split_last()?;
            let flow = flow * scale;
            let mut modelled = readings.modelled(factors, Some(TrialLeak { stretch, part, flow }))?;
            modelled.slopes.last_mut()?.iter_mut().for_each(|slope| *slope *= scale);
            Some(modelled)
        };
        let found = match within(&readings.measured, &self.last, NOTHING, model) {
            Ok(found) => found,
            Err(_) => {
                let mut start = self.without.factors.clone();
                start.push(0.0);
                within(&readings.measured, &start, NOTHING, model).ok()?
            }
        };
        let flow = found.factors.last().copied().unwrap_or(0.0) * scale;
        if flow <= 0.0 {
            return Some(TrialFit {
                metres,
                chi_squared: self.without.chi_squared,
                flow: 0.0,
            });
        }
        self.last.clone_from(&found.factors);
        Some(TrialFit {
            metres,
            chi_squared: found.chi_squared.min(self.without.chi_squared),
            flow,
        })
    }

    /// Refines each local minimum of χ² by golden-section search and adds the result to `tried`.
    fn sharpen(&mut self, line: usize, tried: &mut Vec<TrialFit>) {
        const GOLDEN: f64 = 0.381_966;
        let mut sharper = Vec::new();
        for at in 0..tried.len() {
            let Some(own) = tried.get(at) else { continue };
            let beside = |other: Option<usize>| other.and_then(|other| tried.get(other));
            let (before, behind) = (beside(at.checked_sub(1)), beside(Some(at + 1)));
            let is_best = [before, behind]
                .into_iter()
                .flatten()
                .all(|other| own.chi_squared <= other.chi_squared);
            if !is_best || own.flow <= 0.0 {
                continue;
            }
            let (mut near, mut far) = (before.unwrap_or(own).metres, behind.unwrap_or(own).metres);
            let mut best = *own;
            for _ in 0..REFINED {
                let metres = if best.metres - near > far - best.metres {
                    best.metres - GOLDEN * (best.metres - near)
                } else {
                    best.metres + GOLDEN * (far - best.metres)
                };
                let Some(next) = self.try_at(line, metres) else { break };
                if next.chi_squared < best.chi_squared {
                    if next.metres < best.metres {
                        far = best.metres;
                    } else {
                        near = best.metres;
                    }
                    best = next;
                } else if next.metres < best.metres {
                    near = next.metres;
                } else {
                    far = next.metres;
                }
                sharper.push(next);
            }
        }
        tried.extend(sharper);
        tried.sort_by(|one, other| one.metres.total_cmp(&other.metres));
    }

    /// Appends the stretches of a line where χ² is at most `most`.
    fn told(&mut self, line: usize, tried: &[TrialFit], most: f64, stretches: &mut Vec<LeakInterval>) {
        let is_in = |tried: &TrialFit| tried.chi_squared <= most;
        let mut before: Option<TrialFit> = None;
        for own in tried {
            let started = before.is_some_and(|before| is_in(&before));
            match (started, is_in(own)) {
                (false, true) => {
                    let from = before.map_or(own.metres, |before| self.crossing(line, before, *own, most));
                    stretches.push(LeakInterval {
                        line,
                        from,
                        to: own.metres,
                        best: own.metres,
                        flow: Flow::from_cubic_metres_per_second(own.flow),
                        chi_squared: own.chi_squared,
                    });
                }
                (true, is_in) => {
                    let to = before.map_or(own.metres, |before| {
                        if is_in {
                            own.metres
                        } else {
                            self.crossing(line, *own, before, most)
                        }
                    });
                    if let Some(stretch) = stretches.last_mut() {
                        stretch.to = to;
                        if own.chi_squared < stretch.chi_squared {
                            stretch.best = own.metres;
                            stretch.chi_squared = own.chi_squared;
                            stretch.flow = Flow::from_cubic_metres_per_second(own.flow);
                        }
                    }
                }
                (false, false) => {}
            }
            before = Some(*own);
        }
    }

    /// Finds by bisection the distance at which χ² reaches `most`, between a place outside and one inside a stretch.
    fn crossing(&mut self, line: usize, outside: TrialFit, inside: TrialFit, most: f64) -> f64 {
        let (mut outside, mut inside) = (outside.metres, inside.metres);
        for _ in 0..REFINED {
            let middle = f64::midpoint(outside, inside);
            match self.try_at(line, middle) {
                Some(tried) if tried.chi_squared <= most => inside = middle,
                _ => outside = middle,
            }
        }
        outside
    }
}
