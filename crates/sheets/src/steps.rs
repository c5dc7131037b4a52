//! Work steps in a safe order, generated from the office. Each check has the value to expect and room for the value
//! found.

use drysheath_engineering::units::{Dimension, Quantity, find};
use drysheath_explanation::loop_of;
use drysheath_office::kinds::{HealthyState, Key, KindId, Role};
use drysheath_office::{Decay, Fields, Fitting, FittingType, Terminal, ThingId, printed};
use drysheath_prediction::{SignalPath, control_paths, decay_test, signal_paths};
use drysheath_report::{ChangeRecord, Deed, EarlierOffice, Of};
use drysheath_rules::PracticeKey;

use crate::facts::{Facts, short};
use crate::mark::Mark;
use crate::metric::unbroken;
use crate::page::Block;
use crate::power::supply_window;
use crate::since::{Since, is_built};
use crate::table::{Cell, Column, Row, Table};
use crate::wiring::signal_name;

const COLUMNS: &[Column] = &[
    Column {
        title: "Done",
        width: 46,
    },
    Column {
        title: "No.",
        width: 38,
    },
    Column {
        title: "What to do",
        width: 368,
    },
    Column {
        title: "Expect",
        width: 138,
    },
    Column {
        title: "Found",
        width: 110,
    },
];

/// A step before numbering.
struct Step {
    what: String,
    expect: Option<String>,
    mark: Mark,
}

/// Steps grouped under headings.
struct Steps<'f, 'a> {
    facts: &'f Facts<'a>,
    groups: Vec<(&'static str, Vec<Step>)>,
}

/// Tables of steps, one per group.
pub fn blocks(facts: &Facts<'_>, since: Option<&Since<'_>>) -> Vec<Block> {
    let mut steps = Steps {
        facts,
        groups: Vec::new(),
    };
    steps.isolate();
    if let Some(before) = since.and_then(|since| since.office) {
        steps.take_out(before);
    }
    steps.hang();
    steps.pipe();
    steps.leak_test();
    steps.ground();
    steps.power();
    steps.pairs();
    steps.plug();
    steps.air_on();
    steps.check();
    let mut number = 0;
    let mut blocks = vec![Block::Paragraph(
        "Work from top to bottom. Where a value found does not agree with the value expected, stop and find out why before the next step."
            .to_owned(),
    )];
    if since.is_some_and(|since| since.office.is_some()) {
        blocks.push(Block::Paragraph(
            "Steps on what stays as it is are left out. What the work disturbs is tested like what is new.".to_owned(),
        ));
    }
    for (title, mut steps) in steps.groups {
        steps.retain(|step| step.mark != Mark::Same);
        if steps.is_empty() {
            continue;
        }
        let rows = steps.into_iter().map(|step| {
            number += 1;
            Row {
                mark: step.mark,
                cells: vec![
                    Cell::Tick,
                    Cell::Text(number.to_string()),
                    Cell::Text(step.what),
                    Cell::Text(step.expect.clone().unwrap_or_default()),
                    step.expect.map_or_else(|| Cell::Text(String::new()), |_| Cell::Room),
                ],
            }
        });
        let rows = rows.collect();
        blocks.push(Block::Heading(title.to_owned()));
        blocks.push(Block::Table(Table {
            about: title.to_owned(),
            columns: COLUMNS,
            rows,
        }));
    }
    blocks
}

impl Steps<'_, '_> {
    fn group(&mut self, title: &'static str) {
        self.groups.push((title, Vec::new()));
    }

    fn step(&mut self, mark: Mark, what: impl Into<String>) {
        self.put(mark, what.into(), None);
    }

    fn check_step(&mut self, mark: Mark, what: impl Into<String>, expect: impl Into<String>) {
        self.put(mark, what.into(), Some(expect.into()));
    }

    fn put(&mut self, mark: Mark, what: String, expect: Option<String>) {
        if let Some((_, steps)) = self.groups.last_mut() {
            steps.push(Step { what, expect, mark });
        }
    }

    fn name(&self, id: ThingId) -> String {
        self.facts.merged.office.name_and_title(id)
    }

    fn mark(&self, id: ThingId) -> Mark {
        self.facts.mark(id)
    }

    fn isolate(&mut self) {
        self.group("Before anything is opened");
        self.step(Mark::Plain, "Read the cautions at the foot of this page and what local practice says. Tell the monitoring centre which alarms will come.");
        let sources: Vec<String> = self.facts.office.air_sources().map(|(id, _)| self.name(id)).collect();
        if !sources.is_empty() {
            let what = format!(
                "Shut off and lock {}, and let the air off slowly wherever you will open a fitting.",
                sources.join(", ")
            );
            self.check_step(
                Mark::Plain,
                what,
                format!("gauge at {}", self.facts.figure(Dimension::Pressure, 0.0)),
            );
        }
        let fed: Vec<ThingId> = self.loads();
        if !fed.is_empty() {
            let names: Vec<String> = fed.iter().map(|id| self.name(*id)).collect();
            self.step(Mark::Plain, format!("Take out the fuses of {} and tag the positions. They stay out until the steps below say otherwise.", names.join(", ")));
        }
        self.step(
            Mark::Plain,
            "Find out what is behind each wall and in each sheath before you drill or open it.",
        );
    }

    /// Things that a work order removes, conductors and tubes first.
    fn take_out(&mut self, before: &EarlierOffice) {
        self.group("Take out");
        let gone = before
            .changes
            .iter()
            .filter(|change| change.what == Deed::Removed && is_built(change));
        let mut gone: Vec<&ChangeRecord> = gone.collect();
        gone.sort_by_key(|change| change.of == Of::Thing);
        for change in gone {
            let was = change
                .before
                .as_ref()
                .map_or(String::new(), |was| format!(", which was {was}"));
            self.step(
                Mark::Plain,
                format!(
                    "Take out {}{was}. Prove it dead and without pressure first.",
                    change.about()
                ),
            );
        }
    }

    /// Equipment to mount in the office or on a cable, by place.
    fn hang(&mut self) {
        self.group("Hang");
        let facts = self.facts;
        let mut hung: Vec<(bool, String, ThingId)> = facts
            .equipment()
            .filter(|(_, thing)| !thing.is(KindId::AirPipe) && !thing.is(KindId::Lead))
            .map(|(id, _)| (facts.office.host(id).is_some(), facts.place(id), id))
            .collect();
        hung.sort();
        for (is_outside, place, id) in hung {
            let thing = facts.office.thing(id);
            let kind = thing.text(Key::Is).map_or_else(
                || thing.kind.map_or(String::new(), |kind| kind.word().replace('-', " ")),
                str::to_owned,
            );
            let model = thing
                .text(Key::Model)
                .map_or(String::new(), |model| format!(", {model}"));
            let address = thing
                .count(Key::Address)
                .map_or(String::new(), |address| format!(" Set its address to {address}."));
            let outside = if is_outside { outside(facts, id) } else { "" };
            self.step(
                self.mark(id),
                format!("{} ({kind}{model}): {place}.{address}{outside}", self.name(id)),
            );
        }
    }

    fn pipe(&mut self) {
        self.group("Pipe and seal");
        let facts = self.facts;
        let office = facts.office;
        for link in facts.networks.air.iter() {
            let pieces: Vec<String> = link
                .pieces(office)
                .map(|piece| facts.piece(link, piece).join(", "))
                .filter(|said| !said.is_empty())
                .collect();
            let with = if pieces.is_empty() {
                "joined without tube".to_owned()
            } else {
                pieces.join(", then ")
            };
            let mut fittings: Vec<(&'static str, String)> = Vec::new();
            for (id, key) in [(link.from.thing, Key::Outlet), (link.to.thing, Key::Inlet)] {
                let fitting = office.thing(id).fitting(key);
                fittings.extend(
                    fitting
                        .map(|(fitting, _)| (seal(fitting), format!("{} at {}", unbroken(&fitting), office.name(id)))),
                );
            }
            if link.is_last(office) {
                let adapters = office.run(link.run).adapters.iter();
                fittings.extend(adapters.map(|adapter| {
                    (
                        seal(adapter.fitting.value),
                        format!("adapter {}", unbroken(&adapter.fitting.value)),
                    )
                }));
            }
            // Joints made the same way are listed together.
            fittings.sort_by_key(|(seal, _)| *seal);
            let alike = fittings.chunk_by(|one, other| one.0 == other.0).filter_map(|alike| {
                let names: Vec<&str> = alike.iter().map(|(_, name)| name.as_str()).collect();
                Some(format!(" {}: {}.", names.join(", "), alike.first()?.0))
            });
            let seals: String = alike.collect();
            self.step(
                facts.marks.link(office, link),
                format!("{} to {}: {with}.{seals}", facts.end(&link.from), facts.end(&link.to)),
            );
        }
        for (id, count) in crate::material::spare_ports(facts.office, &facts.allocation) {
            self.check_step(
                self.mark(id),
                format!("Plug the spare ports of {}.", self.name(id)),
                format!("{count} plugged"),
            );
        }
    }

    fn leak_test(&mut self) {
        self.group("Leak test");
        let facts = self.facts;
        if facts.networks.air.iter().next().is_none() {
            return;
        }
        let lowest = lowest_rating(facts);
        let most = lowest.map_or_else(
            || {
                "The file states no rating: find the lowest-rated part on its maker's sheet first, and stay below it."
                    .to_owned()
            },
            |(id, rating)| format!("Never above {rating}, the rating of {}.", self.name(id)),
        );
        self.check_step(
            Mark::Plain,
            format!("Close the valves to the cables, bring the piping of the office slowly to its set pressure, and go over every joint with leak solution. {most}"),
            "no bubble at any joint",
        );
        let cables: Vec<ThingId> = facts.office.of_kind(KindId::Cable).map(|(id, _)| id).collect();
        let mut unknown = Vec::new();
        for cable in cables {
            match decay(facts, cable) {
                Some((what, expect)) => {
                    self.check_step(self.mark(cable), format!("{}: {what}", self.name(cable)), expect);
                }
                None => unknown.push(facts.office.name(cable).to_owned()),
            }
        }
        if !unknown.is_empty() {
            self.step(
                Mark::Plain,
                format!("No decay is computed for {}: a section states no volume or no usage, or its pressure is not known. Judge the test by local practice.", unknown.join(", ")),
            );
        }
        self.step(Mark::Plain, "Let the test air off slowly.");
    }

    fn ground(&mut self) {
        self.group("Ground first");
        let facts = self.facts;
        for link in facts.networks.ground.iter() {
            let pieces: Vec<String> = link
                .pieces(facts.office)
                .map(|piece| facts.piece(link, piece).join(", "))
                .filter(|said| !said.is_empty())
                .collect();
            let what = format!(
                "{} to {}: {}.",
                facts.end(&link.from),
                facts.end(&link.to),
                pieces.join(", then ")
            );
            if link.from.port.role == Role::Return {
                self.step(facts.marks.link(facts.office, link), format!("{what} The only place where the battery return meets ground: leave it as it is, and join them nowhere else."));
            } else {
                self.step(facts.marks.link(facts.office, link), what);
            }
        }
        if facts.networks.ground.iter().next().is_some() {
            self.step(Mark::Plain, "Pull at each lug, and see that no frame is grounded through another and that no battery return ends on a frame.");
        }
    }

    /// Loads, in file order.
    fn loads(&self) -> Vec<ThingId> {
        let mut loads: Vec<ThingId> = self
            .facts
            .networks
            .feeds()
            .filter(|link| link.to.port.role == Role::Load)
            .map(|link| link.to.thing)
            .collect();
        loads.sort_unstable();
        loads.dedup();
        loads
    }

    fn power(&mut self) {
        self.group("Power, with every fuse out");
        let facts = self.facts;
        let links: Vec<_> = facts.networks.power.iter().collect();
        if links.is_empty() {
            return;
        }
        self.check_step(Mark::Plain, "Prove your meter on a live source, measure at each fuse position named below and at the open ends, and prove the meter again.", "dead: 0 V, battery to return and each to ground");
        for link in links {
            let pieces: Vec<String> = link
                .pieces(facts.office)
                .map(|piece| facts.piece(link, piece).join(", "))
                .filter(|said| !said.is_empty())
                .collect();
            self.step(facts.marks.link(facts.office, link), format!("Run {} to {}: {}. Mark battery and return at both ends. Leave the connector at the far end unplugged.", facts.end(&link.from), facts.end(&link.to), pieces.join(", then ")));
        }
        for id in self.loads() {
            let sign = if facts
                .networks
                .feeding(id)
                .next()
                .and_then(|feed| facts.networks.battery_of(feed))
                .is_some_and(|battery| {
                    facts
                        .office
                        .thing(battery)
                        .quantity(Key::Nominal)
                        .is_some_and(|(nominal, _)| nominal.value < 0.0)
                }) {
                "battery negative against return"
            } else {
                "polarity as the maker marks it"
            };
            let volts = supply_window(facts, id).map_or(String::new(), |window| format!(", {window}"));
            self.check_step(
                self.mark(id),
                format!(
                    "{}: put in the fuse, measure at the unplugged connector, and take the fuse out again.",
                    self.name(id)
                ),
                format!("{sign}{volts}"),
            );
        }
        self.check_step(
            Mark::Plain,
            "With all fuses out again, prove each connector dead before anything is plugged.",
            "dead: 0 V",
        );
    }

    fn pairs(&mut self) {
        self.group("Pairs, with the monitor unplugged");
        let facts = self.facts;
        let paths: Vec<SignalPath> = signal_paths(facts.office, facts.networks).collect();
        let controls = control_paths(facts.office, facts.networks);
        if paths.is_empty() && controls.is_empty() {
            return;
        }
        self.check_step(Mark::Plain, "Test every pair for foreign voltage before you touch it, tip and ring to ground and to each other. Stop in a thunderstorm.", "0 V");
        for path in by_input(facts, paths) {
            let own = loop_of(&facts.prediction.loops, &path.signal).filter(|own| !own.stretches.is_empty());
            let expect = own.map(|own| {
                let ohms = facts.figure(Dimension::Resistance, own.resistance_at_20.ohms());
                let hottest = facts.figure(Dimension::Resistance, own.resistance.ohms());
                format!("{ohms} at 20 °C, {hottest} at the hottest")
            });
            let is_contact = path.input.port.role == Role::ContactInput;
            let what = format!("{}: {}.", self.input(path.input), self.device(path.signal));
            match (expect, is_contact) {
                (Some(expect), false) => self.check_step(
                    self.circuit(path.signal),
                    format!("{what} Short the pair at the device and measure the loop."),
                    expect,
                ),
                (None, false) => self.check_step(
                    self.circuit(path.signal),
                    format!("{what} Short the pair at the device and see that the loop closes."),
                    "closed; no resistance is computed",
                ),
                (expect, true) => {
                    let healthy = healthy(facts, path.signal);
                    let ohms = expect.map_or(String::new(), |ohms| format!("; loop when closed {ohms}"));
                    let state = healthy.map_or_else(
                        || "the state is not stated".to_owned(),
                        |state| format!("{} while all is well", state.word()),
                    );
                    self.check_step(
                        self.circuit(path.signal),
                        format!("{what} Read the contact at the block, then work the device and see that it changes."),
                        format!("{state}{ohms}"),
                    );
                }
            }
        }
        for path in controls {
            let what = format!(
                "{}: {}. Nobody has a hand in it. See that the pair is whole.",
                self.input(path.signal),
                self.device(path.input)
            );
            self.step(self.circuit(path.input), what);
        }
    }

    fn circuit(&self, device: Terminal) -> Mark {
        self.facts.marks.circuit(self.facts, device)
    }

    fn input(&self, input: Terminal) -> String {
        format!(
            "{} {} {}",
            self.facts.name(input.thing),
            input.port.word,
            printed(input.number)
        )
    }

    fn device(&self, device: Terminal) -> String {
        format!("{} {}", self.name(device.thing), signal_name(self.facts, device))
    }

    fn plug(&mut self) {
        self.group("Plug and switch on");
        let facts = self.facts;
        let monitors: Vec<ThingId> = facts.office.of_kind(KindId::Monitor).map(|(id, _)| id).collect();
        for id in &monitors {
            self.check_step(
                self.mark(*id),
                format!(
                    "{}: see that its fuse is out and its connector dead, then plug the pairs and last the power.",
                    self.name(*id)
                ),
                "fuse out, 0 V",
            );
        }
        for id in self.loads() {
            let fuse = fuse_of(facts, id).map_or(String::new(), |fuse| format!(" ({fuse})"));
            let expect = supply_window(facts, id).unwrap_or_else(|| "no voltage is computed".to_owned());
            self.check_step(
                self.mark(id),
                format!(
                    "{}: put in the fuse{fuse}, and measure at its terminals.",
                    self.name(id)
                ),
                expect,
            );
        }
    }

    fn air_on(&mut self) {
        self.group("Air on, slowly");
        let facts = self.facts;
        for (id, thing) in facts.office.air_sources() {
            let expect = thing.quantity(Key::Delivers).map_or_else(
                || "no pressure is stated".to_owned(),
                |(delivers, _)| delivers.to_string(),
            );
            self.check_step(
                self.mark(id),
                format!("{}: back every regulator off, then open slowly.", self.name(id)),
                expect,
            );
        }
        for (id, thing) in facts.office.of_kind(KindId::Regulator) {
            if let Some((set, _)) = thing.quantity(Key::Set) {
                self.check_step(
                    self.mark(id),
                    format!("{}: bring it up slowly to its set pressure.", self.name(id)),
                    set.to_string(),
                );
            }
        }
        if facts.office.of_kind(KindId::Cable).next().is_some() {
            self.step(Mark::Plain, "Open the cables one after the other. A long cable takes days to come up to its pressure: the values below are those of the settled state.");
        }
    }

    /// Expected reading of each sensor in the normal state.
    fn check(&mut self) {
        self.group("What each input should read");
        let facts = self.facts;
        for path in by_input(facts, signal_paths(facts.office, facts.networks).collect()) {
            let Some(signal) = facts.signal(path.signal) else {
                continue;
            };
            let normal = signal
                .fields
                .quantity(Key::Normal)
                .map(|(normal, _)| format!("{normal} (stated, not computed)"));
            let reading = Some(signal)
                .filter(|signal| facts.office.has(signal.thing))
                .and_then(|signal| facts.explainer.reading(signal))
                .and_then(|reading| reading.shown(&facts.units))
                .map(short);
            let state = healthy(facts, path.signal).map(|state| state.word().to_owned());
            let expect = state
                .or(reading)
                .or(normal)
                .unwrap_or_else(|| "nothing is computed".to_owned());
            self.check_step(
                self.circuit(path.signal),
                format!("{}: {}", self.input(path.input), self.device(path.signal)),
                expect,
            );
        }
        self.step(
            Mark::Plain,
            "Write down what was found and hand it over, with the day and your name.",
        );
    }
}

/// Note for a device mounted outdoors.
fn outside(facts: &Facts<'_>, id: ThingId) -> &'static str {
    let spot = drysheath_office::line::position_of(facts.office, facts.networks, id);
    let surroundings = spot.and_then(|spot| {
        let route = facts.prediction.air.line_of(facts.office, &spot)?;
        route.section_at(spot.metres)?.surroundings
    });
    match surroundings {
        Some(Key::Underground) => " In a manhole: test the air, ventilate and guard the opening first.",
        Some(Key::Aerial) => " On a pole or strand: try it, and look for power lines, before you climb.",
        Some(Key::Buried) => " In the ground: have what else lies there located before you dig.",
        _ => "",
    }
}

/// How a joint is sealed.
fn seal(fitting: Fitting) -> &'static str {
    match fitting.kind {
        FittingType::Npt | FittingType::Iso7 => "tapered thread, seal it",
        FittingType::Iso228 => "parallel thread, seals on a washer",
        FittingType::Compression => "no sealant; tighten as its maker says",
        FittingType::Barb => "clamp the hose",
        FittingType::PushIn => "cut the tube square and push it home",
        FittingType::Thread => "find out the thread before you seal it",
    }
}

fn by_input(facts: &Facts<'_>, mut paths: Vec<SignalPath>) -> Vec<SignalPath> {
    paths.sort_by_cached_key(|path| {
        (
            facts.name(path.input.thing).to_owned(),
            path.input.port.role == Role::ContactInput,
            path.input.number,
        )
    });
    paths
}

fn healthy(facts: &Facts<'_>, device: Terminal) -> Option<HealthyState> {
    facts.signal(device)?.fields.choice(Key::Healthy)
}

/// Fuse of a load and its position.
fn fuse_of(facts: &Facts<'_>, load: ThingId) -> Option<String> {
    let link = facts.networks.feeding(load).next()?;
    let position = facts.end(&link.from);
    match link.with.fuse {
        Some(fuse) => Some(format!("{position}, {}", fuse.value)),
        None => Some(position),
    }
}

/// Part with the lowest pressure rating in the office's air network.
fn lowest_rating(facts: &Facts<'_>) -> Option<(ThingId, Quantity)> {
    let rated = facts.office.things().filter_map(|(id, thing)| {
        let rating = [Key::Rating, Key::InletMax, Key::Proof]
            .into_iter()
            .find_map(|key| thing.quantity(key))?
            .0;
        Some((id, rating))
    });
    rated.min_by(|(_, one), (_, other)| {
        facts
            .office
            .gauge_pascals(*one)
            .total_cmp(&facts.office.gauge_pascals(*other))
    })
}

/// Decay test of a cable: the instruction, and the lowest final pressure with which the cable passes. The allowed loss
/// is the declared usage, converted to the test pressure, times the meter leeway of the settings; readings of the test
/// are judged by the same criterion.
fn decay(facts: &Facts<'_>, cable: ThingId) -> Option<(String, String)> {
    const MINUTES: f64 = 30.0;
    const STEPS: u32 = 60;
    let pressure_unit = facts.units.unit(Dimension::Pressure)?;
    let start = facts.prediction.air.inlet(cable)?.pascals();
    let leeway = 1.0 + facts.view.settings.fraction(PracticeKey::MeterLeeway);
    let gauge = |pascals: f64| Quantity {
        value: pressure_unit.from_si(pascals),
        unit: pressure_unit,
    };
    let during = Quantity {
        value: MINUTES,
        unit: find("min")?,
    };
    let test = |end: f64| {
        decay_test(
            facts.office,
            &facts.prediction.air,
            cable,
            &Decay {
                pressures: (gauge(start), gauge(end)),
                during,
                temperatures: None,
            },
        )
    };
    let passes = |end: f64| {
        test(end)
            .is_some_and(|test| test.lost.cubic_metres_per_second() <= test.declared.cubic_metres_per_second() * leeway)
    };
    test(start)?;
    // The lower the final pressure, the more was lost. Bisect between no loss and zero pressure for the lowest that
    // passes.
    let (mut low, mut high) = (0.0, start);
    if !passes(high) {
        return None;
    }
    for _ in 0..STEPS {
        let middle = f64::midpoint(low, high);
        if passes(middle) { high = middle } else { low = middle }
    }
    let (from, to) = (short(gauge(start)), short(gauge(high)));
    Some((
        format!("close it at {from}, wait {MINUTES} min, and read it again; note its temperature both times."),
        format!("{to} or more, at the same temperature"),
    ))
}
