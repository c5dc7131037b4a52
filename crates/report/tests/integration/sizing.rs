//! What would be right, as text and as a record.

use drysheath_fixture::example_and;
use drysheath_report::OfficeView;
use drysheath_rules::example::OFFICE;
use drysheath_rules::sizing::{Sizing, SizingAnswer};

use super::view::Computed;

#[track_caller]
fn sized(view: &OfficeView<'_>, parts: &Computed, name: &str) -> Sizing {
    match view.size(&parts.analysis.office.parts, name, None) {
        SizingAnswer::Told(sizing) => sizing,
        other => panic!("{other:?}"),
    }
}

#[test]
fn each_bound_tells_its_figures_with_their_places() {
    let computed = Computed::new(OFFICE);
    let view = computed.view();
    let text = view.sizing_text(&sized(&view, &computed, "f1"));
    for line in [
        "f1: top of the span, between 11.99 scfh and 28 scfh",
        "  now 15 scfh (/repository/elm.office:47), within the bounds",
        "  least 11.99 scfh: the reading with the leak worth a visit is on scale",
        "    normal 7 scfh (/repository/elm.office:50)",
        "    leak-size 5 scfh (setting, by default; common practice, no source)",
        "    error 0.3 scfh (/repository/elm.office:49)",
        "  f1 as it is (/repository/elm.office:46), span 0 scfh .. 15 scfh, error 0.3 scfh: take this one",
    ] {
        assert!(text.lines().any(|other| other == line), "{line} is missing in\n{text}");
    }
}

#[test]
fn bounds_that_leave_one_figure_name_it_once() {
    let computed = Computed::new(OFFICE);
    let view = computed.view();
    let mut sizing = sized(&view, &computed, "r1");
    let most = sizing.figures[0].at_most().unwrap().clone();
    sizing.figures[0].least = vec![most];
    let text = view.sizing_text(&sizing);
    assert!(text.starts_with("r1: set pressure, only 15 psi\n"), "{text}");
}

#[test]
fn the_record_has_the_same_bounds_in_si() {
    let computed = Computed::new(OFFICE);
    let view = computed.view();
    let record = view.sizing_record(&sized(&view, &computed, "r1"));
    let set = &record.figures[0];
    assert_eq!((set.what.as_str(), set.unit.as_str()), ("set pressure", "Pa"));
    let psi = |pascals: Option<f64>| pascals.unwrap() / 6_894.757_293_168;
    assert!(
        (psi(set.take) - 10.0).abs() < 1e-9 && (psi(set.at_most) - 15.0).abs() < 1e-9,
        "{set:?}"
    );
    assert!(set.least[0].value >= set.least[1].value && set.most[0].value <= set.most[1].value);
    assert!(
        set.least
            .iter()
            .all(|bound| bound.inputs.iter().any(|input| input.place.is_some()))
    );
}

#[test]
fn no_text_of_an_office_speaks_to_a_terminal() {
    let text = example_and("\u{1b}[31mvalve v9 {}\n");
    let computed = Computed::new(&text);
    let view = computed.view();
    for name in ["f1", "ps1 low", "r1"] {
        let told = view.sizing_text(&sized(&view, &computed, name));
        assert!(told.contains("not read:") && !told.contains('\u{1b}'), "{told:?}");
    }
}
