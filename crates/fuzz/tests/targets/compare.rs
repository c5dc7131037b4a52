//! The comparison of a text with itself, with a changed copy of itself, and with another text.

use drysheath_fixture::{Case, check};
use drysheath_report::{Comparison, Extent, Version, compare, comparison_schema};
use drysheath_sheets::comparison_page;
use drysheath_workspace::Content;

use crate::bench::{Bench, TODAY};
use crate::holds::{Schema, is_finite, is_printable, says_no_infinity};

/// What files of parts, assemblies and routes are beside: they describe no office.
fn shared(bench: &Bench) -> Vec<(String, String)> {
    let is_shared = |(_, text): &&(String, String)| !text.lines().any(|line| line.starts_with("office "));
    bench.corpus.files().iter().filter(is_shared).cloned().collect()
}

fn compared(shared: &[(String, String)], base: (&str, &str), head: (&str, &str)) -> Comparison {
    let version = |called: &str, (path, text): (&str, &str)| {
        let content = |text: &str| Content {
            text: text.into(),
            problem: None,
        };
        let shared = shared.iter().map(|(path, text)| (path.as_str(), text.as_str()));
        Version {
            called: called.to_owned(),
            commit: None,
            files: shared
                .chain([(path, text)])
                .map(|(path, text)| (format!("{path}.office"), content(text)))
                .collect(),
        }
    };
    compare(version("before", base), version("now", head), TODAY, true)
}

fn holds(schema: &Schema, comparison: &Comparison, texts: &str) {
    is_finite(comparison);
    schema.holds(&comparison.json());
    for extent in [Extent::Brief, Extent::Full] {
        for out in [
            comparison.text(extent),
            comparison.markdown(extent),
            comparison_page(comparison, TODAY, extent, "drysheath compare"),
        ] {
            is_printable(&out);
            says_no_infinity(texts, &out);
        }
    }
}

#[test]
fn a_text_is_compared_with_a_changed_copy_of_itself() {
    let bench = Bench::new();
    let (schema, shared) = (Schema::new(&comparison_schema()), shared(&bench));
    check!(400).with_type::<Case>().for_each(|case| {
        let (path, changed) = bench.corpus.draw(case);
        let (_, text) = bench.corpus.original(case.0);
        holds(&schema, &compared(&shared, (path, text), (path, &changed)), &changed);
        let same = compared(&shared, (path, &changed), (path, &changed));
        assert!(same.offices.is_empty() && same.parts_files.is_empty(), "{same:?}");
    });
}

#[test]
fn any_two_texts_are_compared() {
    let bench = Bench::new();
    let (schema, shared) = (Schema::new(&comparison_schema()), shared(&bench));
    check!(500).with_type::<(Case, Case)>().for_each(|(before, now)| {
        let (base, head) = (bench.corpus.draw(before), bench.corpus.draw(now));
        let texts = format!("{}\n{}", base.1, head.1);
        holds(
            &schema,
            &compared(&shared, (base.0, &base.1), (head.0, &head.1)),
            &texts,
        );
    });
}
