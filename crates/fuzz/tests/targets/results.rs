//! The results of any text, in every format.

use drysheath_fixture::{Case, check};
use drysheath_report::{
    Baseline, Extent, Results, annotations, code_quality, counts, json, junit, markdown, results_schema, sarif,
};
use serde_json::Value;

use crate::bench::Bench;
use crate::holds::{Schema, is_printable};

#[test]
fn results_are_written_in_every_format() {
    let bench = Bench::new();
    let schema = Schema::new(&results_schema());
    check!(1300).with_type::<Case>().for_each(|case| {
        let drawn = bench.draw(case);
        let results = Results::new(drawn.analysis.findings(), &drawn, None);
        for text in [
            annotations(&results),
            counts(&results),
            junit(&results),
            markdown(&results),
        ] {
            is_printable(&text);
        }
        schema.holds(&json(&results));
        let quality = code_quality(&results);
        is_printable(&quality);
        assert!(serde_json::from_str::<Value>(&quality).is_ok(), "{quality}");
        // A log has every rule in it, however few results: it costs more than all the rest.
        if !case.1.is_multiple_of(8) {
            return;
        }
        let log = sarif(&results, Extent::Full);
        is_printable(&log);
        // A log is a baseline in which every result of it is found.
        let baseline = Baseline::read(&log).unwrap();
        let again = Results::new(drawn.analysis.findings(), &drawn, Some(&baseline));
        assert_eq!((again.fresh().count(), again.gone().len()), (0, 0), "{log}");
    });
}
