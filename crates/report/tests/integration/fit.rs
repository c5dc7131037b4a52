//! What readings make of the declared figures, as text. That the figures are right is checked in `tests/outside/test_fit.py`.

use drysheath_fixture::example_and;
use drysheath_office::Date;

use super::view::Computed;

const DAY: Date = Date {
    year: 2026,
    month: 5,
    day: 12,
};

const READINGS: &str = "
pressure-sensor ps9 { at c101 1.2 km, span 0 .. 8 psi, step 0.1 psi, error 0.2 psi, proof 30 psi }
reading 2026-05-12 f1 8.2 scfh
reading 2026-05-12 ps1 7.2 psi
reading 2026-05-12 ps9 8 psi
";

fn text(readings: &str, day: Date) -> Option<String> {
    let computed = Computed::new(&example_and(readings));
    let view = computed.view();
    view.fit(day).map(|fit| view.fit_text(&fit))
}

/// The cells of the row that begins so.
fn row(text: &str, start: &str) -> Vec<String> {
    let row = text.lines().map(str::trim_start).find(|line| line.starts_with(start));
    let row = row.unwrap_or_else(|| panic!("no row begins with {start} in\n{text}"));
    let cells = row.split("  ").map(str::trim).filter(|cell| !cell.is_empty());
    cells.map(str::to_owned).collect()
}

#[test]
fn each_figure_stands_beside_what_the_readings_make_of_it() {
    let text = text(READINGS, DAY).unwrap();
    assert!(
        text.starts_with("Elm Hollow (/repository/elm.office): readings of 2026-05-12\n"),
        "{text}"
    );
    let flow = row(&text, "f1 ");
    assert_eq!(flow[..3], ["f1", "8.2 scfh", "7 scfh"]);
    let usage = row(&text, "c101 section s2 usage");
    assert_eq!(usage[1], "4 scfh");
    let scfh = |cell: &str| cell.trim_end_matches(" scfh").parse::<f64>().unwrap();
    let [fitted, least, most] = [&usage[2], &usage[3], &usage[4]].map(|cell| scfh(cell));
    assert!(least < 4.0 && 4.0 < fitted && fitted < most, "{usage:?}");
    assert_eq!(usage[5], "yes");
    assert!(usage[6].starts_with("f1 +") && usage[6].ends_with(" %"), "{usage:?}");
    // Nothing passes from here to there, so that nothing is told of it.
    assert_eq!(row(&text, "d1 pressure")[1..3], ["30 psi", "30 psi"]);
    assert!(
        text.contains("not told apart by these readings: usage of c101 section s1, "),
        "{text}"
    );
    assert!(text.contains("with 2 degrees of freedom, at most 5.9 "), "{text}");
    assert!(text.contains("the sensors' errors explain the readings\n"), "{text}");
    assert!(text.contains("not used: ps9 (/repository/elm.office:"), "{text}");
    assert!(text.ends_with("codes and licensed people govern.\n"), "{text}");
}

#[test]
fn readings_that_nothing_explains_say_so() {
    let text = text("reading 2026-05-12 ps1 1 psi\n", DAY).unwrap();
    assert!(text.contains("do not explain the readings: look for a leak"), "{text}");
}

#[test]
fn what_could_not_be_read_is_said_and_no_text_of_it_speaks_to_a_terminal() {
    let text = text("\u{1b}[31mvalve v9 {}\nreading 2026-05-12 ps1 7.5 psi\n", DAY).unwrap();
    assert!(
        text.contains("not read: /repository/elm.office:") && !text.contains('\u{1b}'),
        "{text:?}"
    );
}

#[test]
fn a_day_without_readings_has_no_text() {
    assert_eq!(text(READINGS, Date { day: 13, ..DAY }), None);
}
