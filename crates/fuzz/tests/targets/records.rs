//! The records of any text, in every format, and beside those of the text before it was changed.

use bolero::check;
use drysheath_fixture::Case;
use drysheath_report::{
    Difference, EarlierRecord, RECORDS_FORM, RecordsReport, note, records_csv, records_markdown, records_schema,
};

use crate::bench::{Bench, Drawn, TODAY};
use crate::holds::{Schema, is_printable};

fn report(drawn: &Drawn<'_>) -> RecordsReport {
    RecordsReport {
        form: RECORDS_FORM,
        since: None,
        offices: vec![drawn.view().records(drawn.analysis.findings(), TODAY)],
    }
}

#[test]
fn records_are_written_of_any_text() {
    let bench = Bench::new();
    let schema = Schema::new(&records_schema());
    check!().with_iterations(1500).with_type::<Case>().for_each(|case| {
        let drawn = bench.draw(case);
        let (_, text) = bench.corpus.original(case.0);
        let before = report(&bench.put(drawn.path, text));
        let earlier: Vec<EarlierRecord> = before
            .offices
            .into_iter()
            .flat_map(|office| office.records)
            .map(|record| EarlierRecord {
                key_now: record.key.clone(),
                record,
            })
            .collect();
        let mut now = report(&drawn);
        let difference = Difference::between(&earlier, &now.offices[0].records);
        let counts = difference.record("before");
        for since in [None, Some(&difference)] {
            now.since = since.map(|_| counts.clone());
            for all in [false, true] {
                is_printable(&records_markdown(&now, since, all));
            }
            is_printable(&note(&now, since));
            is_printable(&records_csv(&now, since).replace("\r\n", "\n"));
            schema.holds(&now.json());
        }
    });
}
