//! Figures that cannot be meant are refused where they stand, whatever the field.
#![allow(missing_docs, clippy::unwrap_used, clippy::panic)]

use drysheath_engineering::units::Quantity;
use drysheath_office::kinds::{Domain, FieldSpec, KINDS, Shape};
use drysheath_office::{NoParts, ProblemId, lower};
use drysheath_syntax::parse;
use drysheath_text::FileId;

const OFFICE: &str = "office o { title \"O\" }\n";
const CABLE: &str = "cable c101 { pairs 50, gauge 24 awg }\n";

fn problems(text: &str) -> Vec<(ProblemId, String, String)> {
    let office = if text.starts_with("office") { "" } else { OFFICE };
    let text = format!("{office}{CABLE}{text}\n");
    let office = lower(FileId(0), "o", text.as_str().into(), &parse(&text), &NoParts);
    let problems = office
        .problems
        .iter()
        .filter(|problem| problem.id != ProblemId::FieldMissing);
    problems
        .map(|problem| {
            let help = problem.help.clone().unwrap_or_default();
            (
                problem.id,
                problem.range.of(&text).to_owned(),
                format!("{}; {help}", problem.message),
            )
        })
        .collect()
}

fn refused(text: &str) -> String {
    match problems(text).as_slice() {
        [(ProblemId::ValueImplausible, _, message)] => message.clone(),
        other => panic!("{text}: {other:?}"),
    }
}

/// A field's name and value, with that figure in it.
fn field(spec: &FieldSpec, figure: &str) -> Option<String> {
    let value = match spec.shape {
        Shape::Quantity(_) | Shape::Draw | Shape::Difference | Shape::DewPoint => figure.to_owned(),
        Shape::Range(_) => format!("{figure} .. {figure}"),
        Shape::Limit(_) => format!("low {figure} minor"),
        Shape::Loss => format!("{figure} at 20 scfh"),
        Shape::At => format!("c101 {figure}"),
        Shape::Fitting => format!("{figure} compression"),
        _ => return None,
    };
    Some(format!("{} {value}", spec.word()))
}

/// Every field with a figure: its table entry, and the text around it.
fn figures(
    specs: &'static [FieldSpec],
    before: &str,
    after: &str,
    out: &mut Vec<(&'static FieldSpec, String, String)>,
) {
    // A word of an earlier language has the figures of its successor.
    for spec in specs.iter().filter(|spec| spec.gone.is_none()) {
        let name = match spec.shape {
            Shape::Group(_) => "",
            Shape::Named(_) => " x",
            _ => {
                out.push((spec, before.to_owned(), after.to_owned()));
                continue;
            }
        };
        let before = format!("{before}{}{name} {{ ", spec.word());
        figures(spec.inner(), &before, &format!(" }}{after}"), out);
    }
}

fn written(quantity: Quantity, times: f64) -> String {
    format!("{} {}", quantity.value * times, quantity.unit.name)
}

/// Figures that lie outside.
fn outside(domain: &Domain) -> Vec<String> {
    let (least, most) = domain.bounds().unwrap();
    let gauge = most.unit.name == "awg";
    let mut outside = vec![format!("1e300 {}", most.unit.name)];
    if !gauge {
        outside.push(format!("{} {}", most.value.abs().mul_add(2.0, 1000.0), most.unit.name));
        outside.push(format!("-{} {}", most.value.abs().mul_add(2.0, 1000.0), most.unit.name));
    }
    if least.value > 0.0 && least.unit.name != "awg" {
        outside.push(written(least, 0.5));
    }
    outside
}

#[test]
fn every_field_refuses_what_cannot_be_meant() {
    let mut tried = 0;
    for kind in KINDS {
        let mut fields = Vec::new();
        figures(kind.fields, &format!("{} x {{ ", kind.word()), " }", &mut fields);
        for (spec, before, after) in fields {
            let Some(domain) = spec.domain() else { continue };
            for figure in outside(domain) {
                let text = format!("{before}{}{after}", field(spec, &figure).unwrap());
                let found = problems(&text);
                // Below absolute zero and the like there is nothing to understand.
                assert!(
                    matches!(
                        found.as_slice(),
                        [(ProblemId::ValueImplausible | ProblemId::ValueUnreadable, ..)]
                    ),
                    "{text}: {found:?}"
                );
                let message = &found.first().unwrap().2;
                let computed = message.replace(&figure, "");
                for broken in ["NaN", "inf ", "e30", "e29"] {
                    assert!(!computed.contains(broken), "{text}: {message}");
                }
                tried += 1;
            }
        }
    }
    assert!(tried > 200, "{tried}");
}

#[test]
fn what_was_probably_meant() {
    for (text, expected) in [
        ("elevation 205 km", "`205 m` is probably meant: check the unit"),
        (
            "elevation 31000 m",
            "`3100 m` is probably meant: check the decimal point",
        ),
        ("coldest -4 K", "`-4 K` is below absolute zero"),
        (
            "hottest 6000 degC",
            "`60 degC` is probably meant: check the decimal point",
        ),
    ] {
        let found = problems(&format!("office x {{ {text} }}"));
        assert!(
            found.iter().any(|(.., message)| message.contains(expected)),
            "{found:?}"
        );
    }
    let section = |text: &str| refused(&format!("cable c {{ section s {{ underground 1 km, {text} }} }}"));
    assert_eq!(
        section("depth -2 m"),
        "`depth` expects 0.1 m to 200 m, or 0; found `-2 m`; `2 m` is probably meant: check the sign"
    );
    assert_eq!(
        section("depth 2 mm"),
        "`depth` expects 100 mm to 200000 mm, or 0; found `2 mm`; `2 m` is probably meant: check the unit"
    );
    assert_eq!(
        refused("flow-sensor f { step 0 scfh }"),
        "`step` expects 0.0005 scfh to 2000 scfh; found `0 scfh`; zero cannot be meant: look the figure up"
    );
}

#[test]
fn runs_and_readings_too() {
    let things = "dryer d { }\nregulator r { }\nbattery b { }\nmonitor m { }\nground-bar g { }\n";
    for (statement, at) in [
        ("air d -> r with 3/8 in tube, 0.025 in bore, 4 m", "0.025 in bore"),
        ("air d -> r with 3/8 in tube, 3/8 in bore, 4 m", "3/8 in bore"),
        ("air d -> r with 300 in tube, 4 m", "300 in"),
        ("air d -> r with 3/8 in tube, 0 m", "0 m"),
        ("air d -> r with 4 m, adapter 300 in thread male", "300 in"),
        ("power b -> m with 3 A, 6.5 awg, 5 m", "6.5 awg"),
        ("power b -> m with 3 A, -6 awg, 5 m", "-6 awg"),
        ("power b -> m with 3 A, 14 awg, 5 km", "5 km"),
        ("power b -> m with -3 A, 14 awg, 5 m", "-3 A"),
        ("ground m frame -> g with 60 awg, 5 m", "60 awg"),
        ("reading 1027-11-03 m supply -52 V", "1027-11-03"),
        ("reading 2026-11-03 m supply -52 kV", "-52 kV"),
        ("reading 2026-11-03 c101 decay 10 psi .. 9.5 psi over 0 min", "0 min"),
        (
            "reading 2026-11-03 c101 decay 1000 psi .. 9.5 psi over 12 min",
            "1000 psi",
        ),
    ] {
        let found = problems(&format!("{things}{statement}"));
        let found: Vec<_> = found.iter().map(|(id, at, _)| (*id, at.as_str())).collect();
        assert_eq!(found, [(ProblemId::ValueImplausible, at)], "{statement}");
    }
    for statement in [
        "air d -> r with 3/8 in tube, 1/4 in bore, 4 m",
        "air d -> r with 12 mm tube, 10 mm bore, 400 ft",
        "power b -> m with 3 A, 1/0 awg, 5 m",
        "power b -> m with 3 A, 2.5 mm2, 5 m",
        "power b -> m with 3 A, 500 kcmil, 5 m",
        "reading 2026-11-03 m supply 0 V",
        "reading 2026-11-03 c101 decay 10 psi .. 0 psi over 2 d at 70 degF .. -5 degF",
    ] {
        assert_eq!(problems(&format!("{things}{statement}")), [], "{statement}");
    }
}

#[test]
fn what_is_counted_from_vacuum_says_so() {
    let found = problems("dryer d { rating-pressure 14.7 psi }");
    let [(ProblemId::UnitWrongDimension, at, message)] = found.as_slice() else {
        panic!("{found:?}");
    };
    assert_eq!(at, "14.7 psi");
    assert!(message.contains("write it in psia"), "{message}");
    assert_eq!(problems("dryer d { rating-pressure 14.7 psia }"), []);
    refused("dryer d { rating-pressure 30 psia }");
}

#[test]
fn the_volume_of_a_section_goes_with_its_length() {
    let section = |volume: &str| problems(&format!("cable c {{ section s {{ buried 1 km, volume {volume} }} }}"));
    for volume in ["7 ft3", "3 L", "9 m3"] {
        assert_eq!(section(volume), [], "{volume}");
    }
    for volume in ["7 in3", "1 L", "20 m3"] {
        assert!(
            matches!(section(volume).as_slice(), [(ProblemId::ValueImplausible, ..)]),
            "{volume}"
        );
    }
    let message = refused("cable c { section s { buried 1 km, volume 7 in3 } }");
    assert!(
        message.starts_with("`volume` of 1 km of cable expects 120 in3 to 610000 in3; found 7 in3"),
        "{message}"
    );
}

#[test]
fn a_difference_is_no_figure_of_the_scale() {
    let message = refused("office o2 { coldest 300 degF }");
    assert!(message.contains("-94 degF to 86 degF"), "{message}");
    let message =
        refused("dew-point-sensor s { span -60 degF .. 60 degF, limit high 30 degF major deadband 200 degF }");
    assert!(message.contains("0.018 degF to 90 degF"), "{message}");
}

#[test]
fn a_bore_goes_with_its_tube() {
    let message = refused("regulator d { }\nregulator r { }\nair d -> r with 3/8 in tube, 0.025 in bore, 4 m");
    assert!(
        message.starts_with("`bore` of this tube expects 0.13 in to less than 0.375 in"),
        "{message}"
    );
}

#[test]
fn a_deadband_is_called_so() {
    let message = refused("flow-sensor f { span 0 .. 15 scfh, limit high 10 scfh major deadband 9000 scfh }");
    assert!(message.starts_with("`deadband` expects "), "{message}");
}

#[test]
fn a_link_leads_somewhere() {
    for link in [
        "lan \"192.0.2.7\"",
        "lan \"2001:db8::7\"",
        "lan \"elm-hollow.example:502\"",
        "dialled \"+1 (555) 0142\"",
    ] {
        assert_eq!(problems(&format!("monitor m {{ link {link} }}")), [], "{link}");
    }
    for link in [
        "lan \"\"",
        "lan \"192.0.2.300\"",
        "lan \"555-0142\"",
        "lan \"a b\"",
        "dialled \"\"",
        "dialled \"192.0.2.7\"",
    ] {
        refused(&format!("monitor m {{ link {link} }}"));
    }
}

#[test]
fn a_step_and_an_error_go_with_the_span() {
    let sensor = |text: &str| problems(&format!("flow-sensor f {{ span 0 .. 15 scfh, {text} }}"));
    for text in ["step 0.1 scfh, error 0.3 scfh", "step 0.001 scfh", "error 1.8 scfh"] {
        assert_eq!(sensor(text), [], "{text}");
    }
    for (text, at) in [
        ("step 5 scfh", "step 5 scfh"),
        ("step 0.3 scfh, error 2 scfh", "error 2 scfh"),
        ("error 0.0006 scfh", "error 0.0006 scfh"),
    ] {
        let found = sensor(text);
        assert!(
            matches!(found.as_slice(), [(ProblemId::ValueImplausible, range, _)] if range == at),
            "{found:?}"
        );
    }
}
