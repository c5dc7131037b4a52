//! The leaks that an office's limits would report, place by place.

use super::compose::OfficeView;
use super::record::DetectionRecord;

impl OfficeView<'_> {
    /// One record for each examined place, in the order of the lines.
    pub(super) fn detection(&self) -> Vec<DetectionRecord> {
        let mut records = Vec::new();
        for line in self.explainer().detection() {
            for place in &line.places {
                records.push(DetectionRecord {
                    line: self.office.name(line.line.thing).to_owned(),
                    branch: line.line.branch_name(self.office).map(str::to_owned),
                    distance_m: place.metres,
                    smallest_leak_m3_per_s: place.smallest.map(|found| found.leak.cubic_metres_per_second()),
                    first: place.smallest.map(|found| self.office.name(found.thing).to_owned()),
                    signal: place.smallest.and_then(|found| {
                        let (port, number) = found.signal;
                        Some(self.office.signal(found.thing, port, number)?.called())
                    }),
                    limit: place.smallest.map(|found| found.level.word().to_owned()),
                });
            }
        }
        records
    }
}
