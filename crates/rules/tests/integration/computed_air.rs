//! Rules about computed pressures and flows: one result for one mistake, whatever else follows from it.

use drysheath_rules::Settings;
use drysheath_rules::example::check;

/// The results of an example, each as its rule and the text that it marks.
fn results_with(example: &str, settings: &str) -> Vec<(String, String)> {
    let (settings, problems) = Settings::read(settings);
    assert_eq!(problems, []);
    let outcome = check(example, &settings);
    let shown = outcome.findings.iter().map(|finding| {
        let text = &outcome.texts[finding.place.file.0 as usize];
        (finding.rule.name().to_owned(), finding.place.range.of(text).to_owned())
    });
    shown.collect()
}

fn gives_with(example: &str, settings: &str, expected: &[(&str, &str)]) {
    let found = results_with(example, settings);
    let found: Vec<_> = found
        .iter()
        .map(|(rule, text)| (rule.as_str(), text.as_str()))
        .collect();
    assert_eq!(found, expected, "{example}");
}

fn gives(example: &str, expected: &[(&str, &str)]) {
    gives_with(example, "", expected);
}

/// The messages of an example.
fn messages(example: &str) -> Vec<String> {
    let outcome = check(example, &Settings::default());
    outcome.findings.into_iter().map(|finding| finding.message).collect()
}

/// The cable with other sections.
fn cable(sections: &str) -> String {
    format!("cable c101 {{ pairs 50, gauge 24 awg, rating 20 psi, {sections} }}\n")
}

const S1: &str = "section s1 { underground 1.2 km, depth 2 m, resistance 0.09 psi/scfh/kft, usage 3 scfh }";
const S2: &str = "section s2 { buried 2.0 km, resistance 0.14 psi/scfh/kft, usage 4 scfh }";

fn dryer(delivers: &str, capacity: &str) -> String {
    format!(
        "dryer d1 {{ compressor piston, delivers {delivers}, capacity {capacity}, dew-point -40 degC, \
         contact humidity {{ healthy closed }} }}\n"
    )
}

/// A second dryer on one manifold with the first, each behind a check valve.
fn second_dryer(delivers: &str, capacity: &str, dew_point: &str) -> String {
    format!(
        "accept dryer-without-contact on d2 because \"it has none\" until 2027-01-01\n\
         dryer d2 {{ compressor rotary, delivers {delivers}, capacity {capacity}, dew-point {dew_point} }}\n\
         ground d2 frame -> ogb with 10 awg, 4 m\n\
         valve v1 {{ function check }}\nvalve v2 {{ function check }}\nmanifold m9 {{ ports 1, rating 30 psi }}\n\
         air d1 -> v1 -> m9 with 3/8 in tube, 1/4 in bore, 4 m\n\
         air d2 -> v2 -> m9 with 3/8 in tube, 1/4 in bore, 4 m\n\
         air m9 port 1 -> r1 -> f1 -> mf with 3/8 in tube, 1/4 in bore, 4 m\n"
    )
}

#[test]
fn of_water_and_a_declared_minimum_the_water_is_reported() {
    let deep = |minimum: &str| {
        cable(&format!(
            "section s1 {{ underground 1.2 km, depth 6.2 m, minimum {minimum}, resistance 0.09 psi/scfh/kft, usage 3 scfh }}, {S2}"
        ))
    };
    // 6.2 m of water press with 8.82 psi, and the section has 8.77 psi.
    gives(&deep("9 psi"), &[("pressure-below-water-head", "depth 6.2 m")]);
    gives(&deep("8.8 psi"), &[("pressure-below-water-head", "depth 6.2 m")]);
    gives(&deep("5 psi"), &[("pressure-below-water-head", "depth 6.2 m")]);
    gives(
        &cable(&format!(
            "{}, {S2}",
            S1.replace("depth 2 m", "depth 2 m, minimum 9 psi")
        )),
        &[("pressure-below-minimum", "s1")],
    );
}

#[test]
fn a_cable_is_reported_once_where_it_lacks_most() {
    let low = "regulator r1 { set 5.1 psi, differential 5 psi, inlet-max 60 psi, flow-max 80 scfh, relief 15 psi }\n";
    // 5 psi are wanted in the first section and 3 in the second.
    gives(low, &[("pressure-below-minimum", "s1")]);
    let deep = S1.replace("depth 2 m", "depth 3 m");
    gives(
        &format!("{low}{}", cable(&format!("{deep}, {S2}"))),
        &[("pressure-below-water-head", "depth 3 m")],
    );
    let both = [S1, S2].map(|section| section.replace("resistance", "minimum 9 psi, resistance"));
    let sensor = "pressure-sensor ps1 { at c101 3.2 km, span 0 .. 10 psi, step 0.1 psi, error 0.2 psi, proof 30 psi, \
         limit low 9.5 psi minor deadband 0.3 psi }\n";
    gives(
        &format!("{sensor}{}", cable(&both.join(", "))),
        &[("pressure-below-minimum", "s2")],
    );
}

#[test]
fn a_supply_that_is_too_low_is_reported_at_its_regulator() {
    gives(
        &dryer("3 psi", "100 scfh"),
        &[("regulator-set-above-supply", "set             10 psi")],
    );
}

#[test]
fn a_usage_or_resistance_with_a_digit_too_many_is_one_result() {
    for slip in [
        S2.replace("usage 4 scfh", "usage 40 scfh"),
        S2.replace("usage 4 scfh", "usage 400 scfh"),
        S2.replace("0.14", "1.4"),
        S2.replace("0.14", "14"),
        // Not below a vacuum, but below the surrounding air.
        S2.replace("0.14", "1"),
    ] {
        gives(&cable(&format!("{S1}, {slip}")), &[("usage-beyond-lines", "s2")]);
    }
    let slip = S2.replace("0.14", "1");
    assert_eq!(
        messages(&cable(&format!("{S1}, {slip}"))),
        [
            "the declared usage is more than the tubes and cables can carry at this pressure: at 3.2 km on `c101` the pressure would be -2.319 psi, \
             below that of the surrounding air"
        ]
    );
}

#[test]
fn dryers_that_are_too_small_are_reported_for_that_alone() {
    // The flow is also more than the regulator's.
    gives(
        &format!(
            "{}regulator r1 {{ set 10 psi, differential 5 psi, inlet-max 60 psi, flow-max 6 scfh, relief 15 psi }}\n",
            dryer("30 psi", "5 scfh")
        ),
        &[("dryer-capacity-short", "capacity 5 scfh")],
    );
    // One of two has to deliver it all, and both together could not.
    gives(
        &format!(
            "{}{}",
            dryer("30 psi", "3 scfh"),
            second_dryer("28 psi", "3 scfh", "-40 degC")
        ),
        &[("dryer-capacity-short", "capacity 3 scfh")],
    );
    // The other would be backed up as well.
    gives(
        &format!(
            "{}{}",
            dryer("30 psi", "4 scfh"),
            second_dryer("28 psi", "40 scfh", "-40 degC")
        ),
        &[("dryer-overdrawn", "capacity 4 scfh")],
    );
    gives(
        &format!(
            "{}{}",
            dryer("30 psi", "8 scfh"),
            second_dryer("28 psi", "40 scfh", "-40 degC")
        ),
        &[("dryer-duty-cycle-high", "capacity 8 scfh")],
    );
}

#[test]
fn capacities_are_compared_on_one_basis_and_at_one_altitude() {
    let rated = |more: &str| {
        format!(
            "dryer d1 {{ compressor piston, delivers 30 psi, capacity 9 scfh, {more}dew-point -40 degC, \
             contact humidity {{ healthy closed }} }}\n"
        )
    };
    let shortly = "cables and pipes use 7 scfh, 8.75 scfh with the margin of 25 %, and `d1` delivers";
    assert_eq!(
        messages(&rated("")),
        [format!(
            "{shortly} 8.674 scfh at most: 9 scfh as stated × 0.964 since that holds at an elevation of 0 m"
        )]
    );
    assert_eq!(messages(&rated("rating-elevation 310 m, ")), [""; 0]);
    assert_eq!(
        messages(&rated(
            "rating-elevation 310 m, rating-pressure 100 kPa-abs, rating-temperature 20 degC, "
        )),
        [format!(
            "{shortly} 8.748 scfh at most: 9 scfh as stated × 0.972 since that counts at 100 kPa-abs and 20 degC"
        )]
    );
    // Air from cylinders is the same at every height.
    gives(&rated("").replace("piston", "none"), &[]);
}

#[test]
fn a_dryer_is_too_small_even_where_the_pressures_are_not_known() {
    gives(
        &format!(
            "{}  air mf port 1 -> c101 with 3/8 in tube, 3 m\n# without air mf port 1\n",
            dryer("30 psi", "7.5 scfh")
        ),
        &[
            ("dryer-margin-short", "capacity 7.5 scfh"),
            ("prediction-incomplete", "air mf port 1 -> c101 with 3/8 in tube, 3 m"),
        ],
    );
}

#[test]
fn what_is_shut_off_uses_no_air() {
    let with_valve = |stands: &str| {
        format!(
            "{}valve v9 {{ function shut-off, stands {stands} }}\n\
             cable c9 {{ pairs 1, gauge 24 awg, section s1 {{ aerial 1 km, resistance 0.1 psi/scfh/kft, usage 3 scfh }} }}\n\
             pressure-sensor ps9 {{ at c9 1 km, span 0 .. 15 psi, step 0.1 psi, error 0.2 psi, proof 30 psi, \
             limit low 9.2 psi minor deadband 0.3 psi }}\n\
             flow-sensor f1 {{ span 0 .. 15 scfh, step 0.2 scfh, error 0.3 scfh, proof 60 psi, \
             limit high 11 scfh major deadband 0.6 scfh }}\n\
             wire ps9 -> c9 pair 1 -> tb pair 5 -> m1 sensor 4\nspare tb pair 6 .. 25\nspare m1 sensor 5 .. 8\n\
             air mf port 3 -> v9 -> c9 with 3/8 in tube, 1/4 in bore, 3 m\nspare mf port 4\n\
             # without spare mf\n# without spare tb\n# without spare m1 sensor\n",
            dryer("30 psi", "11 scfh")
        )
    };
    gives(&with_valve("open"), &[("dryer-margin-short", "capacity 11 scfh")]);
    gives(&with_valve("closed"), &[("air-missing", "c9")]);
}

#[test]
fn margin_and_duty_cycle_do_not_both_speak() {
    // 7 of 11.6 scfh are 60 %.
    let example = dryer("30 psi", "12 scfh");
    let short = [("dryer-margin-short", "capacity 12 scfh")];
    gives(&example, &[]);
    gives_with(
        &example,
        "[practice]\nduty-cycle = \"50 %\"\n",
        &[("dryer-duty-cycle-high", "capacity 12 scfh")],
    );
    gives_with(
        &example,
        "[practice]\nduty-cycle = \"50 %\"\ndryer-margin = \"100 %\"\n",
        &short,
    );
    gives_with(&example, "[practice]\ndryer-margin = \"100 %\"\n", &short);
    // Exactly what the margin leaves.
    let exact = "dryer d1 { compressor none, delivers 30 psi, capacity 8.75 scfh, dew-point -40 degC, contact humidity { healthy closed } }";
    gives(exact, &[]);
}

#[test]
fn of_regulators_in_a_row_the_first_is_reported() {
    let far = |more: &str| {
        format!(
            "{}regulator r2 {{ set 7 psi, differential 3 psi, inlet-max 60 psi }}\n\
             air d1 -> r1 with 1/4 in tube, 0.17 in bore, 100 m\n\
             air r1 -> r2 -> f1 -> mf with 3/8 in tube, 1/4 in bore, 4 m\n{more}",
            dryer("15.5 psi", "100 scfh")
        )
    };
    gives(&far(""), &[("regulator-out-of-regulation", "set             10 psi")]);
}

#[test]
fn a_regulator_that_another_keeps_shut() {
    let two = |set: &str| {
        format!(
            "regulator r2 {{ set {set}, differential 5 psi, inlet-max 60 psi, flow-max 80 scfh, relief 15 psi }}\n\
             valve v2 {{ function shut-off }}\nmanifold m9 {{ ports 2, rating 30 psi }}\nmanifold m8 {{ ports 1, rating 30 psi }}\n\
             air d1 -> m9 with 3/8 in tube, 1/4 in bore, 1 m\n\
             air m9 port 1 -> r1 -> m8 with 3/8 in tube, 1/4 in bore, 1 m\n\
             air m9 port 2 -> r2 -> v2 -> m8 with 3/8 in tube, 1/4 in bore, 1 m\n\
             air m8 port 1 -> f1 -> mf with 3/8 in tube, 1/4 in bore, 4 m\n"
        )
    };
    gives(&two("10 psi"), &[]);
    gives(&two("9 psi"), &[("source-backed-up", "set 9 psi")]);
    assert_eq!(
        messages(&two("9 psi")),
        ["`r2` is set to 9 psi, and `r1` holds 10 psi for the same cables: `r2` supplies no air while the other works"]
    );
    // With a digit too many it is the set pressure that is wrong, and it is the other that is shut.
    gives(&two("100 psi"), &[("regulator-set-above-rating", "set 100 psi")]);
    // A check valve hides it from the pressures, and from nobody else.
    gives(
        &two("9 psi").replace("shut-off", "check"),
        &[("source-backed-up", "set 9 psi")],
    );
}

#[test]
fn a_stronger_dryer_is_reported_once_for_what_it_does() {
    let joined = |delivers: &str, rest: &str| {
        format!(
            "accept dryer-without-contact on d2 because \"it has none\" until 2027-01-01\n\
             dryer d2 {{ compressor rotary, delivers {delivers}, capacity 100 scfh, dew-point -40 degC }}\n\
             ground d2 frame -> ogb with 10 awg, 4 m\n\
             regulator r1 {{ set 8 psi, differential 5 psi, inlet-max 60 psi, flow-max 80 scfh, relief 9 psi }}\n\
             manifold m9 {{ ports 1, rating 30 psi }}\nair d1 -> r1 -> v1 -> m9 with 3/8 in tube, 1/4 in bore, 4 m\n\
             valve v9 {{ function check }}\nair d2 -> v9 -> m9 with 3/8 in tube, 1/4 in bore, 4 m\n\
             air m9 port 1 -> f1 -> mf with 3/8 in tube, 1/4 in bore, 4 m\n{rest}"
        )
    };
    let valve = "valve v1 { function shut-off, rating 9 psi }\n";
    // Against the arrow, up to the valve; the regulator is shut by it.
    gives(&joined("10 psi", valve), &[("pressure-above-rating", "rating 9 psi")]);
    gives(
        &joined("10 psi", "valve v1 { function shut-off, rating 11 psi }\n"),
        &[("relief-held-open", "relief 9 psi")],
    );
    // Below its relief the weaker one stands by.
    gives(
        &joined("10 psi", "valve v1 { function shut-off, rating 11 psi }\n").replace("relief 9 psi", "relief 10.5 psi"),
        &[("source-backed-up", "set 8 psi")],
    );
    // A check valve keeps the stronger air away from the relief.
    gives(
        &joined("10 psi", "valve v1 { function check, rating 11 psi }\n"),
        &[("source-backed-up", "set 8 psi")],
    );
    // The cable too stands less, and its arrows lead to that dryer: one result, which the older rule gives.
    let weak = cable(&format!("{S1}, {S2}")).replace("rating 20 psi", "rating 9.5 psi");
    gives(
        &joined(
            "10 psi",
            &format!("valve v1 {{ function shut-off, rating 11 psi }}\n{weak}"),
        ),
        &[("dryer-above-rating", "delivers 10 psi")],
    );
}

#[test]
fn the_wettest_dryer_is_reported_once() {
    let more = "cable c9 { pairs 1, gauge 24 awg, section s1 { aerial 1 km, resistance 0.1 psi/scfh/kft, usage 0.3 scfh } }\n\
                pressure-sensor ps9 { at c9 1 km, span 0 .. 20 psi, step 0.1 psi, error 0.2 psi, proof 30 psi, \
                limit low 9.2 psi minor deadband 0.3 psi }\n\
                wire ps9 -> c9 pair 1 -> tb pair 5 -> m1 sensor 4\nspare tb pair 6 .. 25\nspare m1 sensor 5 .. 8\n\
                air mf port 3 -> c9 with 3/8 in tube, 1/4 in bore, 3 m\nspare mf port 4\n\
                # without spare mf\n# without spare tb\n# without spare m1 sensor\n";
    gives(
        &format!("{}{more}", second_dryer("30 psi", "100 scfh", "-15 degC")),
        &[("dew-point-above-coldest", "dew-point -15 degC")],
    );
    assert_eq!(
        messages(&format!("{}{more}", second_dryer("30 psi", "100 scfh", "-15 degC"))),
        [
            "the air of `d2` has a dew point of -15 degC over water at 30 psi; at the start of `c9`, at 9.994 psi, that is a frost point \
             over ice of -19.83 degC, not below the -25 degC of the coldest cable"
        ]
    );
    // The cable that is not cold, and the dew point that is said of no pressure.
    gives(
        "office elm-hollow { title \"Elm Hollow\", site \"ELMH01\", elevation 310 m, coldest 10 degC, stage installed }\n\
         dryer d1 { compressor piston, delivers 30 psi, capacity 100 scfh, dew-point 5 degC, contact humidity { healthy closed } }\n",
        &[],
    );
}

#[test]
fn a_run_is_reported_once_for_its_flow() {
    // 7 scfh pass through both links of the run.
    gives(
        "valve v8 { function shut-off }\nair d1 -> v8 -> r1 with 1/8 in tube, 0.08 in bore, 6 m\nair r1 -> f1 -> mf with 3/8 in tube, 1/4 in bore, 1 m\n",
        &[("flow-not-laminar", "0.08 in bore")],
    );
    // The turbulence is the same, and costs less than any sensor here can tell.
    gives(
        "valve v8 { function shut-off }\nair d1 -> v8 -> r1 with 1/8 in tube, 0.08 in bore, 0.1 m\nair r1 -> f1 -> mf with 3/8 in tube, 1/4 in bore, 1 m\n",
        &[],
    );
    // A dryer that is too small for so much is the graver matter.
    gives(
        &format!(
            "{}valve v8 {{ function shut-off }}\nair d1 -> v8 -> r1 with 1/8 in tube, 0.08 in bore, 6 m\nair r1 -> f1 -> mf with 3/8 in tube, 1/4 in bore, 1 m\n",
            dryer("30 psi", "8 scfh")
        ),
        &[("dryer-margin-short", "capacity 8 scfh")],
    );
}

#[test]
fn figures_that_cannot_be_are_named() {
    gives(
        &cable(&format!("{S1}, {}", S2.replace("usage 4 scfh", "usage -4 scfh"))),
        &[("value-implausible", "-4 scfh")],
    );
    gives(
        "regulator r1 { set 10 psi, differential 5 psi, inlet-max 60 psi, flow-max 0 scfh, relief 15 psi }\n",
        &[("value-implausible", "0 scfh")],
    );
    gives(
        "air mf port 1 -> c101 with 3/8 in tube, 0 in bore, 3 m\n",
        &[("value-implausible", "0 in")],
    );
    // Each by itself can be meant.
    gives(
        "# without spare mf port 3\nspare mf port 4\nair mf port 3 -> ap1 with 3/8 in tube, 1/4 in bore, 3 m\n\
         air-pipe ap1 { length 100 m, bore 0.75 in, roughness 2 mm }\n",
        &[("air-not-computed", "ap1")],
    );
}
