//! Generates the text of one office.

use drysheath_engineering::atmosphere::isa_pressure;
use drysheath_engineering::measure::Length;

use super::cable::{Cable, INCH, METRIC, Measure, PIPE_USAGE, Section, Sensor, figure, hundredths, whole};
use super::parts::Used;
use super::random::Random;
use super::{FAULTY, LINES, Options, file};

const FIRST: [&str; 24] = [
    "Alder", "Amber", "Ashen", "Barley", "Bracken", "Bramble", "Chalk", "Clover", "Copper", "Dapple", "Fallow",
    "Fennel", "Flint", "Gorse", "Hazel", "Heron", "Juniper", "Larch", "Linnet", "Marl", "Otter", "Rushen", "Sorrel",
    "Teasel",
];
const SECOND: [&str; 24] = [
    "Bank", "Barrow", "Bend", "Bridge", "Cross", "Dale", "Edge", "End", "Fold", "Ford", "Gap", "Gate", "Green", "Halt",
    "Hollow", "Landing", "Lea", "Marsh", "Mead", "Pass", "Quay", "Reach", "Ridge", "Weir",
];
const ROUTES: [&str; 16] = [
    "the mill lane",
    "the dam road",
    "the old drove",
    "the brickworks",
    "the lower meadows",
    "the ridge road",
    "the lock",
    "the quarry",
    "the chapel",
    "the sawmill",
    "the ferry lane",
    "the upper farms",
    "the tile works",
    "the long dyke",
    "the toll road",
    "the observatory",
];
const REMARKS: [&str; 8] = [
    "Wet every spring.",
    "The farmer has the key to the gate.",
    "Spliced anew two summers ago.",
    "Guard the opening: school path.",
    "Nothing but rabbits out there.",
    "The poles are the power cooperative's.",
    "Its first manhole has two covers.",
    "Ask the signal box before you lift a cover.",
];

/// Maximum number of cables on one manifold: the last port is for the pressure sensor.
const CABLES: u32 = 7;
/// Maximum number of local cables of an office with trunks: one port is for the trunk to the next office, one for that
/// from the previous one.
const CABLES_BESIDE_TRUNKS: u32 = 5;
/// Mixed into the seed for trunks, so that their random numbers differ from those of offices.
const TRUNK: u64 = 0x7472_756e_6b00;
/// Additional flow at which a flow sensor's limit trips, scfh. Less than half of the smallest leak worth a visit, since
/// the additional flow of a leak is smaller the farther out it is.
const MOST_UNTOLD: f64 = 2.1;
/// Minimum distance of a low limit below the normal reading, psi: more than the sensor's error and its deadband.
const AWAY: f64 = 0.35;
/// How far the low limit is below that, as a fraction of the way to the reading with a leak.
const TAKEN: f64 = 0.02;
/// Approximate number of lines for a cable with its equipment, and for a bay without cables.
const LINES_OF_CABLE: u32 = 28;
const LINES_OF_BAY: u32 = 60;
const LINES_OF_OFFICE: u32 = 22;
/// Number of monitors per fuse panel.
const FEEDS: u32 = 3;
/// Droop of the regulators in the parts file, psi/scfh.
const DROOP: f64 = 0.01;

/// Air supply of a bay's manifold.
#[derive(Clone, Copy, Default, PartialEq, Eq)]
enum Air {
    /// A piston compressor, a regulator and a flow sensor.
    #[default]
    Piston,
    /// Two piston compressors, each with its own regulator and check valve.
    Pair,
    /// A scroll compressor, which needs no regulator.
    Scroll,
    /// A piston compressor, and house air with a second regulator.
    House,
}

/// A monitor with its cables and their air supply.
struct Bay {
    number: u32,
    air: Air,
    /// Set pressure of the regulator, psi.
    set: u32,
    cables: Vec<Cable>,
    humidity: bool,
    valves: bool,
    /// The trunk from the previous office, which this one can feed through a normally closed valve.
    tie: Option<String>,
}

/// The text of an office before formatting.
pub(super) struct Office {
    /// The fictional place after which it is named.
    pub place: String,
    pub text: String,
    pub used: Used,
    /// Path and text of the route that starts here.
    pub route: Option<(String, String)>,
}

struct Writer {
    text: String,
    used: Used,
    random: Random,
    measure: Measure,
    number: u32,
    name: String,
    /// Ground bar of the frames.
    bar: &'static str,
    stage: &'static str,
    /// Whether there is a route to the next office, and one from the previous office.
    trunks: (bool, bool),
    /// Position of the `use` statements in the text, and the files used in addition to those of every office.
    uses: (usize, Vec<String>),
}

/// Writes a line. A macro, since the arguments of a method could not borrow the writer.
macro_rules! say {
    ($writer:expr) => {
        $writer.text.push('\n')
    };
    ($writer:expr, $($argument:tt)+) => {{
        let line = format!($($argument)+);
        $writer.text.push_str(&line);
        $writer.text.push('\n');
    }};
}

/// Site code of an office, unique in its county.
pub(super) fn site(number: u32) -> String {
    format!("QX{number:06}")
}

/// Whether a route leads from an office to the next one: some offices are joined in pairs, some in chains. Large
/// offices have no port left for it.
fn has_route(options: &Options, number: u32) -> bool {
    matches!(number % 20, 10..=12 | 16) && number + 1 < options.offices && options.lines <= LINES
}

/// Path of an office from the county's root, without extension.
pub(super) fn name(seed: u64, number: u32) -> String {
    let (first, second) = place(&mut Random::new(seed, number));
    file(number, &format!("{first}-{second}").to_lowercase())
}

/// Name of the trunk from an office to the next one, which is also the name of its route.
fn trunk(number: u32) -> String {
    format!("t{number:06}")
}

/// The two words of the place after which an office is named.
fn place(random: &mut Random) -> (&'static str, &'static str) {
    (random.pick(&FIRST), random.pick(&SECOND))
}

/// Generates an office of the county.
pub(super) fn office(options: &Options, number: u32) -> Office {
    let &Options { seed, lines, .. } = options;
    let mut random = Random::new(seed, number);
    let (first, second) = place(&mut random);
    let place = format!("{first}-{second}").to_lowercase();
    let metric = random.chance(50);
    let trunks = (has_route(options, number), number > 0 && has_route(options, number - 1));
    let mut writer = Writer {
        text: String::with_capacity(lines as usize * 64),
        used: Used::default(),
        measure: if metric { METRIC } else { INCH },
        number,
        name: format!("{place}-{number:06}"),
        bar: "ogb",
        stage: "",
        trunks,
        uses: (0, Vec::new()),
        random,
    };
    writer.head(&format!("{first} {second}"));
    let metres = writer.elevation(seed);
    let ambient = isa_pressure(Length::from_metres(f64::from(metres))).pascals() / 6_894.757;
    let target = lines.saturating_mul(writer.random.between(86, 114)) / 100;
    let cables = (target.saturating_sub(LINES_OF_OFFICE) * CABLES / (LINES_OF_BAY + CABLES * LINES_OF_CABLE)).max(1);
    let is_joined = trunks.0 || trunks.1;
    let cables = if is_joined {
        cables.min(CABLES_BESIDE_TRUNKS)
    } else {
        cables
    };
    let bays: Vec<Bay> = (0..cables.div_ceil(CABLES))
        .map(|bay| writer.bay(bay + 1, CABLES.min(cables - bay * CABLES), ambient, seed))
        .collect();
    let route = writer.route(seed, bays.iter().flat_map(|bay| &bay.cables));
    writer.plant(bays.len() as u32);
    for bay in &bays {
        writer.write_bay(bay);
    }
    Office {
        place,
        text: writer.with_uses(),
        used: writer.used,
        route,
    }
}

impl Writer {
    fn part(&mut self, name: &'static str) -> &'static str {
        self.used.add(name);
        name
    }

    /// Adds a file to those that every office uses.
    fn also_use(&mut self, file: String) {
        if !self.uses.1.contains(&file) {
            self.uses.1.push(file);
        }
    }

    /// The text with `use` statements for all files.
    fn with_uses(&mut self) -> String {
        let (at, files) = (self.uses.0, std::mem::take(&mut self.uses.1));
        let mut more = String::new();
        for file in &files {
            more.push_str("use ");
            more.push_str(file);
            more.push('\n');
        }
        let mut text = std::mem::take(&mut self.text);
        text.insert_str(at, &more);
        text
    }

    /// Whether the office never gets a fault, so that it may contain what the faults do not expect.
    fn is_free(&self) -> bool {
        self.number % FAULTY != FAULTY - 1
    }

    /// Whether the regulator and flow sensor of a bay are on a bracket.
    fn has_bracket(&self, bay: &Bay) -> bool {
        bay.air == Air::Piston && self.number % 5 == 1
    }

    /// Names of the regulator and flow sensor of a bay in its runs.
    fn on_bracket(&self, bay: &Bay) -> (String, String) {
        let number = bay.number;
        if self.has_bracket(bay) {
            (format!("b{number}/r"), format!("b{number}/f"))
        } else {
            (format!("r{number}"), format!("f{number}"))
        }
    }

    /// Whether the sensors of a cable share a pair and have addresses.
    fn has_addresses(&self, cable: &Cable) -> bool {
        cable.gauge == 22 && self.number % 7 == 2 && self.is_free() && !self.has_connectors()
    }

    /// Whether the first sensor of an office uses two bunched pairs.
    fn has_bunch(&self) -> bool {
        self.number % 8 == 5 && self.is_free()
    }

    /// Whether the office is being cut over to a new frame.
    fn has_tap(&self) -> bool {
        self.number % 12 == 8 && self.is_free() && !self.has_connectors()
    }

    /// A random length inside the building, in the office's unit.
    fn near(&mut self, low: u32, high: u32) -> String {
        let metres = f64::from(self.random.between(low * 2, high * 2)) / 2.0;
        let decimals = usize::from(self.measure.near == "m");
        format!(
            "{} {}",
            figure(metres * self.measure.metre, decimals),
            self.measure.near
        )
    }

    /// Whether the positions of its fuse panels are labelled with letters.
    fn has_rows(&self) -> bool {
        self.number % 4 == 3
    }

    /// Whether the monitor of a bay starts its dryers.
    fn has_controls(&self, bay: &Bay) -> bool {
        bay.number > 1 && self.number % 5 == 1
    }

    /// Whether its monitors are factory-wired to a connector.
    fn has_connectors(&self) -> bool {
        self.number % 10 == 7
    }

    /// Whether a bay is fed by bottles, which need no regulator.
    fn is_bottled(&self, bay: &Bay) -> bool {
        bay.air == Air::Scroll && self.number % 5 == 3
    }

    /// Whether the house air of a bay passes through a filter and a tank.
    fn has_tank(&self, bay: &Bay) -> bool {
        bay.air == Air::House && self.number.is_multiple_of(2)
    }

    /// Whether there is a switch beside the first sensor of a cable.
    fn has_switch(&self, cable: &str) -> bool {
        cable == "c101" && self.number % 8 == 6
    }

    fn heading(&mut self, title: &str) {
        say!(
            self,
            "\n# ---- {title} {}\n",
            "-".repeat(70_usize.saturating_sub(title.len()))
        );
    }

    fn head(&mut self, title: &str) {
        say!(self, "# {title}, an invented office, drawn by `xtask county`.\n");
        for file in ["air", "bays", "county", "sensors"] {
            say!(self, "use parts/{file}");
        }
        self.uses.0 = self.text.len();
        let county = self.part(if self.number.is_multiple_of(2) {
            "uplands"
        } else {
            "lowlands"
        });
        say!(self, "\noffice {} : {county} {{", self.name);
        say!(self, "title \"{title}\"");
        say!(self, "site \"{}\"", site(self.number));
    }

    /// Writes the elevation and closes the block of the office.
    fn elevation(&mut self, seed: u64) -> u32 {
        const RISE: u32 = 7;
        let drawn = self.random.between(2, 1800);
        let is_joined = self.trunks.0 || self.trunks.1;
        // Offices joined by a trunk are not far apart and have similar elevations.
        let first = self.number - self.number % 20;
        let along = RISE * (self.number - first);
        let metres = if is_joined {
            Random::new(seed ^ TRUNK, first).between(2, 1500) + along
        } else {
            drawn
        };
        let shown = f64::from(metres) * self.measure.metre;
        say!(self, "elevation {} {}", figure(shown, 0), self.measure.near);
        // Above the dew point of the worst dryer, -35 °C.
        if self.measure.near == "m" {
            say!(self, "coldest -{} degC", self.random.between(3, 24));
        } else {
            say!(self, "coldest {} degF", self.random.between(1, 27));
        }
        let stage = self
            .random
            .pick(&["in-service", "in-service", "in-service", "installed", "planned"]);
        // A planned office supplies no air to the others yet.
        let stage = if is_joined { "in-service" } else { stage };
        say!(self, "stage {stage}");
        self.stage = stage;
        // Depends on the number, not on random numbers, so that a seed still gives the same equipment.
        if self.number.is_multiple_of(3) {
            say!(self, "order \"W-{:05}\"", self.number);
        }
        say!(self, "}}");
        if self.has_room() {
            say!(self, "\nroom equipment {{ title \"Equipment room, ground floor\" }}");
        }
        metres
    }

    fn has_room(&self) -> bool {
        self.number % 4 == 1
    }

    fn bay(&mut self, number: u32, cables: u32, ambient: f64, seed: u64) -> Bay {
        let air = self
            .random
            .pick(&[Air::Piston, Air::Piston, Air::Pair, Air::Scroll, Air::House]);
        let set = if air == Air::Scroll {
            10
        } else {
            self.random.between(9, 11)
        };
        let mut cables: Vec<Cable> = (1..=cables)
            .map(|cable| {
                let plain = number == 1 && cable == 1;
                Cable::random(format!("c{number}{cable:02}"), plain, self.measure, &mut self.random)
            })
            .collect();
        if number == 1 && self.trunks.0 {
            let mut random = Random::new(seed ^ TRUNK, self.number);
            cables.push(Cable::random(trunk(self.number), true, self.measure, &mut random));
        }
        let usage: u32 = cables.iter().map(Cable::usage).sum();
        let supply = f64::from(set)
            - if air == Air::Scroll {
                0.0
            } else {
                DROOP * f64::from(usage) / 10.0
            };
        for cable in &mut cables {
            cable.fill(supply, ambient, self.measure);
        }
        Bay {
            number,
            air,
            set,
            cables,
            humidity: self.random.chance(40),
            valves: self.random.chance(30),
            tie: (number == 1 && self.trunks.1).then(|| trunk(self.number - 1)),
        }
    }

    /// Generates the file of the route to the next office.
    fn route<'c>(&mut self, seed: u64, mut cables: impl Iterator<Item = &'c Cable>) -> Option<(String, String)> {
        if self.trunks.1 {
            self.also_use(format!("routes/{}", trunk(self.number - 1)));
        }
        let name = trunk(self.number);
        let cable = cables.find(|cable| cable.name == name)?;
        let path = format!("routes/{name}");
        self.also_use(path.clone());
        // Its random numbers must not affect the office.
        let (text, random) = (
            std::mem::take(&mut self.text),
            std::mem::replace(&mut self.random, Random::new(seed ^ TRUNK, self.number + 1)),
        );
        say!(self, "# An invented route, drawn by `xtask county`.\n");
        say!(self, "route {name} {{");
        say!(self, "title \"Trunk {}\"", self.number);
        say!(self, "from {}", self::name(seed, self.number));
        say!(self, "to {}", self::name(seed, self.number + 1));
        say!(self, "}}");
        self.sheath(cable);
        self.random = random;
        Some((format!("{path}.office"), std::mem::replace(&mut self.text, text)))
    }

    fn plant(&mut self, bays: u32) {
        self.heading("battery and ground");
        let plant = self.part("plant-48");
        say!(self, "battery main : {plant}");
        say!(self, "ground-bar ogb {{ principal yes }}");
        if self.random.chance(35) {
            self.bar = "bay-bar";
            say!(self, "ground-bar bay-bar");
        }
        let panel = self.part(if self.has_rows() { "panel-rows" } else { "panel-10" });
        for number in 1..=bays.div_ceil(FEEDS) {
            say!(self, "fuse-panel pdf{number} : {panel}");
        }
        say!(self);
        for number in 1..=bays.div_ceil(FEEDS) {
            let length = self.near(2, 9);
            say!(self, "power main -> pdf{number} with 30 A, 10 awg, {length}");
        }
        let length = self.near(2, 5);
        say!(self, "\nground main return -> ogb with 2 awg, {length}");
        if self.bar == "bay-bar" {
            // 6 m is 20 ft, the maximum length of a bond of 4 AWG.
            let length = self.near(3, 5);
            say!(self, "ground bay-bar -> ogb with 4 awg, {length}");
        }
        for number in 1..=bays.div_ceil(FEEDS) {
            let (bar, length) = (self.bar, self.near(1, 4));
            say!(self, "ground pdf{number} frame -> {bar} with 6 awg, {length}");
        }
        self.heater();
        for number in 1..=bays.div_ceil(FEEDS) {
            say!(self, "spare pdf{number} fuse rest");
        }
    }

    /// In some offices, a heater on the last fuse of the first panel: a load that no other kind fits.
    fn heater(&mut self) {
        if self.number % 11 != 4 || !self.is_free() {
            return;
        }
        say!(self, "other heater {{ is \"heater of the drain\", draws 60 W }}");
        let last = if self.has_rows() { "B5" } else { "10" };
        let length = self.near(2, 6);
        say!(self, "power pdf1 fuse {last} -> heater with 3 A, 14 awg, {length}");
        let length = self.near(2, 6);
        say!(self, "ground heater frame -> ogb with 10 awg, {length}");
    }

    fn write_bay(&mut self, bay: &Bay) {
        let number = bay.number;
        self.heading(&format!("bay {number}: monitor"));
        self.monitor(bay);
        self.heading(&format!("bay {number}: air"));
        self.air(bay);
        for cable in &bay.cables {
            self.cable(cable);
        }
        self.heading(&format!("bay {number}: pairs"));
        self.pairs(bay);
    }

    fn monitor(&mut self, bay: &Bay) {
        let number = bay.number;
        let link = if self.random.chance(60) {
            format!("lan \"m{number}.{}.example\"", site(self.number).to_lowercase())
        } else {
            format!(
                "dialled \"555-01{:02} ext {}-{number}\"",
                self.number % 100,
                self.number
            )
        };
        let monitor = self.part("bay-monitor");
        let (panel, fuse) = ((number - 1) / FEEDS + 1, (number - 1) % FEEDS + 1);
        let row = match (self.has_rows(), fuse % 2) {
            (true, 1) => "A",
            (true, _) => "B",
            (false, _) => "",
        };
        let outputs = if self.has_controls(bay) {
            ", outputs 2, output-max 1 A, output-voltage 24 V"
        } else {
            ""
        };
        let addresses = if bay.cables.iter().any(|cable| self.has_addresses(cable)) {
            ", addresses 16"
        } else {
            ""
        };
        let outputs = format!("{outputs}{addresses}");
        let serial = self.number * 10 + number;
        if self.has_room() {
            say!(self, "monitor m{number} : {monitor} {{");
            say!(self, "link {link}{outputs}");
            say!(self, "room equipment");
            say!(self, "location \"rack {number}, 1.4 m\"");
            say!(self, "record serial \"QM-{serial:07}\"");
            say!(self, "formerly watcher-{number}");
            say!(self, "}}\n");
        } else {
            say!(
                self,
                "monitor m{number} : {monitor} {{ link {link}{outputs}, record serial \"QM-{serial:07}\" }}\n"
            );
        }
        if self.number % 9 == 2 {
            say!(
                self,
                "block tb{number}-old {{ pairs 25, title \"Old frame\", stage disused }}\n"
            );
        }
        let length = self.near(4, 9);
        // If the rack is far away, a heavier wire covers most of the distance.
        let first = if self.number % 6 == 1 {
            format!("10 awg, {} then ", self.near(9, 9))
        } else {
            String::new()
        };
        say!(
            self,
            "power pdf{panel} fuse {row}{fuse} -> m{number} with 5 A, {first}14 awg, {length}"
        );
        let (bar, length) = (self.bar, self.near(1, 4));
        // Sometimes the strap supplied with the monitor was too short.
        let strap = if number == 1 && self.number % 5 == 3 {
            format!("4 awg, {length} then ")
        } else {
            String::new()
        };
        say!(self, "ground m{number} frame -> {bar} with {strap}6 awg, {length}");
        // Bottles have no frame.
        let is_bottled = self.is_bottled(bay);
        for dryer in dryers(bay).filter(|_| !is_bottled) {
            let length = self.near(3, 7);
            say!(self, "ground {dryer} frame -> ogb with 10 awg, {length}");
        }
    }

    fn air(&mut self, bay: &Bay) {
        let number = bay.number;
        let dryer = match bay.air {
            Air::Pair => self.part("piston-60"),
            Air::Scroll if self.is_bottled(bay) => self.part("bottle-rack"),
            Air::Scroll => self.part("scroll-120"),
            Air::Piston | Air::House => self.part("piston-150"),
        };
        let control = if self.has_controls(bay) {
            " { control start { needs 18 V, current-max 0.1 A } }"
        } else {
            ""
        };
        for name in dryers(bay) {
            if self.is_bottled(bay) {
                say!(self, "bottle {name} : {dryer} {{ bottles {} }}", bottles(bay));
            } else {
                say!(self, "dryer {name} : {dryer}{control}");
            }
        }
        if self.has_tank(bay) {
            let (filter, tank) = (self.part("house-filter"), self.part("tank-60"));
            say!(self, "filter filter-{number} : {filter}");
            say!(self, "tank tank-{number} : {tank}");
        }
        let regulator = "line-regulator";
        let manifold = self.part("manifold-8");
        if bay.air == Air::House {
            let house = self.part("house-regulator");
            say!(self, "regulator rh{number} : {house} {{ set 18 psi }}");
        }
        if bay.air == Air::Pair {
            let check = self.part("check");
            for twin in ["a", "b"] {
                say!(
                    self,
                    "regulator r{number}{twin} : {} {{ set {} psi }}",
                    self.part(regulator),
                    bay.set
                );
                say!(self, "valve cv{number}{twin} : {check}");
            }
            say!(self, "manifold mj{number} : {manifold} {{ outlet 1/2 in compression }}");
        } else if bay.air != Air::Scroll && !self.has_bracket(bay) {
            say!(
                self,
                "regulator r{number} : {} {{ set {} psi }}",
                self.part(regulator),
                bay.set
            );
        }
        self.flow(bay);
        say!(self, "manifold mf{number} : {manifold}");
        let room = self.part("room-pressure");
        let usage = f64::from(bay.cables.iter().map(Cable::usage).sum::<u32>()) / 10.0;
        let droop = if bay.air == Air::Scroll { 0.0 } else { DROOP * usage };
        say!(self, "pressure-sensor p{number} : {room} {{");
        say!(self, "normal {} psi", figure(f64::from(bay.set) - droop, 1));
        say!(
            self,
            "limit low {} psi major deadband 0.3 psi",
            figure(f64::from(bay.set) - 1.8, 1)
        );
        say!(self, "limit high {} psi minor deadband 0.3 psi", bay.set + 2);
        say!(self, "}}");
        if bay.humidity {
            let humidity = self.part("outlet-humidity");
            say!(
                self,
                "humidity-sensor h{number} : {humidity} {{ normal 1.6 %rh, limit high 5 %rh major deadband 0.6 %rh }}"
            );
        }
        say!(self);
        self.air_runs(bay);
    }

    fn flow(&mut self, bay: &Bay) {
        let number = bay.number;
        let usage = bay.cables.iter().map(Cable::usage).sum::<u32>();
        // The normal flow is low in the span, so that a leak is still on scale.
        let (part, deadband) = match usage {
            0..=45 => ("flow-10", "0.3"),
            46..=82 => ("flow-15", "0.4"),
            83..=165 => ("flow-30", "0.6"),
            _ => ("flow-60", "1.5"),
        };
        let part = self.part(part);
        let usage = f64::from(usage) / 10.0;
        let has_bracket = self.has_bracket(bay);
        if has_bracket {
            self.part("line-regulator");
            let bracket = self.part(match part {
                "flow-10" => "bracket-10",
                "flow-15" => "bracket-15",
                "flow-30" => "bracket-30",
                _ => "bracket-60",
            });
            self.also_use(format!("parts/{bracket}"));
            say!(self, "assembly b{number} : {bracket} {{");
            say!(self, "r {{ set {} psi }}", bay.set);
            say!(self, "f {{");
        } else {
            say!(self, "flow-sensor f{number} : {part} {{");
        }
        say!(self, "normal {} scfh", figure(usage, 1));
        say!(
            self,
            "limit high {} scfh minor deadband {deadband} scfh",
            figure((usage * 1.4).min(usage + MOST_UNTOLD), 1)
        );
        say!(
            self,
            "limit high-high {} scfh major deadband {deadband} scfh",
            figure(usage * 1.7, 1)
        );
        say!(self, "}}");
        if has_bracket {
            say!(self, "}}");
        }
    }

    fn air_runs(&mut self, bay: &Bay) {
        let number = bay.number;
        let trunk = "with 1/2 in tube, 7/16 in bore";
        let tube = "with 3/8 in tube, 1/4 in bore";
        let length = self.near(2, 5);
        match bay.air {
            Air::Piston if self.has_bracket(bay) => {
                let (regulator, flow) = self.on_bracket(bay);
                say!(self, "air d{number} -> {regulator} {trunk}, {length}");
                say!(self, "air {flow} -> mf{number} {trunk}, {length}");
            }
            Air::Piston => {
                say!(
                    self,
                    "air d{number} -> r{number} -> f{number} -> mf{number} {trunk}, {length}"
                );
            }
            Air::Scroll => {
                say!(self, "air d{number} -> f{number} -> mf{number} {trunk}, {length}");
            }
            Air::House => {
                let first = if self.has_tank(bay) {
                    format!("filter-{number} -> tank-{number} -> ")
                } else {
                    String::new()
                };
                say!(
                    self,
                    "air d{number} -> {first}rh{number} -> r{number} -> f{number} -> mf{number} {trunk}, {length}"
                );
            }
            Air::Pair => {
                for twin in ["a", "b"] {
                    say!(
                        self,
                        "air d{number}{twin} -> r{number}{twin} -> cv{number}{twin} -> mj{number} {trunk}, {length}"
                    );
                }
                say!(
                    self,
                    "air mj{number} port 1 -> f{number} -> mf{number} {trunk}, {length}"
                );
                say!(self, "spare mj{number} port 2 .. 8");
            }
        }
        if bay.humidity {
            let dryer = dryers(bay).next().unwrap_or_default();
            say!(self, "air {dryer} -> h{number} {trunk}, {}", self.near(1, 1));
        }
        for (port, cable) in (1..).zip(&bay.cables) {
            let (name, length) = (&cable.name, self.near(3, 9));
            let valve = if bay.valves {
                format!("v-{name} -> ")
            } else {
                String::new()
            };
            if cable.by_pipe {
                say!(self, "air mf{number} port {port} -> {valve}ap-{name} {tube}, {length}");
                say!(self, "air ap-{name} end -> {name} {tube}, {}", self.near(1, 3));
            } else {
                say!(self, "air mf{number} port {port} -> {valve}{name} {tube}, {length}");
            }
        }
        let length = self.near(1, 1);
        let last = if self.number % 7 == 5 {
            format!(
                "{length} then reducer, 1/4 in tube, 0.17 in bore, adapter 1/4 in npt female at p{number}, {length}"
            )
        } else {
            format!("adapter 1/4 in npt female, {length}")
        };
        say!(self, "air mf{number} port 8 -> p{number} {tube}, {last}");
        let mut next = bay.cables.len() + 1;
        if let Some(tie) = &bay.tie {
            let (shut_off, length) = (self.part("shut-off"), self.near(3, 9));
            say!(self, "valve v-tie : {shut_off} {{ stands closed }}");
            say!(
                self,
                "air mf{number} port {next} -> v-tie -> {tie} end {tube}, {length}"
            );
            next += 1;
        }
        if next <= CABLES as usize {
            say!(self, "spare mf{number} port {next} .. {CABLES}");
        }
        if bay.valves {
            let shut_off = self.part("shut-off");
            say!(self);
            for cable in &bay.cables {
                say!(self, "valve v-{} : {shut_off}", cable.name);
            }
        }
    }

    fn cable(&mut self, cable: &Cable) {
        let name = &cable.name;
        let (route, remark) = (self.random.pick(&ROUTES), self.random.pick(&REMARKS));
        self.heading(&format!("cable {}: {route}", name.trim_start_matches('c')));
        if self.random.chance(50) {
            say!(self, "# {remark}");
        }
        if cable.by_pipe {
            let length = hundredths(whole(
                f64::from(self.random.between(60, 240)) / self.measure.thousand_feet,
            ));
            say!(self, "air-pipe ap-{name} {{");
            say!(self, "length {length} {}", self.measure.far);
            say!(self, "bore 1 in");
            say!(self, "usage {} scfh", figure(f64::from(PIPE_USAGE) / 10.0, 1));
            say!(self, "rating 30 psi");
            say!(self, "}}");
        }
        if !is_trunk(name) {
            self.sheath(cable);
        }
        let has_addresses = self.has_addresses(cable);
        for (address, sensor) in (1..).zip(&cable.sensors) {
            self.sensor(name, sensor, has_addresses.then_some(address));
        }
        if let Some(sensor) = cable.sensors.first().filter(|_| self.is_read(name)) {
            say!(
                self,
                "reading 2026-05-12 {} {} psi",
                sensor.name,
                figure(sensor.pressure, 1)
            );
        }
        if let Some(sensor) = cable.sensors.first().filter(|_| self.has_switch(name)) {
            let part = self.part("field-switch");
            let (low, severity) = low_limit(sensor);
            say!(
                self,
                "pressure-switch sw1 : {part} {{ at {name} {}, limit low {low} psi {severity} deadband 0.2 psi }}",
                sensor.at
            );
        }
    }

    /// Writes the description of a cable, without the equipment on it.
    fn sheath(&mut self, cable: &Cable) {
        say!(self, "cable {} {{", cable.name);
        say!(self, "pairs {}", cable.pairs);
        say!(self, "gauge {} awg", cable.gauge);
        say!(self, "rating 15 psi");
        for section in &cable.sections {
            self.section(section);
        }
        if let (Some(branch), Some(first)) = (&cable.branch, cable.sections.first()) {
            say!(self, "branch side {{");
            say!(self, "from {}", first.length(self.measure));
            self.section(branch);
            say!(self, "}}");
        }
        say!(self, "}}");
    }

    /// Whether a reading of the first sensor of a cable is recorded.
    fn is_read(&self, cable: &str) -> bool {
        cable == "c101" && self.stage == "in-service" && self.number % 3 == 2 && self.is_free()
    }

    fn section(&mut self, section: &Section) {
        let depth = if section.depth > 0 {
            format!(
                " depth {} {},",
                figure(f64::from(section.depth) / 10.0, 1),
                self.measure.near
            )
        } else {
            String::new()
        };
        let volume = if self.random.chance(30) {
            format!(", volume {} ft3", figure(section.volume(self.measure), 1))
        } else {
            String::new()
        };
        say!(
            self,
            "section {} {{ {} {},{depth} resistance {} psi/scfh/kft, usage {} scfh{volume} }}",
            section.name,
            section.surroundings,
            section.length(self.measure),
            figure(section.resistance, 3),
            figure(f64::from(section.usage) / 10.0, 1)
        );
    }

    fn sensor(&mut self, cable: &str, sensor: &Sensor, address: Option<u32>) {
        /// Above this reading the sensor with the wider span is used.
        const SMALL: f64 = 7.0;
        let part = self.part(if sensor.pressure <= SMALL {
            "field-pressure-10"
        } else {
            "field-pressure-15"
        });
        let (low, severity) = low_limit(sensor);
        say!(self, "pressure-sensor {} : {part} {{", sensor.name);
        say!(self, "at {cable} {}", sensor.at);
        say!(self, "normal {} psi", figure(sensor.pressure, 1));
        say!(self, "limit low {low} psi {severity} deadband 0.3 psi");
        if let Some(address) = address {
            say!(self, "address {address}, current-max 3 mA, needs 9 V");
        }
        say!(self, "}}");
    }

    /// Writes the block of a bay, with its factory wiring to the monitor.
    fn block(&mut self, number: u32) {
        let is_plugged = self.has_connectors();
        let block = self.part(if is_plugged { "socket-50" } else { "block-50" });
        say!(self, "block tb{number} : {block}");
        if is_plugged {
            let plug = self.part("factory-plug");
            say!(self, "block j{number} : {plug}");
            say!(self, "wire tb{number} -> j{number}");
            say!(self, "wire j{number} pair 1 .. 32 -> m{number} sensor 1 .. 32");
            say!(self, "wire j{number} pair 41 .. 50 -> m{number} contact 1 .. 10");
            for port in [
                format!("tb{number} pair"),
                format!("j{number} pair"),
                format!("m{number} sensor"),
                format!("m{number} contact"),
            ] {
                say!(self, "spare {port} rest");
            }
        }
    }

    /// Continuation of a wire from the block to the monitor. Empty if the monitor is factory-wired.
    fn onward(&self, monitor: u32, kind: &str, input: u32) -> String {
        if self.has_connectors() {
            String::new()
        } else {
            format!(" -> m{monitor} {kind} {input}")
        }
    }

    fn pairs(&mut self, bay: &Bay) {
        let number = bay.number;
        self.block(number);
        if number == 1 {
            let (door, mains) = (self.part("door-switch"), self.part("mains-relay"));
            say!(self, "contact door : {door}");
            say!(self, "contact mains : {mains}");
        }
        let length = self.near(5, 9);
        let jumper = format!("with 22 awg, {length}");
        let (_, flow) = self.on_bracket(bay);
        if self.number % 5 == 3 {
            let lead = self.part("lead-4");
            say!(self, "lead l{number} : {lead} {{ length {length} }}");
            say!(
                self,
                "\nwire {flow} flow -> l{number} pair 1 -> tb{number} pair 1 white-blue{}",
                self.onward(number, "sensor", 1)
            );
            say!(self, "spare l{number} pair rest");
        } else {
            say!(
                self,
                "\nwire {flow} flow -> tb{number} pair 1 white-blue{} {jumper}",
                self.onward(number, "sensor", 1)
            );
        }
        say!(
            self,
            "wire p{number} -> tb{number} pair 2 white-orange{} {jumper}",
            self.onward(number, "sensor", 2)
        );
        let mut input = 2;
        if bay.humidity {
            input += 1;
            say!(
                self,
                "wire h{number} -> tb{number} pair {input}{} {jumper}",
                self.onward(number, "sensor", input)
            );
        }
        for cable in &bay.cables {
            if self.has_addresses(cable) {
                input += 1;
                self.shared_pair(cable, number, input);
                continue;
            }
            let first = cable.pairs - cable.sensors.len() as u32;
            if self.has_bunch() && cable.name == "c101" {
                say!(
                    self,
                    "bunched c101 pair {first} .. {} because \"the meter found one pair alone noisy\"",
                    first + 1
                );
            }
            for (pair, sensor) in (first + 1..).zip(&cable.sensors) {
                input += 1;
                let (name, cable) = (&sensor.name, &cable.name);
                say!(
                    self,
                    "wire {name} -> {cable} pair {pair} -> tb{number} pair {input}{}",
                    self.onward(number, "sensor", input)
                );
            }
        }
        if self.has_tap() {
            self.new_frame(number);
        }
        let contact = self.contacts(bay, &jumper);
        let mut last = 50;
        if self.has_controls(bay) {
            for (output, dryer) in (1..).zip(dryers(bay)) {
                say!(
                    self,
                    "wire m{number} output {output} -> tb{number} pair {last} -> {dryer} control start {jumper}"
                );
                last -= 1;
            }
            if last == 49 {
                say!(self, "spare m{number} output rest");
            }
        }
        say!(self);
        let is_plugged = self.has_connectors();
        if !is_plugged {
            say!(self, "spare tb{number} pair {} .. 40", input + 1);
            say!(self, "spare tb{number} pair {} .. {last}", 41 + contact);
        }
        self.left_of_cables(bay);
        if input < 32 && !is_plugged {
            say!(self, "spare m{number} sensor {} .. 32", input + 1);
        }
        if !is_plugged {
            say!(self, "spare m{number} contact {} .. 16", contact + 1);
        }
    }

    /// Writes the state of the cable pairs that no wire of the office uses.
    fn left_of_cables(&mut self, bay: &Bay) {
        for cable in &bay.cables {
            let (name, subscribers) = (&cable.name, cable.pairs / 2);
            // Trunk pairs used by subscribers would have to be stated in the other office too.
            if is_trunk(name) {
                say!(self, "spare {name} pair rest");
                continue;
            }
            say!(self, "assigned {name} pair 1 .. {subscribers} to \"subscribers\"");
            if self.number % 6 == 1 && self.is_free() {
                let broken = subscribers + 2;
                say!(
                    self,
                    "defective {name} pair {broken} because \"open at the second manhole\""
                );
            }
            say!(self, "spare {name} pair rest");
        }
        if let Some(tie) = &bay.tie {
            say!(self, "spare {tie} pair rest");
        }
    }

    /// Wires the sensors of a cable that share a pair.
    fn shared_pair(&mut self, cable: &Cable, monitor: u32, input: u32) {
        let (name, pair) = (&cable.name, cable.pairs);
        for (at, sensor) in cable.sensors.iter().enumerate() {
            let onward = if at == 0 {
                format!(" -> tb{monitor} pair {input} -> m{monitor} sensor {input}")
            } else {
                String::new()
            };
            say!(self, "wire {} -> {name} pair {pair}{onward}", sensor.name);
        }
    }

    /// A third wire on the first pair of a block, while the office is being cut over.
    fn new_frame(&mut self, number: u32) {
        let block = self.part("block-50");
        say!(self, "block tb{number}-new : {block}");
        say!(self, "tapped tb{number} pair 1 because \"cut-over to the new frame\"");
        say!(self, "wire tb{number} pair 1 -> tb{number}-new pair 1");
        say!(self, "spare tb{number}-new pair rest");
    }

    /// Wires the contacts of a bay and returns their number.
    fn contacts(&mut self, bay: &Bay, jumper: &str) -> u32 {
        let number = bay.number;
        let mut contact = 0;
        let reports = if self.is_bottled(bay) {
            "low-pressure"
        } else {
            "humidity"
        };
        let dryers = dryers(bay).map(|dryer| format!("{dryer} contact {reports}"));
        let doors = ["door", "mains"].into_iter().filter(|_| number == 1).map(str::to_owned);
        for signal in dryers.chain(doors) {
            contact += 1;
            let pair = 40 + contact;
            say!(
                self,
                "wire {signal} -> tb{number} pair {pair}{} {jumper}",
                self.onward(number, "contact", contact)
            );
        }
        if let Some(cable) = bay.cables.iter().find(|cable| self.has_switch(&cable.name)) {
            contact += 1;
            let (name, free, pair) = (&cable.name, cable.pairs / 2 + 1, 40 + contact);
            say!(
                self,
                "wire sw1 -> {name} pair {free} -> tb{number} pair {pair}{}",
                self.onward(number, "contact", contact)
            );
        }
        contact
    }
}

/// Low limit of a sensor, psi, and its severity.
fn low_limit(sensor: &Sensor) -> (String, &'static str) {
    let below = sensor.pressure - AWAY;
    // Rounded up to the tenth that is written: rounded down, a leak would no longer trip it.
    let low = below - TAKEN * (below - sensor.leaking.max(sensor.minimum)).max(0.0);
    let severity = if sensor.minimum > 4.0 { "major" } else { "minor" };
    (figure((low * 10.0).ceil() / 10.0, 1), severity)
}

/// Whether a cable leads to another office and is described in the file of its route.
fn is_trunk(cable: &str) -> bool {
    cable.starts_with('t')
}

/// Number of bottles of 230 scf for 30 days of a bay's usage.
fn bottles(bay: &Bay) -> u32 {
    let tenths: u32 = bay.cables.iter().map(Cable::usage).sum();
    (tenths * 24 * 30).div_ceil(10 * 230)
}

/// Names of a bay's dryers.
fn dryers(bay: &Bay) -> impl Iterator<Item = String> + use<> {
    let number = bay.number;
    let twins: &[&str] = if bay.air == Air::Pair { &["a", "b"] } else { &[""] };
    twins.iter().map(move |twin| format!("d{number}{twin}"))
}
