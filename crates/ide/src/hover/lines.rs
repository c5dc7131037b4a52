//! Hovers of cables, branches and pipes: the pressure along them.

use drysheath_engineering::measure::Pressure;
use drysheath_engineering::units::Dimension;
use drysheath_explanation::LineDetection;
use drysheath_office::ThingId;
use drysheath_office::line::{length, shown_length};
use drysheath_prediction::{Line, distance_name, position_name};

use super::Describer;
use crate::explainer::explainer;
use crate::markup::{ColumnAlignment, Markup};

impl Describer<'_> {
    /// Adds the figures of a cable or pipe.
    pub(super) fn cable_or_pipe(&self, markup: &mut Markup, id: ThingId) {
        let thing = self.analysis.office.thing(id);
        if let Some(metres) = length(thing, None) {
            markup.fact(format!("{} long", shown_length(thing, None, metres)));
        }
        self.free_numbers(markup, id);
        let detected = explainer(self.analysis).detection_of(id);
        for line in self.analysis.prediction.air.lines() {
            if line.thing == id {
                if let Some(branch) = line.branch_name(&self.analysis.office) {
                    markup.sentence(format!("branch `{branch}`:"));
                }
                self.profile(markup, line, &detected);
            }
        }
    }

    /// Adds a table of the pressure along a line, and the leaks of it that are reported.
    pub(super) fn profile(&self, markup: &mut Markup, line: &Line, detected: &[LineDetection<'_>]) {
        let analysis = self.analysis;
        let practice = analysis.settings.minimums();
        let points = analysis
            .prediction
            .profile(&analysis.office, &analysis.networks, &practice, line);
        let shown = |pressure: Option<Pressure>| {
            pressure.map_or_else(
                || "-".to_owned(),
                |pressure| self.show(Dimension::Pressure, pressure.pascals()),
            )
        };
        let rows: Vec<Vec<String>> = points
            .iter()
            .map(|point| {
                vec![
                    distance_name(&analysis.office, line, point.metres),
                    shown(point.pressure),
                    shown(point.minimum),
                    shown(point.margin()),
                    point.what.clone(),
                ]
            })
            .collect();
        if points.iter().all(|point| point.pressure.is_none()) && !points.is_empty() {
            markup.fact("the pressure along it cannot be computed yet");
        }
        let columns = [
            ("distance", ColumnAlignment::Right),
            ("pressure", ColumnAlignment::Right),
            ("least", ColumnAlignment::Right),
            ("margin", ColumnAlignment::Right),
            ("place", ColumnAlignment::Left),
        ];
        markup.table(&columns, &rows);
        let of_line = detected.iter().find(|found| std::ptr::eq(found.line, line));
        if let Some(found) = of_line {
            self.detection(markup, found);
        }
    }

    /// Adds the place where the smallest reported leak is largest.
    fn detection(&self, markup: &mut Markup, found: &LineDetection<'_>) {
        let Some(worst) = found.worst() else {
            return;
        };
        let place = self.position(found.line, worst.metres);
        markup.fact(match &worst.smallest {
            Some(reported) => format!(
                "a leak is hardest to detect {place}: from {} up, the `{}` limit of `{}` reports it",
                self.show(Dimension::Flow, reported.leak.cubic_metres_per_second()),
                reported.level.word(),
                self.analysis.office.name(reported.thing),
            ),
            None => format!("{place} even a complete cut trips no limit of this office"),
        });
    }

    /// Formats a position: "at 3.2 km on `c101`".
    pub(super) fn position(&self, line: &Line, metres: f64) -> String {
        position_name(&self.analysis.office, line, metres)
    }
}
