//! Where readings put a leak, beside leaks that are put in: the record has other usage, resistance and set pressure than is out there, and
//! the readings have their errors. All figures are invented.

use std::fmt::Write;

use drysheath_engineering::estimate::EstimateError;
use drysheath_engineering::measure::{Flow, Pressure};
use drysheath_engineering::units::find;
use drysheath_office::Office;
use drysheath_prediction::{Air, Bounds, LeakSearch, LinePoint, NetworkChange, Observation, ReadQuantity};

use super::air::{Computed, compute};

const CASES: u64 = 1_000;
const LENGTHS: (f64, f64) = (400.0, 1_500.0);
const ERROR: f64 = 0.1;
const STEP: f64 = 0.1;
const FLOW_ERROR: f64 = 0.3;
const FLOW_STEP: f64 = 0.2;

/// What a case is made of: two cables, the first with sections and maybe a branch.
struct Case {
    set: f64,
    /// Length, resistance and usage of the sections of the first cable, of its branch and of the second cable.
    laid: Vec<[f64; 3]>,
    branch_at: Option<f64>,
    /// Where the sensors of the first cable are.
    sensors: Vec<f64>,
    leak_at: f64,
    leak: f64,
}

fn between(chance: &mut fastrand::Rng, low: f64, high: f64) -> f64 {
    low + (high - low) * chance.f64()
}

impl Case {
    fn new(chance: &mut fastrand::Rng) -> Self {
        let sections = chance.usize(1..=4);
        let laid: Vec<[f64; 3]> = (0..sections + 2)
            .map(|_| {
                let length = between(chance, LENGTHS.0, LENGTHS.1);
                [
                    length,
                    between(chance, 0.05, 0.14),
                    length / 1_000.0 * between(chance, 0.3, 1.0),
                ]
            })
            .collect();
        let length: f64 = laid[..sections].iter().map(|[length, ..]| length).sum();
        let count = chance.u32(3..=6);
        // Not all of them equally far apart.
        let sensors = (1..=count)
            .map(|number| {
                length * (f64::from(number) - between(chance, 0.0, 0.4) * f64::from(u8::from(number < count)))
                    / f64::from(count)
            })
            .collect();
        Self {
            set: between(chance, 8.5, 10.5),
            branch_at: chance.bool().then(|| length * between(chance, 0.2, 0.8)),
            sensors,
            leak_at: length * between(chance, 0.02, 0.98),
            leak: between(chance, 2.0, 10.0),
            laid,
        }
    }

    /// The same office with figures that are other than declared: each of usage within so much, of resistance, of set pressure.
    fn other(&self, chance: &mut fastrand::Rng, usage: f64, resistance: f64, set: f64) -> Self {
        let off = |chance: &mut fastrand::Rng, by: f64| between(chance, 1.0 - by, 1.0 + by);
        // All off together, or each by itself; resistance together is off by all of it.
        let (together, sign) = (chance.bool(), if chance.bool() { 1.0 } else { -1.0 });
        let all = off(chance, usage);
        let laid = self.laid.iter().map(|[length, k, used]| {
            let (used_off, k_off) = if together {
                (all, 1.0 + sign * resistance)
            } else {
                (off(chance, usage), off(chance, resistance))
            };
            [*length, k * k_off, used * used_off]
        });
        Self {
            laid: laid.collect(),
            set: self.set * off(chance, set),
            sensors: self.sensors.clone(),
            ..*self
        }
    }

    fn text(&self) -> String {
        let section = |name: String, [length, k, usage]: [f64; 3]| {
            format!("section {name} {{ buried {length} m, resistance {k} psi/scfh/kft, usage {usage} scfh }}\n")
        };
        let count = self.laid.len() - 2;
        let trunk: String = (0..count).map(|at| section(format!("s{at}"), self.laid[at])).collect();
        let branch = self.branch_at.map_or(String::new(), |at| {
            format!(
                "branch b1 {{ from {at} m, {} }}\n",
                section("s1".to_owned(), self.laid[count]).trim()
            )
        });
        let mut text = format!(
            "
dryer d1 {{ compressor piston, delivers 40 psi, capacity 400 scfh, dew-point -40 degC }}
regulator r1 {{ set {} psi, differential 5 psi }}
flow-sensor f1 {{ span 0 .. 60 scfh }}
manifold mf {{ ports 8 }}
pressure-sensor p1 {{ span 0 .. 15 psi }}
air d1 -> r1 -> f1 -> mf with 3/8 in tube, 1/4 in bore, 4 m
air mf port 1 -> c1 with 3/8 in tube, 1/4 in bore, 3 m
air mf port 2 -> c2 with 3/8 in tube, 1/4 in bore, 3 m
air mf port 3 -> p1
cable c1 {{ pairs 50, gauge 24 awg
{trunk}{branch}}}
cable c2 {{ pairs 50, gauge 24 awg
{}}}
pressure-sensor pe {{ at c2 {} m }}
",
            self.set,
            section("s1".to_owned(), self.laid[count + 1]),
            self.laid[count + 1][0]
        );
        for (number, metres) in self.sensors.iter().enumerate() {
            writeln!(text, "pressure-sensor ps{number} {{ at c1 {metres} m }}").unwrap();
        }
        text
    }
}

fn si(figure: f64, unit: &str) -> f64 {
    find(unit).unwrap().to_si(figure)
}

/// What a sensor with this error and step makes of a figure.
fn read(chance: &mut fastrand::Rng, figure: f64, error: f64, step: f64) -> f64 {
    ((figure + between(chance, -error, error)) / step).round() * step
}

/// Where the record and the readings put the leak, or that the search did not settle; none where the readings say nothing.
fn search(
    record: &Computed,
    truth: &Computed,
    case: &Case,
    chance: &mut fastrand::Rng,
) -> Option<Result<LeakSearch, EstimateError>> {
    let there = &truth.prediction.air;
    let trunk = there
        .lines()
        .iter()
        .find(|line| truth.office.name(line.thing) == "c1" && line.branch.is_none())?;
    let leak = Flow::from_cubic_metres_per_second(si(case.leak, "scfh"));
    let point = LinePoint {
        thing: trunk.thing,
        branch: None,
        metres: case.leak_at,
    };
    // With the leak the sections lose less than before it: leakage follows the pressure.
    let changes = [NetworkChange::Leaks(point, leak)];
    let leaking = there.in_state(&truth.office, &truth.networks, &changes).ok()?;
    let air = &record.prediction.air;
    let deviation = |error: f64, step: f64| (error * error / 3.0 + step * step / 12.0).sqrt();
    let mut observed = Vec::new();
    let names = (0..case.sensors.len()).map(|number| format!("ps{number}"));
    for name in names.chain(["p1".to_owned(), "pe".to_owned(), "f1".to_owned()]) {
        let location = |computed: &'_ Computed| -> drysheath_office::ThingId {
            let mut things = computed.office.things();
            things.find(|(id, _)| computed.office.name(*id) == name).unwrap().0
        };
        let place = leaking.location_of(&truth.office, &truth.networks, location(truth))?;
        let (error, step) = (si(ERROR, "psi"), si(STEP, "psi"));
        let (figure, deviation) = if name == "f1" {
            let (error, step) = (si(FLOW_ERROR, "scfh"), si(FLOW_STEP, "scfh"));
            let exact = leaking.flow(&place)?.cubic_metres_per_second();
            let figure = read(chance, exact, error, step);
            (
                ReadQuantity::Flow(Flow::from_cubic_metres_per_second(figure)),
                deviation(error, step),
            )
        } else {
            let exact = leaking.pressure(&place)?.pascals();
            let figure = read(chance, exact, error, step);
            (
                ReadQuantity::Pressure(Pressure::from_pascals(figure)),
                deviation(error, step),
            )
        };
        observed.push(Observation {
            at: air.location_of(&record.office, &record.networks, location(record))?,
            figure,
            deviation,
        });
    }
    let system = air.system_at(&observed[0].at)?;
    let temperature = air.conditions.temperature;
    let bounds = Bounds {
        usage: 0.3,
        resistance: 0.1,
        set: 0.02,
        temperatures: (temperature, temperature),
    };
    air.readings(system, &bounds, &observed)?.leak().transpose()
}

fn line_number(air: &Air, office: &Office) -> usize {
    let mut lines = air.lines().iter();
    lines
        .position(|line| office.name(line.thing) == "c1" && line.branch.is_none())
        .unwrap()
}

#[test]
fn stretches_that_are_told_hold_the_leak_nineteen_times_in_twenty() {
    let (mut cases, mut unsettled, mut held, mut told, mut several) = (0_u32, 0_u32, 0_u32, 0_u32, 0_u32);
    let mut widths = Vec::new();
    for seed in 0.. {
        if cases == CASES as u32 {
            break;
        }
        let mut chance = fastrand::Rng::with_seed(seed);
        let case = Case::new(&mut chance);
        let truth = compute(&case.other(&mut chance, 0.3, 0.1, 0.02).text());
        let record = compute(&case.text());
        let Some(found) = search(&record, &truth, &case, &mut chance) else {
            continue;
        };
        cases += 1;
        let Ok(found) = found else {
            unsettled += 1;
            continue;
        };
        let air = &record.prediction.air;
        let number = line_number(air, &record.office);
        let holds = found
            .stretches
            .iter()
            .any(|stretch| stretch.line == number && (stretch.from - 0.5..=stretch.to + 0.5).contains(&case.leak_at));
        held += u32::from(holds);
        told += u32::from(found.without - found.least > 4.0);
        several += u32::from(found.stretches.len() > 1);
        let length = air.lines()[number].length().unwrap();
        widths.push(
            found
                .stretches
                .iter()
                .map(|stretch| stretch.to - stretch.from)
                .sum::<f64>()
                / length,
        );
    }
    widths.sort_by(f64::total_cmp);
    println!(
        "{held} of {cases} held, {unsettled} unsettled, {told} told, {several} in several stretches; widths {:.2} {:.2} {:.2} of the cable",
        widths[widths.len() / 10],
        widths[widths.len() / 2],
        widths[widths.len() * 9 / 10],
    );
    assert!(held * 100 >= 95 * cases, "{held} of {cases}");
    // And they are worth telling: half of them are shorter than a third of the cable.
    assert!(told * 10 >= 8 * cases && widths[widths.len() / 2] < 0.33, "{told} told");
}
