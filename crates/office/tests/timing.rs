//! When something must hold: `for 6 h`, `within 10 min`, or once all has settled.
#![allow(clippy::unwrap_used, clippy::panic)]

use drysheath_office::{Office, PartsInMemory, Timing, lower};
use drysheath_syntax::parse;
use drysheath_text::FileId;

fn office(when: &str) -> Office {
    let text = format!(
        "office elm-hollow {{ title \"Elm Hollow\", elevation 310 m, stage planned }}
dryer d1 {{ compressor piston, delivers 30 psi, capacity 100 scfh, dew-point -40 degC }}
flow-sensor f1 {{ span 0 .. 15 scfh, step 0.2 scfh, limit high 10 scfh major deadband 0.6 scfh }}
cable c101 {{ pairs 50, gauge 24 awg, section s1 {{ buried 2 km }} }}
{when}
"
    );
    let library = PartsInMemory::new([]);
    let tree = parse(&text);
    lower(FileId(0), "offices/elm", text.into(), &tree, &library)
}

#[test]
fn a_time_behind_what_is_expected_is_read() {
    let office = office(
        "when d1 stops expect c101 above 2 psi for 6 h, no alarm for 30 min, f1 high within 10 min, c101 above 1 psi within 2 d, c101 above 1 psi",
    );
    assert!(office.problems.is_empty(), "{:?}", office.problems);
    let timings: Vec<String> = office
        .whens
        .iter()
        .flat_map(|when| &when.expected)
        .map(|expected| match expected.timing {
            Timing::Settled => "settled".to_owned(),
            Timing::For(time) => format!("for {time}, {} s", time.si()),
            Timing::Within(time) => format!("within {time}, {} s", time.si()),
        })
        .collect();
    assert_eq!(
        timings,
        [
            "for 6 h, 21600 s",
            "for 30 min, 1800 s",
            "within 10 min, 600 s",
            "within 2 d, 172800 s",
            "settled"
        ]
    );
}

#[test]
fn a_time_that_does_not_fit_is_refused() {
    for (expected, message) in [
        ("f1 high for 1 h", "an alarm is expected `within` a time, not `for` one"),
        (
            "no alarm within 1 h",
            "that no alarm comes can be expected for a time, not within one",
        ),
    ] {
        let office = office(&format!("when d1 stops expect {expected}"));
        let messages: Vec<&str> = office.problems.iter().map(|problem| &*problem.message).collect();
        assert_eq!(messages, [message], "{expected}");
    }
    for expected in [
        "c101 above 2 psi for",
        "c101 above 2 psi for 3 psi",
        "c101 above 2 psi for 6",
        "f1 high within 900 d",
    ] {
        let office = office(&format!("when d1 stops expect {expected}"));
        assert_eq!(office.problems.len(), 1, "{expected}: {:?}", office.problems);
        assert!(office.whens.is_empty());
    }
}

#[test]
fn events_that_leave_no_room_for_each_other_are_refused() {
    for (events, message) in [
        ("d1 stops, d1 stops", "`d1 stops` is written twice"),
        (
            "c101 section s1 has usage 1 scfh, c101 section s1 has usage 2 scfh",
            "`c101 section s1 has usage 1 scfh` and `c101 section s1 has usage 2 scfh` cannot both be in one state",
        ),
        (
            "c101 breaks at 2 km, c101 breaks at 2 km",
            "`c101 breaks at 2 km` is written twice",
        ),
        (
            "c101 breaks at 2 km, c101 breaks at 2000 m",
            "`c101 breaks at 2 km` and `c101 breaks at 2000 m` are the same break",
        ),
    ] {
        let office = office(&format!("when {events} expect no alarm"));
        let messages: Vec<&str> = office.problems.iter().map(|problem| &*problem.message).collect();
        assert_eq!(messages, [message], "{events}");
    }
    // These add up, and these are of different figures.
    for events in [
        "c101 leaks 1 scfh at 1 km, c101 leaks 1 scfh at 1 km, c101 breaks at 2 km",
        "c101 breaks at 1 km, c101 breaks at 2 km",
        "c101 section s1 has usage 1 scfh, c101 section s1 has resistance 0.1 psi/scfh/kft",
    ] {
        let office = office(&format!("when {events} expect no alarm"));
        assert!(office.problems.is_empty(), "{events}: {:?}", office.problems);
    }
    for size in ["-3 scfh", "0 scfh"] {
        let office = office(&format!("when c101 leaks {size} at 1 km expect no alarm"));
        assert_eq!(office.problems.len(), 1, "{size}: {:?}", office.problems);
    }
}
