//! The sheets of any office, as they are and as a work order.

use drysheath_fixture::{Case, check};
use drysheath_report::{ChangeRecord, EarlierOffice};
use drysheath_sheets::{Since, Subject, drawings, entry, index, pictures, profile, sheets};

use crate::bench::{Bench, TODAY};
use crate::holds::{is_printable, says_no_infinity};

/// A page or a picture without what would run or be fetched.
fn holds(text: &str, out: &str) {
    is_printable(out);
    says_no_infinity(text, out);
    assert!(!out.contains("<script"), "{out}");
}

#[test]
fn sheets_are_made_of_any_text() {
    let bench = Bench::new();
    check!(550).with_type::<Case>().for_each(|case| {
        let drawn = bench.draw(case);
        let subject = |since| Subject {
            view: drawn.view(),
            whole: &drawn.analysis.office,
            findings: drawn.analysis.findings(),
            date: TODAY,
            revision: Some("0123456789ab"),
            since,
        };
        holds(&drawn.text, &sheets(&subject(None)));
        let page = entry(&subject(None), "office.html");
        for (_, text) in index(&[page], TODAY) {
            is_printable(&text);
        }
        let (_, text) = bench.corpus.original(case.0);
        let before = bench.whole.with_texts([(drawn.analysis.file, text.into())]);
        let before = before.read(drawn.analysis.file).unwrap().unwrap().analyse();
        let things = before.office.things();
        let kept = things.filter(|(id, _)| drawn.analysis.office.named(before.office.name(*id)).is_some());
        let names = kept
            .map(|(id, _)| (before.office.name(id).to_owned(), before.office.name(id).to_owned()))
            .collect();
        let earlier = EarlierOffice {
            now: Some(0),
            names,
            analysis: before,
            changes: Vec::<ChangeRecord>::new(),
        };
        let since = Since {
            revision: "main",
            office: Some(&earlier),
        };
        holds(&drawn.text, &sheets(&subject(Some(since))));
    });
}

#[test]
fn anything_is_drawn() {
    let bench = Bench::new();
    check!(2000).with_type::<Case>().for_each(|case| {
        let drawn = bench.draw(case);
        let view = drawn.view();
        for drawing in drawings(view, TODAY) {
            let json = serde_json::to_string(&drawing).unwrap();
            holds(&drawn.text, &json);
        }
        for (_, svg) in pictures(view, None, TODAY) {
            holds(&drawn.text, &svg);
        }
        for line in view.prediction.air.lines() {
            if let Some(svg) = profile(view, line.thing, line.branch_name(view.office), TODAY) {
                holds(&drawn.text, &svg);
            }
        }
    });
}
