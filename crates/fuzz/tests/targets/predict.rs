//! What is computed of any text: every figure is a number or absent, in the record, the tables and the explanations.

use drysheath_fixture::{Case, check};
use drysheath_office::UnitPreferences;
use drysheath_report::{Explanation, FORM, Report, how, report_schema, tables};

use crate::bench::Bench;
use crate::holds::{Schema, is_finite, is_printable, says_no_infinity};

#[test]
fn what_is_computed_of_any_text_is_finite_or_absent() {
    let bench = Bench::new();
    let schema = Schema::new(&report_schema());
    check!(600).with_type::<Case>().for_each(|case| {
        let drawn = bench.draw(case);
        let record = drawn.view().record();
        is_finite(&record);
        let tables = tables(&record, &UnitPreferences::of(&drawn.analysis.office));
        is_printable(&tables);
        says_no_infinity(&drawn.text, &tables);
        let report = Report {
            form: FORM,
            offices: vec![record],
        };
        schema.holds(&report.json());
    });
}

#[test]
fn any_figure_is_explained() {
    let bench = Bench::new();
    check!(12_000)
        .with_type::<(Case, [u16; 4], u8)>()
        .for_each(|(case, names, form)| {
            let drawn = bench.draw(case);
            let view = drawn.view();
            let units = UnitPreferences::of(&drawn.analysis.office);
            for number in names {
                let word = bench.corpus.word(&drawn.text, *number);
                let other = bench.corpus.word(&drawn.text, number.wrapping_mul(7));
                let name = match form % 4 {
                    0 => format!("{word} {other}"),
                    1 => format!("{word} at {number} m"),
                    2 => format!("{word} {}.5 km", form / 4),
                    _ => word.to_owned(),
                };
                for name in [word, &name] {
                    if let Explanation::Told(told) | Explanation::Nothing(told) = how(&view, &units, name) {
                        is_printable(&told);
                        says_no_infinity(&drawn.text, &told);
                    }
                }
            }
        });
}
