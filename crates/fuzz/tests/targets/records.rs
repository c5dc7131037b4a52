//! The records of any text, in every format, and beside those of the text before it was changed.

use drysheath_fixture::{Case, check};
use drysheath_report::{
    CsvRow, CsvRows, Difference, EarlierRecord, OfficeRecords, RecordsFormat, RecordsWriter, records_schema,
};

use crate::bench::{Bench, Drawn, TODAY};
use crate::holds::{Schema, is_printable};

fn records(drawn: &Drawn<'_>) -> OfficeRecords {
    drawn.view().records(drawn.analysis.findings(), TODAY)
}

fn written(wording: RecordsFormat, since: Option<&Difference>, all: bool, office: &OfficeRecords) -> String {
    let pieces = RecordsWriter::new(wording, since.map(|difference| ("before", difference)), all);
    let end = pieces.end(1, office.missing.is_empty());
    [&pieces.start(), pieces.before(0), &pieces.of(office), &end].concat()
}

fn csv(since: Option<&Difference>, office: &OfficeRecords) -> String {
    let mut rows = CsvRows::new(std::io::Cursor::new(Vec::new()), since);
    rows.put(&CsvRow::of(office, since)).unwrap();
    let mut out = Vec::new();
    rows.finish(&mut out).unwrap();
    String::from_utf8(out).unwrap()
}

#[test]
fn records_are_written_of_any_text() {
    let bench = Bench::new();
    let schema = Schema::new(&records_schema());
    check!(1500).with_type::<Case>().for_each(|case| {
        let drawn = bench.draw(case);
        let (_, text) = bench.corpus.original(case.0);
        let before = records(&bench.put(drawn.path, text));
        let earlier: Vec<EarlierRecord> = before
            .records
            .into_iter()
            .map(|record| EarlierRecord {
                key_now: record.key.clone(),
                record,
            })
            .collect();
        let now = records(&drawn);
        let difference = Difference::between(&earlier, &now.records);
        for since in [None, Some(&difference)] {
            for all in [false, true] {
                is_printable(&written(RecordsFormat::Markdown, since, all, &now));
            }
            is_printable(&written(RecordsFormat::Note, since, false, &now));
            is_printable(&csv(since, &now).replace("\r\n", "\n"));
            schema.holds(&written(RecordsFormat::Json, since, false, &now));
        }
    });
}
