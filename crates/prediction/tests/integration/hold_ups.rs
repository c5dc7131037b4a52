//! A hold-up never shrinks when something holds more air, in random offices.
//!
//! Once sources stop, no pressure rises: what flows to a place only gets less. What holds more air then falls more slowly, and so does all that
//! is joined with it. The bore of a pipe is left alone, since it changes the normal state too.

use drysheath_prediction::{HoldUp, StateError};

use super::air::{Computed, whole};

const TUBE: &str = "with 3/8 in tube, 1/4 in bore, 3 m";

/// A section: metres, psi/scfh/kft, scfh and ft³.
struct Laid {
    metres: f64,
    k: f64,
    usage: f64,
    volume: f64,
}

/// A cable with a branch near its beginning and a regulator before it, where it has them.
struct Cable {
    sections: Vec<Laid>,
    branch: Option<Laid>,
    /// What the regulator is set to.
    set: Option<f64>,
}

/// A source beside `d1`, which gives air once that has stopped.
enum Second {
    None,
    /// A dryer of so many scfh.
    Dryer(f64),
    /// Bottles with so many scf.
    Bottle(f64),
}

/// An office whose figures are invented.
struct Plan {
    set: f64,
    least: f64,
    /// Their m³: before the regulator and behind it.
    tanks: [Option<f64>; 2],
    second: Second,
    /// By how much the second source is set lower than the first.
    lower: f64,
    cables: Vec<Cable>,
    /// A pipe of this length in metres.
    pipe: Option<f64>,
}

impl Laid {
    fn new(chance: &mut fastrand::Rng) -> Self {
        let metres = between(chance, 200.0, 1500.0);
        Self {
            metres,
            k: between(chance, 0.03, 0.14),
            usage: between(chance, 0.1, 0.7),
            volume: metres / 1000.0 * between(chance, 2.0, 12.0),
        }
    }

    fn text(&self, name: &str, least: f64) -> String {
        let Self {
            metres,
            k,
            usage,
            volume,
        } = self;
        format!(
            "section {name} {{ buried {metres} m, resistance {k} psi/scfh/kft, usage {usage} scfh, volume {volume} ft3, \
             minimum {least} psi }}\n"
        )
    }
}

fn between(chance: &mut fastrand::Rng, low: f64, high: f64) -> f64 {
    low + (high - low) * chance.f64()
}

impl Cable {
    fn new(chance: &mut fastrand::Rng) -> Self {
        Self {
            sections: (0..chance.usize(1..4)).map(|_| Laid::new(chance)).collect(),
            branch: (chance.f64() < 0.3).then(|| Laid::new(chance)),
            set: (chance.f64() < 0.4).then(|| between(chance, 4.0, 6.0)),
        }
    }

    fn text(&self, number: usize, least: f64) -> String {
        let own = self.set.map(|set| {
            (
                format!("regulator q{number} {{ set {set} psi, differential 0.5 psi }}\n"),
                format!(" -> q{number}"),
            )
        });
        let (regulator, through) = own.unwrap_or_default();
        let sections = self.sections.iter().zip(1..);
        let sections: String = sections.map(|(laid, at)| laid.text(&format!("s{at}"), least)).collect();
        let branch = self.branch.as_ref().map_or_else(String::new, |laid| {
            format!("branch b1 {{ from 100 m, {} }}\n", laid.text("s1", least).trim_end())
        });
        format!(
            "{regulator}cable c{number} {{ pairs 50, gauge 24 awg\n{sections}{branch}}}\n\
             air mf port {number}{through} -> c{number} {TUBE}\n"
        )
    }
}

impl Plan {
    fn new(chance: &mut fastrand::Rng) -> Self {
        Self {
            set: between(chance, 7.0, 11.0),
            least: between(chance, 1.0, 3.5),
            tanks: [(); 2].map(|()| (chance.f64() < 0.4).then(|| between(chance, 0.02, 0.3))),
            second: match chance.usize(0..3) {
                0 => Second::None,
                1 => Second::Dryer(between(chance, 0.5, 4.0)),
                _ => Second::Bottle(between(chance, 10.0, 150.0)),
            },
            lower: between(chance, 0.3, 2.0),
            cables: (0..chance.usize(2..5)).map(|_| Cable::new(chance)).collect(),
            pipe: (chance.f64() < 0.3).then(|| between(chance, 200.0, 1200.0)),
        }
    }

    /// How much everything holds that can hold more.
    fn stores(&mut self) -> Vec<&mut f64> {
        let cables = self.cables.iter_mut();
        let sections = cables.flat_map(|cable| cable.sections.iter_mut().chain(&mut cable.branch));
        let bottle = match &mut self.second {
            Second::Bottle(holds) => Some(holds),
            _ => None,
        };
        sections
            .map(|laid| &mut laid.volume)
            .chain(self.tanks.iter_mut().flatten())
            .chain(bottle)
            .collect()
    }

    fn has_second(&self) -> bool {
        !matches!(self.second, Second::None)
    }

    fn text(&self) -> String {
        let Self { set, least, .. } = self;
        let mut said = vec![format!(
            "dryer d1 {{ compressor piston, delivers 40 psi, capacity 400 scfh, dew-point -40 degC }}\n\
             regulator r1 {{ set {set} psi, differential 1 psi }}\nmanifold mf {{ ports 9 }}\n"
        )];
        for (name, tank) in ["t1", "t2"].iter().zip(&self.tanks) {
            said.extend(tank.map(|volume| format!("tank {name} {{ volume {volume} m3, rating 60 psi }}\n")));
        }
        let [before, behind] = self.tanks;
        let first = if before.is_some() { "d1 -> t1" } else { "d1" };
        said.push(format!("air {first} -> r1 -> mf {TUBE}\n"));
        said.extend(behind.map(|_| format!("air mf port 9 -> t2 {TUBE}\n")));
        match self.second {
            Second::None => {}
            Second::Dryer(scfh) => said.push(format!(
                "dryer n1 {{ compressor piston, delivers 40 psi, capacity {scfh} scfh, dew-point -40 degC }}\n"
            )),
            Second::Bottle(scf) => said.push(format!(
                "bottle n1 {{ delivers 40 psi, holds {scf} scf, dew-point -40 degC }}\n"
            )),
        }
        if self.has_second() {
            let lower = set - self.lower;
            said.push(format!(
                "regulator r2 {{ set {lower} psi, differential 1 psi }}\nair n1 -> r2 -> mf {TUBE}\n"
            ));
        }
        said.extend(
            self.cables
                .iter()
                .zip(1..)
                .map(|(cable, number)| cable.text(number, *least)),
        );
        said.extend(self.pipe.map(|metres| {
            format!("air-pipe ap {{ length {metres} m, bore 0.5 in, usage 0.3 scfh }}\nair mf port 8 -> ap {TUBE}\n")
        }));
        said.concat()
    }
}

/// How long the pressures hold, in seconds. None where not all of the cable has pressure when all is well.
#[track_caller]
fn seconds(found: &Computed, stops: &[&str]) -> Option<f64> {
    match found.hold_up(stops) {
        HoldUp::Falls(fall) => Some(fall.time.seconds()),
        HoldUp::Lasts => Some(f64::INFINITY),
        HoldUp::NotKnown(StateError::NormalUnknown(_)) => None,
        other => panic!("{other:?}"),
    }
}

#[test]
fn never_shrink_when_something_holds_more() {
    /// The time steps err by as much, and by so many seconds.
    const CLOSE: (f64, f64) = (1e-3, 0.1);
    let (mut fallen, mut longer, mut over_another) = (0, 0, 0);
    for seed in 0..80 {
        let mut chance = fastrand::Rng::with_seed(seed);
        let mut plan = Plan::new(&mut chance);
        let before = plan.text();
        let small = whole(&before);
        let more = 1.02 + 5.0 * chance.f64().powi(2);
        let is_all = chance.f64() < 0.2;
        let mut stores = plan.stores();
        let chosen = chance.usize(..stores.len());
        for (at, store) in stores.iter_mut().enumerate() {
            if is_all || at == chosen {
                **store *= more;
            }
        }
        let large = whole(&plan.text());
        let has_second = plan.has_second();
        for stops in [&["d1"][..], &["d1", "n1"]]
            .into_iter()
            .take(1 + usize::from(has_second))
        {
            let Some((was, is)) = seconds(&small, stops).zip(seconds(&large, stops)) else {
                continue;
            };
            assert!(
                is >= was * (1.0 - CLOSE.0) - CLOSE.1,
                "office {seed}, {stops:?}: {was} s, then {is} s, with {more} times as much in {chosen} of\n{before}"
            );
            fallen += u32::from(was.is_finite() && was > 60.0);
            longer += u32::from(is > was * (1.0 + 10.0 * CLOSE.0));
            over_another += u32::from(was.is_finite() && was > 60.0 && has_second && stops.len() == 1);
        }
    }
    assert!(
        fallen >= 80 && longer >= 40 && over_another >= 20,
        "{fallen} fall, {over_another} of them beside another source; {longer} hold longer"
    );
}
