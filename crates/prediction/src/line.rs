//! Cables, their branches and air pipes, along which distances are counted.

use drysheath_office::kinds::Key;
use drysheath_office::{Field, Fields, Office, ThingId};

use crate::air::graph::AirEdge;

/// A cable, a branch of one, or an air pipe. Distances are metres from its beginning.
#[derive(Debug)]
pub struct Line {
    /// The cable or pipe.
    pub thing: ThingId,
    /// The branch, as its number among the branches of the cable, from 0.
    pub branch: Option<u32>,
    /// Its sections from the beginning outwards; a pipe has one. Empty where its length is not known.
    pub sections: Vec<LineSection>,
    /// The segments that the air network is made of, from the beginning outwards.
    pub(crate) segments: Vec<Segment>,
}

/// A section of a cable, or a whole pipe.
#[derive(Clone, Copy, Debug)]
pub struct LineSection {
    /// The section, as its number among the sections of the cable or branch, from 0.
    pub section: u32,
    /// Distance at which it begins, m.
    pub from: f64,
    /// Distance at which it ends, m.
    pub to: f64,
    /// What a section of cable lies in; none for a pipe.
    pub surroundings: Option<Key>,
}

/// A part of a line that nothing joins or leaves between its ends.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Segment {
    pub from: f64,
    pub to: f64,
    pub edge: AirEdge,
}

impl Line {
    /// Its length in metres, where that is known.
    pub fn length(&self) -> Option<f64> {
        self.sections.last().map(|section| section.to)
    }

    /// The section that a distance lies in; of two that meet there, the nearer.
    pub fn section_at(&self, metres: f64) -> Option<&LineSection> {
        self.sections.iter().find(|section| metres <= section.to + LEEWAY)
    }

    /// The name of its branch, where it is one.
    pub fn branch_name<'o>(&self, office: &'o Office) -> Option<&'o str> {
        let mut branches = office.thing(self.thing).named(Key::Branch);
        let (name, ..) = branches.nth(self.branch? as usize)?;
        Some(name)
    }

    /// What the office says of one of its sections: its name and fields. A pipe has no sections.
    pub fn section<'o>(&self, office: &'o Office, section: &LineSection) -> Option<(&'o str, &'o [Field])> {
        let thing = office.thing(self.thing);
        let fields = match self.branch {
            None => thing.fields(),
            Some(branch) => thing.named(Key::Branch).nth(branch as usize)?.2,
        };
        let (name, _, fields) = fields.named(Key::Section).nth(section.section as usize)?;
        Some((name, fields))
    }

    /// The segment that a distance lies in; of two that meet there, the nearer.
    pub(crate) fn segment_at(&self, metres: f64) -> Option<&Segment> {
        let after = self.segments.partition_point(|segment| segment.to + LEEWAY < metres);
        self.segments
            .get(after)
            .filter(|segment| metres >= segment.from - LEEWAY)
    }

    pub(crate) fn segments_of(&self, section: &LineSection) -> impl Iterator<Item = &Segment> {
        let (from, to) = (section.from - LEEWAY, section.to + LEEWAY);
        let is_inside = move |segment: &&Segment| segment.from >= from && segment.to <= to;
        self.segments.iter().filter(is_inside)
    }
}

/// Two distances along a line that differ by less than this are the same place, m.
pub(crate) const LEEWAY: f64 = 1e-6;
