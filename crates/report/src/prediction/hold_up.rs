//! How long pressures hold after sources stop.

use drysheath_engineering::measure::Pressure;
use drysheath_explanation::HoldUpFacts;
use drysheath_prediction::HoldUp;

use super::compose::OfficeView;
use super::record::HoldUpRecord;

impl OfficeView<'_> {
    /// A record for each source of air, and for all of them together.
    pub(super) fn hold_up(&self) -> Vec<HoldUpRecord> {
        let facts = self.explainer().hold_ups();
        facts.iter().filter_map(|facts| self.hold_up_record(facts)).collect()
    }

    fn hold_up_record(&self, facts: &HoldUpFacts<'_>) -> Option<HoldUpRecord> {
        let name = |id| self.office.name(id).to_owned();
        let mut record = HoldUpRecord {
            stops: facts.stops.iter().copied().map(name).collect(),
            time_s: None,
            lasts: false,
            line: None,
            branch: None,
            distance_m: None,
            under: None,
            least_pa: None,
            not_known: None,
        };
        match &facts.holds {
            HoldUp::Falls(fall) => {
                record.time_s = Some(if fall.is_at_once() { 0.0 } else { fall.time.seconds() });
                record.line = Some(name(fall.line.thing));
                record.branch = fall.line.branch_name(self.office).map(str::to_owned);
                record.distance_m = Some(fall.metres);
                record.under = Some(fall.under.word().to_owned());
                record.least_pa = fall.under.pressure(self.office).map(Pressure::pascals);
            }
            HoldUp::Lasts => record.lasts = true,
            HoldUp::NothingNeeded => return None,
            HoldUp::NotKnown(why) => record.not_known = Some(why.reason(self.office)),
        }
        Some(record)
    }
}
