//! What `predict --size` says would be right, against figures worked out by hand and against the network solved with the answer
//! put in.

use std::sync::Arc;

use drysheath_engineering::network::RegulatorState;
use drysheath_engineering::units::find;
use drysheath_fixture::lowered;
use drysheath_office::{Networks, Office};
use drysheath_prediction::{LinePoint, NetworkChange, Prediction};
use drysheath_rules::example::{OFFICE, compose};
use drysheath_rules::sizing::{Origin, SizedFigure, Sizing, SizingAnswer, size, wanted_loss};
use drysheath_rules::{Inspection, Settings};

fn sized_by(text: &str, name: &str, settings: &Settings) -> SizingAnswer {
    sized_for(text, name, settings, None)
}

fn sized_for(text: &str, name: &str, settings: &Settings, loss: Option<&str>) -> SizingAnswer {
    let office = lowered(text);
    let networks = Networks::new(&office);
    let prediction = Prediction::new(&office, &networks);
    let inspection = Inspection::new(&office, &networks, &prediction, settings);
    size(
        &inspection,
        &office.parts.iter().map(Arc::clone).collect::<Vec<_>>(),
        name,
        loss.map(|loss| wanted_loss(loss).unwrap()),
    )
}

#[track_caller]
fn sized(text: &str, name: &str) -> Sizing {
    match sized_by(text, name, &Settings::default()) {
        SizingAnswer::Told(sizing) => sizing,
        other => panic!("{name}: {other:?}"),
    }
}

fn figure<'s>(sizing: &'s Sizing, what: &str) -> &'s SizedFigure {
    let found = sizing.figures.iter().find(|figure| figure.what.words() == what);
    found.unwrap_or_else(|| panic!("{what} is not among {:?}", sizing.figures))
}

/// The bounds in a unit; not a number where there is none.
fn bracket(figure: &SizedFigure, unit: &str) -> (f64, f64) {
    let unit = find(unit).unwrap();
    let value =
        |bound: Option<&drysheath_rules::sizing::Bound>| bound.map_or(f64::NAN, |bound| unit.from_si(bound.amount.si));
    (value(figure.at_least()), value(figure.at_most()))
}

#[track_caller]
fn close((found, other_found): (f64, f64), (wanted, other_wanted): (f64, f64), tolerance: f64) {
    let is_close = |one: f64, other: f64| one.is_nan() && other.is_nan() || (one - other).abs() <= tolerance;
    assert!(
        is_close(found, wanted) && is_close(other_found, other_wanted),
        "{found} .. {other_found}, not {wanted} .. {other_wanted}"
    );
}

#[test]
fn a_flow_span_has_the_normal_flow_in_its_middle_half_and_the_leak_on_scale() {
    // By hand. The middle half is that of ASME B40.100 [from memory], the leak of 5 scfh common practice, no source: 7 scfh / 0.75 =
    // 9.33 and 7 / 0.25 = 28; the limit of 11 scfh and the error of 0.3 make 11.3; 7 + 5 = 12 decides, less
    // what the sections lose less at the pressures with that leak.
    let sizing = sized(OFFICE, "f1");
    let top = figure(&sizing, "top of the span");
    close(bracket(top, "scfh"), (12.0, 28.0), 0.02);
    assert_eq!(top.stated.as_ref().map(|(amount, _)| &*amount.shown), Some("15 scfh"));
    assert!(
        matches!(top.least[0].inputs[0].from, Origin::Practice(None, _)),
        "{:?}",
        top.least[0]
    );
    // What the relief of `r1` lets through.
    close(
        bracket(figure(&sizing, "proof pressure"), "psi"),
        (15.0, f64::NAN),
        1e-9,
    );
    // Alone within reach it is the one to take as it is.
    assert_eq!(sizing.parts.len(), 1);
    assert!(sizing.parts[0].is_chosen, "{:?}", sizing.parts);
}

#[test]
fn the_settings_move_the_bounds() {
    let (settings, problems) = Settings::read("[practice]\nleak-size = \"9 scfh\"\nnormal-from = \"35 %\"\n");
    assert_eq!(problems, []);
    let SizingAnswer::Told(sizing) = sized_by(OFFICE, "f1", &settings) else {
        panic!("nothing is told");
    };
    // By hand: 7 + 9 = 16 scfh and a little less, 7 / 0.35 = 20 scfh.
    close(bracket(figure(&sizing, "top of the span"), "scfh"), (16.0, 20.0), 0.05);
    assert!(!sizing.parts[0].is_chosen, "0 .. 15 scfh has no 16 scfh on scale");
}

#[test]
fn a_pressure_span_leaves_its_limits_more_than_the_error() {
    // By hand: the end of c101 reads 7.562 psi, which is 75 % of 10.083 and 25 % of 30.25 psi; the low limit of 6.7 psi less the
    // error of 0.2 psi bounds the bottom, unless the leak of 5 scfh at its place reads less.
    let sizing = sized(OFFICE, "ps1");
    close(
        bracket(figure(&sizing, "top of the span"), "psi"),
        (10.083, 30.25),
        2e-3,
    );
    let bottom = figure(&sizing, "bottom of the span");
    let of_limit = bottom.most.iter().find(|bound| bound.why.contains("limit")).unwrap();
    assert!((find("psi").unwrap().from_si(of_limit.amount.si) - 6.5).abs() < 1e-9);
}

#[test]
fn the_narrowest_part_that_does_everything_is_taken() {
    let parts = "
part flow-sensor wide   { span 0 .. 28 scfh, step 0.2 scfh, error 0.3 scfh, proof 60 psi }
part flow-sensor narrow { span 0 .. 11 scfh, step 0.1 scfh, error 0.1 scfh, proof 60 psi }
part flow-sensor right  { span 0 .. 20 scfh, step 0.1 scfh, error 0.2 scfh, proof 60 psi }
part flow-sensor weak   { span 0 .. 14 scfh, step 0.1 scfh, error 0.2 scfh, proof 10 psi }
part flow-sensor unsaid { span 0 .. 14 scfh, step 0.1 scfh, proof 60 psi }
part flow-sensor base   { error 0.1 scfh, proof 60 psi }
part flow-sensor of-it : base { span 0 .. 16 scfh, step 0.1 scfh }
part pressure-sensor other { span 0 .. 15 psi, error 0.1 psi, proof 60 psi }
flow-sensor f1 {
    span 0 .. 100 scfh
    step 0.2 scfh
    error 0.3 scfh
    proof 60 psi
    limit high 10 scfh major deadband 0.6 scfh
}
";
    let sizing = sized(&compose(OFFICE, parts), "f1");
    let verdicts: Vec<_> = sizing
        .parts
        .iter()
        .map(|part| (&*part.name, part.fits, part.is_chosen))
        .collect();
    assert_eq!(
        verdicts,
        [
            ("f1 as it is", Some(false), false),
            ("wide", Some(true), false),
            ("narrow", Some(false), false),
            ("right", Some(true), false),
            ("weak", Some(false), false),
            ("unsaid", None, false),
            ("of-it", Some(true), true),
        ]
    );
    let against = |name: &str| {
        sizing
            .parts
            .iter()
            .find(|part| part.name == name)
            .unwrap()
            .faults
            .join("; ")
    };
    assert!(
        against("weak").contains("proof 10 psi against 15 psi"),
        "{}",
        against("weak")
    );
    assert!(
        against("narrow").contains("the leak worth a visit reads 11.99 scfh: off scale"),
        "{}",
        against("narrow")
    );
    // The loss of another part is not counted, and that is said.
    let lossy = parts.replace("narrow { ", "narrow { loss 0.5 psi at 10 scfh, ");
    let says_of_loss = |parts: &str| {
        let sizing = sized(&compose(OFFICE, parts), "f1");
        sizing
            .notes
            .iter()
            .any(|note| note.contains("computed with the loss that it has now"))
    };
    assert_eq!([parts, &lossy].map(says_of_loss), [false, true]);
}

#[test]
fn where_no_part_fits_a_top_is_wanted_that_has_the_reading_in_its_middle() {
    let wide = "flow-sensor f1 { span 0 .. 100 scfh, error 0.3 scfh, proof 60 psi, limit high 10 scfh major deadband 0.6 scfh }";
    let sizing = sized(&compose(OFFICE, wide), "f1");
    let take = figure(&sizing, "top of the span").choice.as_ref().unwrap();
    // By hand: 7 scfh is half of 14.
    assert!(
        (find("scfh").unwrap().from_si(take.amount.si) - 14.0).abs() < 0.02,
        "{take:?}"
    );
    assert!(!sizing.parts.iter().any(|part| part.is_chosen));
}

#[test]
fn a_span_that_is_empty_or_begins_too_high_does_not_fit_and_its_top_is_bounded_all_the_same() {
    // 7 scfh lies below a span that begins at 9 scfh: by hand, one from 0 ends between 12 scfh, with the leak on scale, and 28 scfh.
    for span in ["9 .. 30 scfh", "9 .. 9 scfh", "15 .. 0 scfh"] {
        let other = format!("flow-sensor f1 {{ span {span}, step 0.2 scfh, error 0.3 scfh, proof 60 psi }}");
        let sizing = sized(&compose(OFFICE, &other), "f1");
        let top = figure(&sizing, "top of the span");
        close(bracket(top, "scfh"), (12.0, 28.0), 0.02);
        assert_eq!(sizing.parts[0].fits, Some(false), "{span}: {:?}", sizing.parts);
        assert!(
            sizing.notes[0].ends_with("begins at 0 scfh"),
            "{span}: {:?}",
            sizing.notes
        );
        assert_eq!(
            figure(&sizing, "proof pressure").stated.as_ref().unwrap().0.shown,
            "60 psi"
        );
    }
}

#[test]
fn a_conductor_that_no_table_has_leaves_its_fuse_to_the_maker() {
    // NEC 240.4(D) begins at 18 AWG [from memory].
    let sizing = sized(&compose(OFFICE, "power pdf fuse 1 -> m1 with 3 A, 22 awg, 6 m"), "m1");
    let fuse = figure(&sizing, "fuse");
    close(bracket(fuse, "A"), (1.235, 7.0), 1e-3);
    assert!(
        fuse.missing
            .iter()
            .any(|missing| missing.contains("22 awg") && missing.contains("thinner")),
        "{fuse:?}"
    );
}

#[test]
fn what_is_missing_is_named_and_nothing_is_guessed() {
    let unsaid = "flow-sensor f1 { span 0 .. 15 scfh, limit high 10 scfh major }
cable c101 { pairs 50, gauge 24 awg, rating 20 psi, section s1 { underground 1.2 km, usage 3 scfh }, section s2 { buried 2 km } }";
    let sizing = sized(&compose(OFFICE, unsaid), "f1");
    let top = figure(&sizing, "top of the span");
    assert!(
        top.missing
            .iter()
            .any(|missing| missing.contains("what f1 reads when all is well")),
        "{top:?}"
    );
    assert!(top.choice.is_none() && top.most.is_empty(), "{top:?}");
    assert_eq!(sizing.parts[0].fits, None);
}

#[test]
fn names_that_nothing_has_are_unknown() {
    let settings = Settings::default();
    for name in ["nobody", "ps1 flow", "f1 pressure", "r1 high", ""] {
        assert!(
            matches!(sized_by(OFFICE, name, &settings), SizingAnswer::Unknown),
            "{name}"
        );
    }
    assert!(matches!(sized_by(OFFICE, "mf", &settings), SizingAnswer::Nothing(_)));
}

/// The lowest pressure in each section of c101, in psi.
fn lowest(text: &str) -> Vec<f64> {
    let office: Office = lowered(text);
    let prediction = Prediction::new(&office, &Networks::new(&office));
    let air = &prediction.air;
    let line = &air.lines()[0];
    let psi = find("psi").unwrap();
    let pressures = line
        .sections
        .iter()
        .map(|section| air.lowest(line, section).unwrap().1.pascals());
    pressures.map(|pascals| psi.from_si(pascals)).collect()
}

#[test]
fn a_regulator_set_to_the_least_gives_the_neediest_section_its_minimum() {
    let regulator = |set: f64, droop: f64| {
        let text = format!(
            "regulator r1 {{ set {set} psi, differential 5 psi, droop {droop} psi/scfh, inlet-max 60 psi, flow-max 80 scfh, relief 15 psi }}"
        );
        compose(OFFICE, &text)
    };
    for droop in [0.0, 0.05] {
        let sizing = sized(&regulator(10.0, droop), "r1");
        let set = figure(&sizing, "set pressure");
        let (least, most) = bracket(set, "psi");
        // The relief opens at 15 psi, which is less than what everything else bears.
        close((0.0, most), (0.0, 15.0), 1e-9);
        // Put in and solved again, section s1 has its 5 psi, and s2 more than its 3 psi.
        let found = lowest(&regulator(least, droop));
        assert!(
            (found[0] - 5.0).abs() < 2e-3 && found[1] > 3.0,
            "{least} psi: {found:?}"
        );
        assert_eq!(set.choice.as_ref().map(|choice| &*choice.amount.shown), Some("10 psi"));
    }
    // By hand, at 310 m in 14.165 psia: (10 + 14.165)² − (8.771 + 14.165)² = 57.9; √((5 + 14.165)² + 57.9) − 14.165 = 6.455 psi.
    let sizing = sized(OFFICE, "r1");
    let (least, _) = bracket(figure(&sizing, "set pressure"), "psi");
    assert!((least - 6.455).abs() < 0.01, "{least}");
}

#[test]
fn a_regulator_that_is_set_too_low_is_told_what_to_take() {
    let low = compose(
        OFFICE,
        "regulator r1 { set 6 psi, differential 5 psi, inlet-max 60 psi, flow-max 80 scfh, relief 15 psi }",
    );
    let sizing = sized(&low, "r1");
    let set = figure(&sizing, "set pressure");
    let least = set.at_least().unwrap().amount.si;
    // By hand: 2 % (set-within) above the least, to four digits.
    assert!(
        (set.choice.as_ref().unwrap().amount.si * 0.98 / least - 1.0).abs() < 1e-4,
        "{set:?}"
    );
    // The section's depth of 2 m is a head of 2.845 psi [1000 kg/m³ × 9.80665 m/s² × 2 m], which needs less than its minimum.
    assert!(
        set.least.iter().any(|bound| bound.inputs[0].what.contains("2.845 psi")),
        "{set:?}"
    );
}

#[test]
fn a_regulator_between_a_need_and_a_rating_that_contradict_has_nothing_right() {
    let contradicting = compose(
        OFFICE,
        "office elm-hollow { title \"Elm Hollow\", site \"ELMH01\", elevation 310 m, stage installed, air-minimum { underground 14.5 psi } }",
    );
    let sizing = sized(&contradicting, "r1");
    let set = figure(&sizing, "set pressure");
    assert!(set.is_empty() && set.choice.is_none(), "{set:?}");
    assert!(set.missing.iter().any(|missing| missing.contains("c101")), "{set:?}");
}

#[test]
fn a_low_limit_lies_between_the_minimum_and_the_normal_reading() {
    // By hand: error 0.2 psi and half a step of 0.1 psi are 0.25 psi. The minimum of 3 psi where ps1 is makes 3.25 psi; 7.562 psi when
    // all is well make 7.312 psi; less two steps, at a whole step, 7.1 psi.
    let sizing = sized(OFFICE, "ps1 low");
    let limit = figure(&sizing, "limit");
    close(bracket(limit, "psi"), (3.25, 7.312), 2e-3);
    assert_eq!(
        limit.choice.as_ref().map(|choice| &*choice.amount.shown),
        Some("7.1 psi")
    );
    let deadband = figure(&sizing, "deadband");
    // 7.562 − 7.1 − 0.25 psi.
    close(bracket(deadband, "psi"), (0.2, 0.212), 2e-3);
    assert_eq!(
        deadband.choice.as_ref().map(|choice| &*choice.amount.shown),
        Some("0.2 psi")
    );
}

#[test]
fn a_high_limit_of_a_flow_lies_below_the_leak_worth_a_visit() {
    // By hand: error 0.3 scfh and half a step of 0.2 scfh are 0.4 scfh: 7 + 0.4 and 7 + 5 − 0.4 scfh; two steps above the former
    // 7.8 scfh, which surely tells 7.8 + 0.4 − 7 = 1.2 scfh more.
    let sizing = sized(OFFICE, "f1 high");
    let limit = figure(&sizing, "limit");
    close(bracket(limit, "scfh"), (7.4, 11.6), 0.02);
    assert_eq!(
        limit.choice.as_ref().map(|choice| &*choice.amount.shown),
        Some("7.8 scfh")
    );
    assert!(
        sizing.notes[0].contains("surely tells 1.2 scfh more"),
        "{:?}",
        sizing.notes
    );
}

#[test]
fn a_limit_that_is_taken_is_quiet_when_all_is_well_and_tells_the_leak_that_it_promises() {
    use drysheath_engineering::measure::Flow;
    let office = lowered(OFFICE);
    let networks = Networks::new(&office);
    let prediction = Prediction::new(&office, &networks);
    let sizing = sized(OFFICE, "ps1 low");
    let psi = find("psi").unwrap();
    let trips = psi.from_si(figure(&sizing, "limit").choice.as_ref().unwrap().amount.si) - 0.25;
    let told = sizing.notes[0].split(" scfh").next().unwrap();
    let leak: f64 = told.rsplit(' ').next().unwrap().parse().unwrap();
    let spot = LinePoint {
        thing: office.named("c101").unwrap(),
        branch: None,
        metres: 3200.0,
    };
    // The network solved with a leak a hundredth larger, and a hundredth smaller, as `when` solves it.
    for (part, is_told) in [(1.01, true), (0.99, false)] {
        let flow = Flow::from_cubic_metres_per_second(find("scfh").unwrap().to_si(leak * part));
        let changes = [NetworkChange::Leaks(spot, flow)];
        let state = prediction.air.in_state(&office, &networks, &changes).unwrap();
        let left = psi.from_si(state.pressure_along(&state.lines()[0], 3200.0).unwrap().pascals());
        assert_eq!(
            left < trips,
            is_told,
            "{left} psi with {leak} x {part} scfh, {trips} psi"
        );
    }
}

#[test]
fn a_sensor_that_errs_too_much_has_no_right_limit() {
    // By hand: 1.05 psi for the error and half a step, between a minimum of 6 psi and 7.562 psi when all is well: 7.05 and 6.512 psi.
    let poor = "pressure-sensor ps1 { at c101 3.2 km, span 0 .. 15 psi, step 0.1 psi, error 1 psi, proof 30 psi, limit low 7 psi minor }
office elm-hollow { title \"Elm Hollow\", site \"ELMH01\", elevation 310 m, stage installed, air-minimum { buried 6 psi } }";
    let sizing = sized(&compose(OFFICE, poor), "ps1 low");
    let limit = figure(&sizing, "limit");
    close(bracket(limit, "psi"), (7.05, 6.512), 2e-3);
    assert!(limit.is_empty() && limit.choice.is_none(), "{limit:?}");
}

#[test]
fn a_second_limit_comes_after_the_first() {
    let two = "flow-sensor f1 { span 0 .. 15 scfh, step 0.2 scfh, error 0.3 scfh, proof 60 psi
        limit high 9 scfh major deadband 0.6 scfh, limit high-high 12 scfh critical deadband 0.6 scfh }";
    let text = compose(OFFICE, two);
    // By hand: a step past the other; 15 − 0.3 scfh at the top.
    close(
        bracket(figure(&sized(&text, "f1 high-high"), "limit"), "scfh"),
        (9.2, 14.7),
        1e-6,
    );
    let high = sized(&text, "f1 high");
    assert!(
        figure(&high, "limit")
            .most
            .iter()
            .any(|bound| bound.amount.shown == "11.8 scfh")
    );
    // Nothing says what would be too little.
    let low = sized(&text, "f1 low");
    assert!(
        figure(&low, "limit")
            .missing
            .iter()
            .any(|missing| missing.contains("no practice"))
    );
}

#[test]
fn a_feed_has_the_smallest_conductor_that_keeps_the_voltage_and_a_fuse_that_carries_the_load() {
    // By hand. 40 W at 40.5 V are 0.98765 A, and 1.25 times that 1.2346 A [NEC 210.20(A)]: a fuse of 3 A [240.6(A)]; 14 AWG may have
    // 15 A [240.4(D)]. From 43 V to 40.5 V at 40 W: 40.5 V × 2.5 V / 40 W = 2.5313 ohm there and back. Copper has 1/58 ohm mm²/m
    // [IEC 60028], at 40 °C 1.0786 times that, 0.018597: 2 × 300 m × 0.018597 / 2.5313 = 4.408 mm², and 4.409 beside 1 m of 1/0 AWG (53.5 mm²), which
    // 10 AWG (5.261 mm²) has and 12 AWG (3.309 mm²) has not.
    let text = compose(
        OFFICE,
        r#"
office elm-hollow { title "Elm Hollow", hottest-wire 40 degC }
power main -> pdf with 30 A, 1/0 awg, 1 m
power pdf fuse 1 -> m1 with 1 A, 14 awg, 300 m
"#,
    );
    let sizing = sized(&text, "m1");
    let fuse = figure(&sizing, "fuse");
    close(bracket(fuse, "A"), (1.2346, 15.0), 1e-3);
    assert_eq!(fuse.choice.as_ref().unwrap().amount.shown, "3 A");
    let conductor = figure(&sizing, "conductor");
    let least = conductor.at_least().unwrap().amount.si * 1e6;
    assert!((least - 4.409).abs() < 5e-3, "{least} mm2: {:?}", conductor.missing);
    assert!(!conductor.holds(conductor.stated.as_ref().unwrap().0.si));
    assert_eq!(conductor.choice.as_ref().unwrap().amount.shown, "10 awg");
    // Put in, both stay: the fuse as it is, and the conductor as the smallest.
    let text = text.replace("with 1 A, 14 awg, 300 m", "with 3 A, 10 awg, 300 m");
    let sizing = sized(&text, "m1");
    for figure in &sizing.figures {
        assert!(figure.holds(figure.stated.as_ref().unwrap().0.si), "{figure:?}");
    }
}

#[test]
fn a_feed_of_unknown_length_has_no_conductor_to_take() {
    let text = compose(OFFICE, "power pdf fuse 1 -> m1 with 3 A, 14 awg\n");
    let sizing = sized(&text, "m1");
    let conductor = figure(&sizing, "conductor");
    assert!(conductor.choice.is_none(), "{conductor:?}");
    assert!(
        conductor.missing[0].contains("size and length"),
        "{:?}",
        conductor.missing
    );
}

#[test]
fn a_large_fuse_asks_for_a_thick_conductor() {
    // NEC Table 310.16 with 240.4(B): 30 A go with 10 AWG.
    let text = compose(OFFICE, "power pdf fuse 1 -> m1 with 30 A, 14 awg, 6 m\n");
    let sizing = sized(&text, "m1");
    let fuse = figure(&sizing, "fuse");
    assert!(!fuse.holds(30.0), "14 AWG may have 15 A");
    assert_eq!(fuse.choice.as_ref().unwrap().amount.shown, "3 A");
    assert_eq!(
        figure(&sizing, "conductor").choice.as_ref().unwrap().amount.shown,
        "14 awg"
    );
}

/// The example with a pipe of a bore before its cable.
fn piped(bore: &str) -> String {
    compose(
        OFFICE,
        &format!(
            "
air-pipe ap1 {{ length 1 km, {bore} rating 20 psi }}
air mf port 1 -> ap1 with 3/8 in tube, 1/4 in bore, 3 m
air ap1 -> c101
part air-pipe narrow {{ bore 6 mm, rating 60 psi }}
part air-pipe middle {{ bore 10 mm, rating 60 psi }}
part air-pipe wide {{ bore 20 mm, rating 60 psi }}
"
        ),
    )
}

#[track_caller]
fn least_bore(text: &str, name: &str, loss: Option<&str>) -> (Sizing, f64) {
    let SizingAnswer::Told(sizing) = sized_for(text, name, &Settings::default(), loss) else {
        panic!("{name} is not sized");
    };
    let least = figure(&sizing, "bore").at_least().unwrap().amount.si;
    (sizing, least)
}

/// What is lost from the start of the pipe to its end, and the pressure at the end of s1 of the cable, in psi.
fn lost(text: &str) -> (f64, f64) {
    let office = lowered(text);
    let air = Prediction::new(&office, &Networks::new(&office)).air;
    let line = |name| {
        let thing = office.named(name).unwrap();
        air.lines().iter().find(|line| line.thing == thing).unwrap()
    };
    let psi = |name, metres| {
        find("psi")
            .unwrap()
            .from_si(air.pressure_along(line(name), metres).unwrap().pascals())
    };
    (psi("ap1", 0.0) - psi("ap1", 1000.0), psi("c101", 1200.0))
}

#[test]
fn a_pipe_of_the_least_bore_loses_what_is_wanted() {
    let (sizing, bore) = least_bore(&piped("bore 20 mm,"), "ap1", Some("0.5 psi"));
    let (loss, _) = lost(&piped(&format!("bore {} mm,", bore * 1e3)));
    assert!((loss - 0.5).abs() < 1e-5, "{bore} m loses {loss} psi");
    // By hand: 7 scfh are 5.506e-5 m³/s, and μ(60 °F) = 1.7957e-5 Pa·s. From (10 + 14.165)² less what the tubes lose, nearly nothing, to
    // (9.5 + 14.165)² psi² are 23.91 psi² or 1.1368e9 Pa². d⁴ = 256·μ·1000 m·101 325 Pa·Q/(π·1.1368e9 Pa²) = 7.181e-9 m⁴: 9.206 mm.
    assert!((bore - 9.206e-3).abs() < 2e-5, "{bore}");
    let fit = |sizing: &Sizing| {
        let parts = sizing
            .parts
            .iter()
            .map(|part| (part.name.clone(), part.fits, part.is_chosen));
        parts.collect::<Vec<_>>()
    };
    let of = |name: &str, fits, is_chosen| (name.to_owned(), Some(fits), is_chosen);
    // It may stay as it is, so that no other is to be taken.
    assert_eq!(
        fit(&sizing),
        [
            of("narrow", false, false),
            of("middle", true, false),
            of("wide", true, false)
        ]
    );
    assert_eq!(
        figure(&sizing, "bore").choice.as_ref().unwrap().amount.shown,
        "20 mm",
        "as it is"
    );
    let (too_narrow, _) = least_bore(&piped("bore 9 mm,"), "ap1", Some("0.5 psi"));
    assert_eq!(
        fit(&too_narrow),
        [
            of("narrow", false, false),
            of("middle", true, true),
            of("wide", true, false)
        ]
    );
    // It can be asked before there is a bore, and nothing else is known of the air then.
    let (sizing, unstated) = least_bore(&piped(""), "ap1", Some("0.5 psi"));
    assert!((unstated / bore - 1.0).abs() < 1e-9);
    assert_eq!(figure(&sizing, "bore").choice.as_ref().unwrap().amount.shown, "9.3 mm");
}

#[test]
fn a_pipe_of_the_least_bore_leaves_the_cable_behind_it_what_it_needs() {
    let (sizing, bore) = least_bore(&piped("bore 20 mm,"), "ap1", None);
    let (_, pressure) = lost(&piped(&format!("bore {} mm,", bore * 1e3)));
    // The end of s1 has its minimum of 5 psi, which is nearest to being missed.
    assert!((pressure - 5.0).abs() < 1e-5, "{pressure} psi with {bore} m");
    let bound = figure(&sizing, "bore").at_least().unwrap();
    assert!(
        bound.why.contains("c101") && bound.inputs[0].shown == "5 psi",
        "{bound:?}"
    );
    assert!(
        figure(&sizing, "bore")
            .missing
            .iter()
            .any(|missing| missing.contains("--loss"))
    );
}

#[test]
fn a_bore_leaves_regulators_behind_it_in_regulation_and_what_is_behind_those_what_it_needs() {
    let text = |set: &str, bore: f64| {
        compose(
            OFFICE,
            &format!(
                "
air-pipe ap1 {{ length 1 km, bore {} mm, rating 20 psi }}
regulator r2 {{ set {set}, differential 1 psi, inlet-max 60 psi }}
air mf port 1 -> ap1 -> r2 -> c101 with 3/8 in tube, 1/4 in bore, 3 m
",
                bore * 1e3
            ),
        )
    };
    // With 8 psi behind it the cable has what it needs; so what bounds the bore is that r2 stays in regulation.
    let (sizing, bore) = least_bore(&text("8 psi", 20e-3), "ap1", None);
    let bound = figure(&sizing, "bore").at_least().unwrap();
    assert!(bound.why.contains("at the inlet of r2"), "{bound:?}");
    let state = |bore: f64| {
        let office = lowered(&text("8 psi", bore));
        let air = Prediction::new(&office, &Networks::new(&office)).air;
        air.through(office.named("r2").unwrap()).unwrap().regulator
    };
    assert_eq!(state(bore), Some(RegulatorState::Regulating));
    assert_eq!(state(bore * (1.0 - 1e-5)), Some(RegulatorState::OutOfRegulation));
    // With less behind it the cable never has its minimum, whatever the bore: nothing is to be taken.
    let SizingAnswer::Told(sizing) = sized_for(&text("2 psi", 20e-3), "ap1", &Settings::default(), Some("0.5 psi"))
    else {
        panic!("nothing is told");
    };
    let bore = figure(&sizing, "bore");
    assert!(bore.choice.is_none(), "{bore:?}");
    assert!(bore.missing.iter().any(|missing| missing.contains("c101")), "{bore:?}");
}

#[test]
fn a_pipe_that_is_too_weak_is_not_taken() {
    let parts = |rating: &str| {
        let text = piped("bore 9 mm,").replace("bore 10 mm, rating 60 psi", &format!("bore 10 mm, rating {rating}"));
        let (sizing, _) = least_bore(&text, "ap1", Some("0.5 psi"));
        let part = sizing.parts.into_iter().find(|part| part.name == "middle").unwrap();
        (part.fits, part.is_chosen)
    };
    assert_eq!(parts("60 psi"), (Some(true), true));
    assert_eq!(parts("5 psi"), (Some(false), false));
}

#[test]
fn a_tube_is_sized_with_those_of_its_run() {
    let (sizing, bore) = least_bore(OFFICE, "r1 -> f1", Some("0.02 psi"));
    assert_eq!(sizing.of, "d1 -> r1 -> f1 -> mf");
    assert!((1e-3..6.35e-3).contains(&bore), "{bore}");
    let settings = Settings::default();
    assert!(matches!(sized_by(OFFICE, "f1 -> r1", &settings), SizingAnswer::Unknown));
    // A loss is that of a pipe or tube.
    let sensor = sized_for(OFFICE, "f1", &settings, Some("0.5 psi"));
    assert!(
        matches!(&sensor, SizingAnswer::Nothing(why) if why.contains("--loss")),
        "{sensor:?}"
    );
    for wrong in ["0.5", "0.5 scfh", "0 psi", "-1 psi", "20 psia", "psi"] {
        assert!(wanted_loss(wrong).is_err(), "{wrong}");
    }
}

#[test]
fn a_battery_carries_its_loads_as_long_as_wanted() {
    // By hand: 40 W at 43 V are 0.9302 A; 2 x 5 m of 6 awg (13.30 mm2) and 2 x 6 m of 14 awg (2.081 mm2) of copper (1/58 ohm mm2/m at 20 degC,
    // 0.00393/K; IEC 60028, from memory) have 0.1212 ohm at 40 degC, so that 42.89 V arrive, and 40 W are 0.9327 A: for 8 h 7.461 Ah, and
    // 9.327 Ah where 80 % are left of them. 100 Ah / 0.9327 A = 107.2 h, 80 Ah 85.8 h.
    let battery = |capacity: &str| {
        let text = format!("battery main {{ nominal -48 V, working -43 V .. -54 V, filtered yes{capacity} }}");
        compose(OFFICE, &text)
    };
    let sizing = sized(&battery(", capacity 100 Ah"), "main");
    let capacity = figure(&sizing, "capacity");
    close(bracket(capacity, "Ah"), (9.327, f64::NAN), 1e-3);
    assert_eq!(capacity.choice.as_ref().unwrap().amount.shown, "100 Ah");
    assert!(
        sizing.notes[0].contains("for 4.5 d, and at the end of its life for 3.6 d"),
        "{:?}",
        sizing.notes
    );
    let sizing = sized(&battery(""), "main");
    assert_eq!(
        figure(&sizing, "capacity").choice.as_ref().unwrap().amount.shown,
        "10 Ah"
    );
    // Faster than it is rated for it gives less, and how much only its maker knows.
    let small = sized(&battery(", capacity 5 Ah"), "main");
    assert!(small.notes[0].contains("for less than 8 h"), "{:?}", small.notes);
    let (settings, problems) = Settings::read("[practice]\nbattery-lasts = \"24 h\"\n");
    assert_eq!(problems, []);
    let SizingAnswer::Told(sizing) = sized_by(&battery(""), "main", &settings) else {
        panic!("nothing is told");
    };
    close(bracket(figure(&sizing, "capacity"), "Ah"), (27.98, f64::NAN), 2e-3);
    // A load that two batteries feed counts for each: the other may be dead.
    let other = "battery other { nominal -48 V, working -43 V .. -54 V, filtered yes }\npower other -> m1 with 3 A, 14 awg, 6 m\n";
    let both = compose(OFFICE, other);
    for (name, hours) in [("main", 9.327), ("other", 9.324)] {
        close(
            bracket(figure(&sized(&both, name), "capacity"), "Ah"),
            (hours, f64::NAN),
            1e-3,
        );
    }
    // Where the wires are not stated they count for nothing, and that is told.
    let unstated = sized(
        &compose(OFFICE, "# without power pdf\npower pdf fuse 1 -> m1 with 3 A\n"),
        "main",
    );
    close(bracket(figure(&unstated, "capacity"), "Ah"), (9.302, f64::NAN), 1e-3);
    let note = "what the wires to m1 lose is not known and does not count";
    assert!(
        unstated.notes.iter().any(|other| other.starts_with(note)),
        "{:?}",
        unstated.notes
    );
    // What cannot run at the end of discharge has no current.
    let far = sized(
        &compose(
            OFFICE,
            "# without power pdf\npower pdf fuse 1 -> m1 with 3 A, 22 awg, 250 m\n",
        ),
        "main",
    );
    let missing = &figure(&far, "capacity").missing;
    assert!(
        missing[0].starts_with("what m1 draws at the end of discharge: 40.0 W cannot arrive"),
        "{missing:?}"
    );
    // What is not known of a load is not guessed.
    let undrawn = OFFICE.replacen("    draws           40 W\n", "", 1);
    let sizing = sized(&undrawn, "main");
    assert!(figure(&sizing, "capacity").missing[0].contains("m1"), "{sizing:?}");
}
