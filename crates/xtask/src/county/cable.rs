//! A cable of an invented office, with pressures that follow from its air.

use super::draw::Draw;

/// What lengths are measured in.
#[derive(Clone, Copy)]
pub(super) struct Measure {
    /// The unit of routes, and how many thousand feet it is.
    pub far: &'static str,
    pub thousand_feet: f64,
    /// The unit within the office, and how many of it a metre is.
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

/// A stretch of cable in one kind of surroundings.
pub(super) struct Section {
    pub name: String,
    pub surroundings: &'static str,
    /// Least pressure, psi.
    minimum: f64,
    /// Hundredths of the far unit.
    length: u32,
    /// Depth in tenths of the near unit; 0 for a section that is not under water.
    pub depth: u32,
    /// psi/scfh/kft.
    pub resistance: f64,
    /// Tenths of scfh.
    pub usage: u32,
}

/// A sensor at the end of a section.
pub(super) struct Sensor {
    pub name: String,
    /// Where, without the cable's name.
    pub at: String,
    /// What it reads when all is well, psi.
    pub pressure: f64,
    /// What it reads with a leak of [`LEAK`] beside it, psi.
    pub leaking: f64,
    /// Least pressure there, psi.
    pub minimum: f64,
}

pub(super) struct Cable {
    pub name: String,
    pub pairs: u32,
    pub gauge: u32,
    pub sections: Vec<Section>,
    /// A section that leaves the cable at the end of its first one.
    pub branch: Option<Section>,
    pub sensors: Vec<Sensor>,
    /// Whether an air pipe leads to it.
    pub by_pipe: bool,
}

/// Usage of an air pipe, tenths of scfh.
pub(super) const PIPE_USAGE: u32 = 5;
/// A leak that somebody is sent out for, scfh: the default of the setting `leak-size`.
const LEAK: f64 = 5.0;
/// Mean pressure at which resistances are given, psi.
const MEAN: f64 = 14.696;
/// A length of tube or a fitting takes no more than this, psi; the rest is the cable's.
const ROOM_ABOVE_MINIMUM: f64 = 2.0;
/// No end of a cable is drawn below this, psi: it would be read in the lowest part of its sensor's span.
const LEAST_READING: f64 = 3.2;

impl Section {
    fn draw(name: &str, surroundings: &'static str, measure: Measure, draw: &mut Draw) -> Self {
        let minimum = match surroundings {
            "underground" => 5.0,
            "buried" => 3.0,
            _ => 1.0,
        };
        let hundredths = f64::from(draw.between(120, 620)) / measure.thousand_feet;
        let depth = f64::from(draw.between(12, 28)) * measure.metre;
        Self {
            name: name.to_owned(),
            surroundings,
            minimum,
            length: whole(hundredths),
            depth: if surroundings == "underground" { whole(depth) } else { 0 },
            resistance: f64::from(draw.between(80, 280)) / 1000.0,
            usage: draw.between(7, 13),
        }
    }

    pub fn length(&self, measure: Measure) -> String {
        format!("{} {}", hundredths(self.length), measure.far)
    }

    /// ft³: what pairs leave free in cable of a middling size.
    pub fn volume(&self, measure: Measure) -> f64 {
        const EACH_KFT: f64 = 1.8;
        f64::from(self.length) / 100.0 * measure.thousand_feet * EACH_KFT
    }

    fn scfh(&self) -> f64 {
        f64::from(self.usage) / 10.0
    }

    /// By how much the square of the absolute pressure falls along it, with `beyond` flowing on at its end. What it uses
    /// itself flows half its length on average.
    fn fall(&self, beyond: f64, measure: Measure) -> f64 {
        self.fall_of(beyond + self.scfh() / 2.0, measure)
    }

    /// The same of a flow that passes all of it.
    fn fall_of(&self, scfh: f64, measure: Measure) -> f64 {
        let kft = f64::from(self.length) / 100.0 * measure.thousand_feet;
        2.0 * MEAN * self.resistance * kft * scfh
    }
}

impl Cable {
    /// The cable of that name. The first of an office is a plain one.
    pub fn draw(name: String, plain: bool, measure: Measure, draw: &mut Draw) -> Self {
        let first = draw.pick(&["underground", "underground", "buried"]);
        let mut sections = vec![Section::draw("s1", first, measure, draw)];
        let more = if plain { 1 } else { draw.between(1, 2) };
        for number in 2..=1 + more {
            let surroundings = draw.pick(&["buried", "buried", "aerial"]);
            sections.push(Section::draw(&format!("s{number}"), surroundings, measure, draw));
        }
        let branches = !plain && draw.chance(25);
        let branch = branches.then(|| {
            let surroundings = draw.pick(&["buried", "aerial"]);
            Section::draw("b1", surroundings, measure, draw)
        });
        Self {
            name,
            pairs: draw.pick(&[50, 100, 100, 200, 300]),
            gauge: draw.pick(&[22, 24, 24, 26]),
            sections,
            branch,
            sensors: Vec::new(),
            by_pipe: !plain && draw.chance(12),
        }
    }

    /// What it uses, with the pipe that leads to it, in tenths of scfh.
    pub fn usage(&self) -> u32 {
        self.sections().map(|section| section.usage).sum::<u32>() + if self.by_pipe { PIPE_USAGE } else { 0 }
    }

    fn sections(&self) -> impl Iterator<Item = &Section> {
        self.sections.iter().chain(&self.branch)
    }

    /// Sets its sensors, with what they read when `supply` psi come to it and the air around it has `ambient` psi. A route
    /// that would lose too much pressure is taken to be of wider cable.
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

/// The nearest whole number of what is drawn, which is never negative.
#[expect(clippy::cast_sign_loss, reason = "what is drawn is never negative")]
pub(super) fn whole(drawn: f64) -> u32 {
    drawn.round() as u32
}

/// A number of hundredths, without zeros at its end.
pub(super) fn hundredths(number: u32) -> String {
    figure(f64::from(number) / 100.0, 2)
}

/// A figure with so many decimals at most.
pub(super) fn figure(figure: f64, decimals: usize) -> String {
    let shown = format!("{figure:.decimals$}");
    if decimals == 0 {
        return shown;
    }
    shown.trim_end_matches('0').trim_end_matches('.').to_owned()
}
