//! Pressures over time: how long they hold, and what is expected for or within a time.

use drysheath_prediction::{DefaultMinimums, Fall, HoldUp, NoState, hold_up};

use super::air::{Computed, psi, whole};

const NO_PRACTICE: DefaultMinimums = [None; 3];

/// A cable that two dryers feed, each through a regulator of its own. Its pressures are those of the first.
fn two_dryers(capacity: &str) -> String {
    format!(
        "
dryer d1 {{ compressor piston, delivers 30 psi, capacity 100 scfh, dew-point -40 degC }}
dryer d2 {{ compressor piston, delivers 30 psi, capacity {capacity}, dew-point -40 degC }}
regulator r1 {{ set 10 psi, differential 5 psi }}
regulator r2 {{ set 9.5 psi, differential 5 psi }}
manifold mf {{ ports 4 }}
air d1 -> r1 -> mf with 3/8 in tube, 1/4 in bore, 4 m
air d2 -> r2 -> mf with 3/8 in tube, 1/4 in bore, 4 m
air mf port 1 -> c1 with 3/8 in tube, 1/4 in bore, 3 m
cable c1 {{ pairs 50, gauge 24 awg
    section s1 {{ buried 1 km, resistance 0.1 psi/scfh/kft, usage 3 scfh, volume 8 ft3, minimum 4 psi }}
}}
"
    )
}

impl Computed {
    fn hold_up(&self, stops: &[&str]) -> HoldUp<'_> {
        let stops: Vec<_> = stops.iter().map(|name| self.id(name)).collect();
        hold_up(&self.office, &self.networks, &NO_PRACTICE, &self.prediction.air, &stops)
    }

    #[track_caller]
    fn fall(&self, stops: &[&str]) -> Fall<'_> {
        match self.hold_up(stops) {
            HoldUp::Falls(fall) => fall,
            other => panic!("{other:?}"),
        }
    }
}

#[test]
fn another_source_keeps_the_pressures_only_within_its_capacity() {
    let found = whole(&two_dryers("4 scfh"));
    assert!(matches!(found.hold_up(&["d1"]), HoldUp::Lasts));
    let both = found.fall(&["d1", "d2"]).time.seconds();
    // It keeps a third of what is lost: the pressures fall all the same, only later.
    let found = whole(&two_dryers("1 scfh"));
    let alone = found.fall(&["d1"]).time.seconds();
    assert!(
        (1.1 * both..10.0 * both).contains(&alone),
        "{alone} s, {both} s without it"
    );
}

#[test]
fn no_hold_up_starts_from_pressures_that_a_source_cannot_keep() {
    let one = two_dryers("100 scfh").replace("air d2", "# air d2");
    let found = whole(&one);
    assert!(psi(found.prediction.air.inlet(found.id("mf")).unwrap()) > 9.9);
    found.fall(&["d1"]);
    let found = whole(&one.replacen("capacity 100 scfh", "capacity 2 scfh", 1));
    let HoldUp::NotKnown(why) = found.hold_up(&["d1"]) else {
        panic!("{:?}", found.hold_up(&["d1"]));
    };
    assert_eq!(why, NoState::NormalOverloaded(found.id("d1")));
}
