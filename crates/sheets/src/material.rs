//! Bill of material, counted from the office file: equipment, fittings, tube, conductors, wire, fuses, connectors.

use std::collections::BTreeMap;

use drysheath_engineering::units::{Quantity, Unit};
use drysheath_office::kinds::{Connector, Key, Kind, KindId};
use drysheath_office::{
    Adapter, Allocation, Fields, Fitting, Links, Networks, Office, Run, Spanned, ThingId, in_row, inches,
};
use drysheath_syntax::Medium;

use crate::facts::short;
use crate::mark::Mark;
use crate::page::Block;
use crate::table::{Cell, Column, Row, Table};

/// A group of material, in loading order.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Group {
    /// Equipment to mount.
    Equipment,
    /// Tube and pipe, by size.
    Tube,
    /// Ends to make up, adapters, reducers and plugs.
    Fitting,
    /// Power and ground conductors, by size.
    Conductor,
    /// Wire for pairs, by size, and leads.
    Wire,
    /// Fuses, by rating.
    Fuse,
    /// Connectors of 25 pairs.
    Connector,
}

impl Group {
    fn title(self) -> &'static str {
        match self {
            Self::Equipment => "Equipment",
            Self::Tube => "Tube and pipe",
            Self::Fitting => "Fittings, adapters and plugs",
            Self::Conductor => "Power and ground conductors",
            Self::Wire => "Pair wire",
            Self::Fuse => "Fuses",
            Self::Connector => "Connectors",
        }
    }
}

/// An amount: pieces, or a length in metres with the unit in which it was first written.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Amount {
    /// Counted in pieces.
    Pieces(i64),
    /// A length in metres and the unit to show it in.
    Metres(f64, &'static Unit),
}

impl Amount {
    fn add(&mut self, other: Self, sign: f64) {
        match (self, other) {
            (Self::Pieces(own), Self::Pieces(more)) => *own += if sign < 0.0 { -more } else { more },
            (Self::Metres(own, _), Self::Metres(more, _)) => *own += sign * more,
            // Cannot happen: the group of an item determines whether it is counted or measured.
            _ => {}
        }
    }

    fn is_nothing(self) -> bool {
        /// Less tube or wire than this is rounding, m.
        const HAIR: f64 = 1e-6;
        match self {
            Self::Pieces(count) => count == 0,
            Self::Metres(metres, _) => metres.abs() < HAIR,
        }
    }

    fn is_less(self) -> bool {
        match self {
            Self::Pieces(count) => count < 0,
            Self::Metres(metres, _) => metres < 0.0,
        }
    }
}

impl std::fmt::Display for Amount {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Pieces(count) => count.abs().fmt(f),
            Self::Metres(metres, unit) => {
                let value = unit.from_si(metres.abs());
                short(Quantity { value, unit }).fmt(f)
            }
        }
    }
}

/// Amounts by group and name.
#[derive(Clone, Debug, Default)]
pub struct Material {
    items: BTreeMap<(Group, String), Amount>,
    /// Messages about items that could not be counted because the file lacks information.
    pub uncounted: Vec<String>,
}

impl Material {
    /// Material for an office.
    pub fn of(office: &Office, networks: &Networks, spare_ports: &[(ThingId, u32)]) -> Self {
        let mut material = Self::default();
        material.equipment(office);
        material.joints(office, &networks.air);
        for run in &office.runs {
            if !run.damaged {
                material.run(office, run);
            }
        }
        for (thing, count) in spare_ports {
            material.put(
                Group::Fitting,
                format!("plugs for spare ports of {}", office.name(*thing)),
                Amount::Pieces(i64::from(*count)),
            );
        }
        material.uncounted.sort();
        material.uncounted.dedup();
        material
    }

    /// Items with their amounts, in order.
    pub fn items(&self) -> impl Iterator<Item = (Group, &str, Amount)> {
        self.items
            .iter()
            .map(|((group, name), amount)| (*group, name.as_str(), *amount))
    }

    /// Material needed in addition to an earlier state; negative amounts are left over.
    #[must_use]
    pub fn beyond(&self, before: &Self) -> Self {
        let mut difference = self.clone();
        for ((group, name), amount) in &before.items {
            let zero = match amount {
                Amount::Pieces(_) => Amount::Pieces(0),
                Amount::Metres(_, unit) => Amount::Metres(0.0, unit),
            };
            let own = difference.items.entry((*group, name.clone())).or_insert(zero);
            own.add(*amount, -1.0);
        }
        difference.items.retain(|_, amount| !amount.is_nothing());
        difference
    }

    fn put(&mut self, group: Group, name: String, amount: Amount) {
        match self.items.entry((group, name)) {
            std::collections::btree_map::Entry::Vacant(entry) => {
                entry.insert(amount);
            }
            std::collections::btree_map::Entry::Occupied(mut entry) => entry.get_mut().add(amount, 1.0),
        }
    }

    fn length(&mut self, group: Group, name: String, length: Option<Spanned<Quantity>>, times: u32, what: &str) {
        match length {
            Some(length) => {
                let metres = length.value.si() * f64::from(times);
                self.put(group, name, Amount::Metres(metres, length.value.unit));
            }
            None => self.uncounted.push(format!("the length of {what}")),
        }
    }

    fn equipment(&mut self, office: &Office) {
        for (id, thing) in office.things() {
            let Some(kind) = thing.kind.filter(|kind| Kind::is_equipment(kind)) else {
                continue;
            };
            if matches!(kind.id, KindId::Cable | KindId::Battery) {
                continue;
            }
            let known_as = thing
                .text(Key::Model)
                .map(str::to_owned)
                .or_else(|| thing.part.as_ref().map(|part| part.name.to_string()));
            if kind.id == KindId::AirPipe {
                let bore = thing
                    .quantity(Key::Bore)
                    .map_or("unstated".to_owned(), |(bore, _)| inches(bore));
                match thing.quantity(Key::Length) {
                    Some((length, _)) => self.put(
                        Group::Tube,
                        format!("pipe, {bore} bore"),
                        Amount::Metres(length.si(), length.unit),
                    ),
                    None => self.uncounted.push(format!("the length of pipe {}", office.name(id))),
                }
                continue;
            }
            if kind.id == KindId::Lead {
                let pairs = thing
                    .count(Key::Pairs)
                    .map_or(String::new(), |pairs| format!(", {pairs} pairs"));
                let gauge = thing
                    .quantity(Key::Gauge)
                    .map_or(String::new(), |(gauge, _)| format!(", {gauge}"));
                let length = thing
                    .quantity(Key::Length)
                    .map_or(String::new(), |(length, _)| format!(", {length} long"));
                self.put(Group::Wire, format!("lead{pairs}{gauge}{length}"), Amount::Pieces(1));
                continue;
            }
            let own_words = thing
                .text(Key::Is)
                .map_or_else(|| kind.word().replace('-', " "), str::to_owned);
            let name = known_as.map_or_else(|| own_words.clone(), |known_as| format!("{own_words}, {known_as}"));
            self.put(Group::Equipment, name, Amount::Pieces(1));
            let bottles = thing.count(Key::Bottles).filter(|_| kind.id == KindId::Bottle);
            if let Some(bottles) = bottles.filter(|bottles| *bottles > 1) {
                self.put(
                    Group::Equipment,
                    "further bottles of dry gas".to_owned(),
                    Amount::Pieces(i64::from(bottles) - 1),
                );
            }
            self.connectors(office, id);
        }
    }

    fn connectors(&mut self, office: &Office, id: ThingId) {
        const PAIRS: u32 = 25;
        let thing = office.thing(id);
        if !thing.is(KindId::Block) {
            return;
        }
        let half = thing.choice::<Connector>(Key::Connector);
        if half.is_none() && thing.yes_no(Key::Pins) != Some(true) {
            return;
        }
        let mut ports = thing.kind.into_iter().flat_map(|kind| kind.ports);
        let pairs = ports.find_map(|port| office.rows(id, port)).map_or(0, |rows| {
            rows.iter().map(|(from, to)| in_row(to) - in_row(from) + 1).sum::<u32>()
        });
        let of_block = match half {
            None => "for a block with pins",
            Some(Connector::Plug) => "socket to mate with a plug",
            Some(Connector::Socket) => "plug to mate with a socket",
        };
        self.put(
            Group::Connector,
            format!("connector of 25 pairs, {of_block}"),
            Amount::Pieces(i64::from(pairs.div_ceil(PAIRS))),
        );
    }

    /// Counts tube ends to make up: two for each link between two things.
    fn joints(&mut self, office: &Office, air: &Links) {
        for link in air.iter() {
            let pieces: Vec<_> = link.pieces(office).collect();
            let mut end = |tube: Option<Spanned<Quantity>>| {
                if let Some(tube) = tube {
                    self.put(
                        Group::Fitting,
                        format!("ends of {} tube to make up", inches(tube.value)),
                        Amount::Pieces(1),
                    );
                }
            };
            end(pieces.first().and_then(|piece| piece.tube));
            end(pieces.last().and_then(|piece| piece.tube));
        }
    }

    fn run(&mut self, office: &Office, run: &Run) {
        let text = run.range.of(&office.text);
        let what = text
            .split(" with ")
            .next()
            .unwrap_or_default()
            .split_whitespace()
            .collect::<Vec<_>>()
            .join(" ");
        match run.medium {
            Medium::Air => self.air_run(run, &what),
            Medium::Power => {
                for piece in run.pieces() {
                    if let Some(fuse) = piece.fuse {
                        self.put(Group::Fuse, format!("fuse {}", fuse.value), Amount::Pieces(1));
                    }
                    if let Some(gauge) = piece.gauge {
                        // One conductor each for battery and return.
                        self.length(
                            Group::Conductor,
                            format!("power conductor {}", gauge.value),
                            piece.length,
                            2,
                            &what,
                        );
                    } else {
                        self.uncounted.push(format!("the conductor of {what}"));
                    }
                }
            }
            Medium::Ground => {
                for piece in run.pieces() {
                    if let Some(gauge) = piece.gauge {
                        self.length(
                            Group::Conductor,
                            format!("ground conductor {}", gauge.value),
                            piece.length,
                            1,
                            &what,
                        );
                    } else {
                        self.uncounted.push(format!("the conductor of {what}"));
                    }
                }
            }
            Medium::Wire => {
                let pairs = run
                    .ends
                    .iter()
                    .map(|end| end.numbers.1 - end.numbers.0 + 1)
                    .min()
                    .unwrap_or(1);
                for piece in run.pieces() {
                    // Jumpers without a gauge are cut from stock and not counted.
                    if let Some(gauge) = piece.gauge {
                        self.length(
                            Group::Wire,
                            format!("pair wire {}", gauge.value),
                            piece.length,
                            pairs,
                            &what,
                        );
                    }
                }
            }
        }
    }

    fn air_run(&mut self, run: &Run, what: &str) {
        for piece in run.pieces() {
            if let Some(tube) = piece.tube {
                let bore = piece
                    .bore
                    .map_or(String::new(), |bore| format!(", {} bore", inches(bore.value)));
                self.length(
                    Group::Tube,
                    format!("tube {}{bore}", inches(tube.value)),
                    piece.length,
                    1,
                    what,
                );
            }
        }
        let sizes: Vec<Option<Quantity>> = run.pieces().map(|piece| piece.tube.map(|tube| tube.value)).collect();
        for (at, piece) in run.pieces().enumerate().filter(|(_, piece)| piece.reducer.is_some()) {
            let _ = piece;
            let size = |at: Option<usize>| {
                at.and_then(|at| sizes.get(at).copied().flatten())
                    .map_or("unstated".to_owned(), inches)
            };
            self.put(
                Group::Fitting,
                format!("reducer, {} tube to {} tube", size(at.checked_sub(1)), size(Some(at))),
                Amount::Pieces(1),
            );
        }
        for Adapter { fitting, at, .. } in &run.adapters {
            // The tube at a joint is that of the piece at the same end of the run.
            let is_first = at.is_some() && run.ends.first().and_then(|end| end.thing) == *at;
            let tube = if is_first { sizes.first() } else { sizes.last() };
            let tube = tube
                .copied()
                .flatten()
                .map_or(String::new(), |tube| format!(" for {} tube", inches(tube)));
            self.put(
                Group::Fitting,
                format!("adapter {}{tube}", thread(fitting.value)),
                Amount::Pieces(1),
            );
        }
    }
}

fn thread(fitting: Fitting) -> String {
    fitting.to_string()
}

/// Number of spare, and therefore plugged, ports of each manifold and regulator.
pub fn spare_ports(office: &Office, allocation: &Allocation) -> Vec<(ThingId, u32)> {
    let mut spare: Vec<(ThingId, u32)> = Vec::new();
    for range in allocation.all_spare() {
        if range.port.medium != Medium::Air || !range.port.is_counted() {
            continue;
        }
        let has = office.rows(range.thing, range.port);
        let count = (range.from..=range.to)
            .filter(|number| has.is_none_or(|rows| rows.has(*number)))
            .count() as u32;
        match spare.iter_mut().find(|(thing, _)| *thing == range.thing) {
            Some((_, sum)) => *sum += count,
            None => spare.push((range.thing, count)),
        }
    }
    spare
}

const COLUMNS: &[Column] = &[
    Column {
        title: "Packed",
        width: 66,
    },
    Column {
        title: "How much",
        width: 104,
    },
    Column {
        title: "What",
        width: 530,
    },
];

/// Tables of material: what to bring and, for a difference, what is left over.
pub fn blocks(material: &Material, is_difference: bool) -> Vec<Block> {
    let mut blocks = Vec::new();
    let (over, needed): (Vec<_>, Vec<_>) = material.items().partition(|(_, _, amount)| amount.is_less());
    blocks.push(Block::Paragraph(
        "Counted from the file: add what is cut off and what breaks. Cables and the battery plant are taken as there. Power conductors are counted there \
         and back. Jumpers on a block are not counted."
            .to_owned(),
    ));
    if needed.is_empty() {
        blocks.push(Block::Paragraph(
            if is_difference {
                "Nothing to bring."
            } else {
                "The file names nothing that could be counted."
            }
            .to_owned(),
        ));
    }
    by_group(&mut blocks, &needed, "");
    if !over.is_empty() {
        by_group(&mut blocks, &over, "Left over: ");
    }
    if !material.uncounted.is_empty() {
        blocks.push(Block::Heading("Not counted, since the file does not say".to_owned()));
        blocks.push(Block::Paragraph(format!("{}.", material.uncounted.join("; "))));
    }
    blocks
}

fn by_group(blocks: &mut Vec<Block>, items: &[(Group, &str, Amount)], before: &str) {
    for group in items.chunk_by(|one, other| one.0 == other.0) {
        let Some((first, ..)) = group.first() else { continue };
        let rows = group.iter().map(|(_, name, amount)| Row {
            mark: Mark::Plain,
            cells: vec![
                Cell::Tick,
                Cell::Strong(amount.to_string()),
                Cell::Text((*name).to_owned()),
            ],
        });
        let title = first.title();
        let title = if before.is_empty() {
            title.to_owned()
        } else {
            format!("{before}{}", title.to_lowercase())
        };
        blocks.push(Block::Heading(title.clone()));
        blocks.push(Block::Table(Table {
            about: title,
            columns: COLUMNS,
            rows: rows.collect(),
        }));
    }
}
