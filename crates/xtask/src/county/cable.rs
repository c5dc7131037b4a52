//! A cable of a generated office. The normal readings of its sensors are computed from its air flow.

use super::random::Random;

/// Units in which the lengths of an office are written.
#[derive(Clone, Copy)]
pub(super) struct Measure {
    /// Unit of cable routes, and its length in thousands of feet.
    pub far: &'static str,
    pub thousand_feet: f64,
    /// Unit inside the building, and how many of them are in a metre.
    pub near: &'static str,
    pub metre: f64,
}

pub(super) const METRIC: Measure = Measure {
    far: "km",
    thousand_feet: 3.280_84,
    near: "m",
    metre: 1.0,
};
pub(super) const INCH: Measure = Measure {
    far: "kft",
    thousand_feet: 1.0,
    near: "ft",
    metre: 3.280_84,
};

/// A cable section with uniform surroundings and resistance.
pub(super) struct Section {
    pub name: String,
    pub surroundings: &'static str,
    /// Minimum pressure of the section, psi.
    minimum: f64,
    /// Length, in hundredths of the unit of routes.
    length: u32,
    /// Depth, in tenths of the unit inside the building; 0 if the section is not under water.
    pub depth: u32,
    /// Pneumatic resistance of the section, psi/scfh/kft.
    pub resistance: f64,
    /// Usage, tenths of scfh.
    pub usage: u32,
}

/// A sensor at the end of a section.
pub(super) struct Sensor {
    pub name: String,
    /// Position on the cable, without the cable's name.
    pub at: String,
    /// Reading in the normal state, psi.
    pub pressure: f64,
    /// Reading with a leak of [`LEAK`] at the sensor, psi.
    pub leaking: f64,
    /// Minimum pressure at the sensor, psi.
    pub minimum: f64,
}

pub(super) struct Cable {
    pub name: String,
    pub pairs: u32,
    pub gauge: u32,
    pub sections: Vec<Section>,
    /// A branch with one section, at the end of the first section.
    pub branch: Option<Section>,
    pub sensors: Vec<Sensor>,
    /// Whether it is fed by an air pipe.
    pub by_pipe: bool,
}

/// Usage of an air pipe, tenths of scfh.
pub(super) const PIPE_USAGE: u32 = 5;
/// Smallest leak worth a visit, scfh: the default of the setting `leak-size`.
const LEAK: f64 = 5.0;
/// Mean gauge pressure at which resistances are stated, psi.
const MEAN: f64 = 14.696;
/// Pressure margin for losses in tubing and fittings, psi; the rest is lost in the cable.
const ROOM_ABOVE_MINIMUM: f64 = 2.0;
/// Minimum pressure at the end of a generated cable, psi: a lower one would be in the lowest part of its sensor's span.
const LEAST_READING: f64 = 3.2;

impl Section {
    fn random(name: &str, surroundings: &'static str, measure: Measure, random: &mut Random) -> Self {
        let minimum = match surroundings {
            "underground" => 5.0,
            "buried" => 3.0,
            _ => 1.0,
        };
        let hundredths = f64::from(random.between(120, 620)) / measure.thousand_feet;
        let depth = f64::from(random.between(12, 28)) * measure.metre;
        Self {
            name: name.to_owned(),
            surroundings,
            minimum,
            length: whole(hundredths),
            depth: if surroundings == "underground" { whole(depth) } else { 0 },
            resistance: f64::from(random.between(80, 280)) / 1000.0,
            usage: random.between(7, 13),
        }
    }

    pub fn length(&self, measure: Measure) -> String {
        format!("{} {}", hundredths(self.length), measure.far)
    }

    /// Free volume, ft³, typical of cable of medium size.
    pub fn volume(&self, measure: Measure) -> f64 {
        const EACH_KFT: f64 = 1.8;
        f64::from(self.length) / 100.0 * measure.thousand_feet * EACH_KFT
    }

    fn scfh(&self) -> f64 {
        f64::from(self.usage) / 10.0
    }

    /// Drop of the squared absolute pressure along the section, with flow `beyond` leaving at its end. Its own usage
    /// flows through half its length on average.
    fn fall(&self, beyond: f64, measure: Measure) -> f64 {
        self.fall_of(beyond + self.scfh() / 2.0, measure)
    }

    /// The same for a flow through its whole length.
    fn fall_of(&self, scfh: f64, measure: Measure) -> f64 {
        let kft = f64::from(self.length) / 100.0 * measure.thousand_feet;
        2.0 * MEAN * self.resistance * kft * scfh
    }
}

impl Cable {
    /// Generates a cable with that name. The first cable of an office has no branch.
    pub fn random(name: String, plain: bool, measure: Measure, random: &mut Random) -> Self {
        let first = random.pick(&["underground", "underground", "buried"]);
        let mut sections = vec![Section::random("s1", first, measure, random)];
        let more = if plain { 1 } else { random.between(1, 2) };
        for number in 2..=1 + more {
            let surroundings = random.pick(&["buried", "buried", "aerial"]);
            sections.push(Section::random(&format!("s{number}"), surroundings, measure, random));
        }
        let branches = !plain && random.chance(25);
        let branch = branches.then(|| {
            let surroundings = random.pick(&["buried", "aerial"]);
            Section::random("b1", surroundings, measure, random)
        });
        Self {
            name,
            pairs: random.pick(&[50, 100, 100, 200, 300]),
            gauge: random.pick(&[22, 24, 24, 26]),
            sections,
            branch,
            sensors: Vec::new(),
            by_pipe: !plain && random.chance(12),
        }
    }

    /// Usage of the cable and of its air pipe, tenths of scfh.
    pub fn usage(&self) -> u32 {
        self.sections().map(|section| section.usage).sum::<u32>() + if self.by_pipe { PIPE_USAGE } else { 0 }
    }

    fn sections(&self) -> impl Iterator<Item = &Section> {
        self.sections.iter().chain(&self.branch)
    }

    /// Places its sensors, with their readings at a supply of `supply` psi and an ambient pressure of `ambient` psi. If
    /// the pressure loss along the route is too large, the resistances are lowered, as for larger cable.
    pub fn fill(&mut self, supply: f64, ambient: f64, measure: Measure) {
        const TRIES: u32 = 40;
        for _ in 0..TRIES {
            self.sensors = self.sensors(supply, ambient, measure);
            let low = |sensor: &Sensor| sensor.pressure < LEAST_READING.max(sensor.minimum + ROOM_ABOVE_MINIMUM);
            if !self.sensors.iter().any(low) {
                return;
            }
            for section in self.sections.iter_mut().chain(&mut self.branch) {
                section.resistance = (section.resistance * 800.0).floor() / 1000.0;
            }
        }
    }

    fn sensors(&self, supply: f64, ambient: f64, measure: Measure) -> Vec<Sensor> {
        let number = self.name.trim_start_matches('c');
        let mut sensors = Vec::new();
        let mut square = (supply + ambient).powi(2);
        let gauge = |square: f64| square.max(0.0).sqrt() - ambient;
        let mut beyond = self.sections().map(Section::scfh).sum::<f64>();
        let mut distance = 0;
        let mut lost = 0.0;
        for (at, (section, letter)) in self.sections.iter().zip('a'..).enumerate() {
            beyond -= section.scfh();
            square -= section.fall(beyond, measure);
            lost += section.fall_of(LEAK, measure);
            distance += section.length;
            sensors.push(Sensor {
                name: format!("ps-{number}{letter}"),
                at: format!("{} {}", hundredths(distance), measure.far),
                pressure: gauge(square),
                leaking: gauge(square - lost),
                minimum: section.minimum,
            });
            if let Some(branch) = self.branch.as_ref().filter(|_| at == 0) {
                beyond -= branch.scfh();
                let square = square - branch.fall(0.0, measure);
                sensors.push(Sensor {
                    name: format!("ps-{number}x"),
                    at: format!("branch side {}", branch.length(measure)),
                    pressure: gauge(square),
                    leaking: gauge(square - lost - branch.fall_of(LEAK, measure)),
                    minimum: branch.minimum,
                });
            }
        }
        sensors
    }
}

/// Rounds a non-negative figure to the nearest integer.
#[expect(clippy::cast_sign_loss, reason = "what is drawn is never negative")]
pub(super) fn whole(drawn: f64) -> u32 {
    drawn.round() as u32
}

/// Formats hundredths as a decimal number without trailing zeros.
pub(super) fn hundredths(number: u32) -> String {
    figure(f64::from(number) / 100.0, 2)
}

/// Formats a figure with at most `decimals` decimals, without trailing zeros.
pub(super) fn figure(figure: f64, decimals: usize) -> String {
    let shown = format!("{figure:.decimals$}");
    if decimals == 0 {
        return shown;
    }
    shown.trim_end_matches('0').trim_end_matches('.').to_owned()
}
