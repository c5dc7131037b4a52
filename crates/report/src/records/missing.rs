//! Items that are missing before the records of an office are handed over.

use drysheath_office::{Date, Terminal};
use drysheath_rules::{Finding, Inspection, hand_over};

use super::record::{MissingItem, OfficeRecords};
use crate::OfficeView;

impl OfficeView<'_> {
    /// The records of the office with the missing items; `findings` are the results of linting it.
    pub fn records(&self, findings: &[Finding], today: Date) -> OfficeRecords {
        let mut records = self.input_records();
        let inspection = Inspection::new(self.office, self.networks, self.prediction, self.settings);
        records.missing = hand_over(&inspection, findings, today)
            .iter()
            .map(|finding| self.missing_item(finding, &records))
            .collect();
        records
    }

    fn missing_item(&self, finding: &Finding, records: &OfficeRecords) -> MissingItem {
        let place = self.place(finding.place);
        MissingItem {
            key: finding.signal.and_then(|signal| self.key_of(records, &signal)),
            rule: finding.rule.name().to_owned(),
            what: finding.message.clone(),
            help: finding.help.clone(),
            file: place.file,
            line: place.line,
        }
    }

    fn key_of(&self, records: &OfficeRecords, signal: &Terminal) -> Option<String> {
        let mut signals = self.merged().office.signals(signal.thing).into_iter();
        let own = signals.find(|own| std::ptr::eq(own.port, signal.port) && own.number == signal.number)?;
        Some(self.record_key(records, &own))
    }
}
