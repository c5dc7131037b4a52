//! Cables, their branches and air pipes as air meets them.

use drysheath_office::kinds::Key;
use drysheath_office::{Fields, Office, ThingId};

/// A cable, a branch of one, or an air pipe. Distances are metres from its beginning.
#[derive(Debug)]
pub struct Route {
    /// The cable or pipe.
    pub thing: ThingId,
    /// The branch, as its number among the branches of the cable, from 0.
    pub branch: Option<u32>,
    /// Its sections from the beginning outwards; a pipe has one. Empty where its length is not known.
    pub sections: Vec<RouteSection>,
    /// The pieces of it that the network is made of.
    pub(crate) pieces: Vec<Piece>,
}

/// A section of a cable, or a whole pipe.
#[derive(Clone, Copy, Debug)]
pub struct RouteSection {
    /// The section, as its number among the sections of the cable or branch, from 0.
    pub section: u32,
    /// Where it begins.
    pub from: f64,
    /// Where it ends.
    pub to: f64,
    /// What it lies in, of a section of cable.
    pub surroundings: Option<Key>,
}

/// A part of a line with nothing happening inside it.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Piece {
    pub from: f64,
    pub to: f64,
    pub edge: u32,
}

impl Route {
    /// Its length, where that is known.
    pub fn length(&self) -> Option<f64> {
        self.sections.last().map(|reach| reach.to)
    }

    /// The section that a distance lies in; of two that meet there, the nearer.
    pub fn section_at(&self, metres: f64) -> Option<&RouteSection> {
        self.sections.iter().find(|reach| metres <= reach.to + LEEWAY)
    }

    /// The branch's name.
    pub fn branch_name<'o>(&self, office: &'o Office) -> Option<&'o str> {
        let thing = office.thing(self.thing);
        let (name, ..) = thing.named(Key::Branch).nth(self.branch? as usize)?;
        Some(name)
    }

    /// What is said of one of its sections: its name and fields. A pipe has no sections.
    pub fn section<'o>(
        &self,
        office: &'o Office,
        reach: &RouteSection,
    ) -> Option<(&'o str, &'o [drysheath_office::Field])> {
        let thing = office.thing(self.thing);
        let fields = match self.branch {
            None => thing.fields(),
            Some(branch) => thing.named(Key::Branch).nth(branch as usize)?.2,
        };
        let (name, _, section) = fields.named(Key::Section).nth(reach.section as usize)?;
        Some((name, section))
    }

    /// The piece that a distance lies in; of two that meet there, the nearer.
    pub(crate) fn piece_at(&self, metres: f64) -> Option<&Piece> {
        let after = self.pieces.partition_point(|piece| piece.to + LEEWAY < metres);
        self.pieces.get(after).filter(|piece| metres >= piece.from - LEEWAY)
    }

    pub(crate) fn pieces_of(&self, reach: &RouteSection) -> impl Iterator<Item = &Piece> {
        let (from, to) = (reach.from - LEEWAY, reach.to + LEEWAY);
        let inside = move |piece: &&Piece| piece.from >= from && piece.to <= to;
        self.pieces.iter().filter(inside)
    }
}

/// Two places on a line nearer than this are one, m.
pub(crate) const LEEWAY: f64 = 1e-6;
