//! Lines: cables, branches and air pipes along which distances are measured.

use drysheath_engineering::network::LinkEnd;
use drysheath_office::kinds::Key;
use drysheath_office::{Field, Fields, Office, ThingId, Value};
use drysheath_text::Place;

use crate::air::graph::AirEdge;

/// A cable, a branch of one, or an air pipe. Distances are metres from its beginning.
#[derive(Debug)]
pub struct Line {
    /// The cable or pipe.
    pub thing: ThingId,
    /// Index of the branch among the branches of the cable. `None` for a trunk or pipe.
    pub branch: Option<u32>,
    /// Index of the branch among the fields of the cable.
    pub(crate) branch_field: Option<u32>,
    /// Sections from the beginning outwards; a pipe has one. Empty where its length is not known.
    pub sections: Vec<LineSection>,
    /// The segments of the air network that it consists of, from the beginning outwards.
    pub(crate) segments: Vec<Segment>,
}

/// A section of a cable, or a whole pipe.
#[derive(Clone, Copy, Debug)]
pub struct LineSection {
    /// Index among the sections of the cable or branch.
    pub section: u32,
    /// Index among the fields of the cable or branch.
    pub(crate) field: u32,
    /// Distance at which it begins, m.
    pub from: f64,
    /// Distance at which it ends, m.
    pub to: f64,
    /// Surroundings of a section of cable. `None` for a pipe.
    pub surroundings: Option<Key>,
}

/// A part of a line between two points where something joins or leaves, with no such point inside.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Segment {
    pub from: f64,
    pub to: f64,
    pub edge: AirEdge,
}

impl Segment {
    pub fn middle(&self) -> f64 {
        f64::midpoint(self.from, self.to)
    }

    /// The end that is nearer to a distance along the line.
    pub fn nearer_end(&self, metres: f64) -> LinkEnd {
        if (self.to - metres).abs() < (metres - self.from).abs() {
            LinkEnd::End
        } else {
            LinkEnd::Start
        }
    }
}

impl Line {
    /// Length in metres. `None` where it is not known.
    pub fn length(&self) -> Option<f64> {
        self.sections.last().map(|section| section.to)
    }

    /// The section at a distance; where two meet, the one nearer to the beginning.
    pub fn section_at(&self, metres: f64) -> Option<&LineSection> {
        let at = self
            .sections
            .partition_point(|section| section.to + POSITION_TOLERANCE < metres);
        self.sections.get(at)
    }

    /// Name of the branch. `None` for a trunk or pipe.
    pub fn branch_name<'o>(&self, office: &'o Office) -> Option<&'o str> {
        let fields = office.thing(self.thing).fields();
        Some(named(fields.get(self.branch_field? as usize)?)?.0)
    }

    /// Name and fields of a section in the office. `None` for a pipe.
    pub fn section<'o>(&self, office: &'o Office, section: &LineSection) -> Option<(&'o str, &'o [Field])> {
        let (name, _, fields) = self.named_section(office, section)?;
        Some((name, fields))
    }

    /// Where the name of a section is written. `None` for a pipe.
    pub fn section_place(&self, office: &Office, section: &LineSection) -> Option<Place> {
        let (_, place, _) = self.named_section(office, section)?;
        Some(place)
    }

    fn named_section<'o>(&self, office: &'o Office, section: &LineSection) -> Option<NamedField<'o>> {
        section.surroundings?;
        let own = office.thing(self.thing).fields();
        let fields = match self.branch_field {
            None => own,
            Some(branch) => named(own.get(branch as usize)?)?.2,
        };
        named(fields.get(section.field as usize)?)
    }

    /// The segment at a distance; where two meet, the one nearer to the beginning.
    pub(crate) fn segment_at(&self, metres: f64) -> Option<&Segment> {
        self.segments.get(self.segment_number_at(metres)?)
    }

    pub(crate) fn segment_number_at(&self, metres: f64) -> Option<usize> {
        let after = self
            .segments
            .partition_point(|segment| segment.to + POSITION_TOLERANCE < metres);
        let segment = self.segments.get(after)?;
        (metres >= segment.from - POSITION_TOLERANCE).then_some(after)
    }

    pub(crate) fn segments_of(&self, section: &LineSection) -> impl Iterator<Item = &Segment> {
        let (from, to) = (section.from - POSITION_TOLERANCE, section.to + POSITION_TOLERANCE);
        let first = self.segments.partition_point(|segment| segment.from < from);
        let rest = self.segments.get(first..).unwrap_or_default();
        rest.iter().take_while(move |segment| segment.to <= to)
    }

    /// The distances at which the segments of a section begin and end, in metres.
    pub(crate) fn marks_of(&self, section: &LineSection) -> impl Iterator<Item = f64> {
        let first = self.segments_of(section).next().map(|segment| segment.from);
        first
            .into_iter()
            .chain(self.segments_of(section).map(|segment| segment.to))
    }
}

/// Name of a field, place of that name, and the fields in its block.
type NamedField<'o> = (&'o str, Place, &'o [Field]);

fn named(field: &Field) -> Option<NamedField<'_>> {
    match &field.value {
        Value::Named { name, place, fields } => Some((name, *place, fields)),
        _ => None,
    }
}

/// Two distances along a line that differ by less than this are the same place, m.
pub(crate) const POSITION_TOLERANCE: f64 = 1e-6;
