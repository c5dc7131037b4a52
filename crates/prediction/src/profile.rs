//! The points along a cable, branch or pipe where the pressure is listed.

use drysheath_engineering::measure::{Flow, Pressure};
use drysheath_office::kinds::Key;
use drysheath_office::{Field, Fields, Networks, Office, ThingId};

use crate::air::AirLocation;
use crate::line::Line;
use crate::minimum_pressure::{DefaultMinimums, minimum_pressure};
use crate::prediction::Prediction;

/// Points closer together than this are merged, m.
const SAME: f64 = 0.01;

/// What is at a listed point of a line.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Landmark {
    /// The beginning of the line.
    Start,
    /// The end of a line that has no sections.
    End,
    /// The end of the section with this name.
    EndOfSection(String),
    /// The point of lowest pressure within a section.
    Lowest,
    /// The place with this name.
    Place(String),
    /// The point where the branch with this name leaves.
    Branch(String),
    /// A thing that stands there.
    Thing(ThingId),
}

impl Landmark {
    /// Its description: `start`, `end of s1`, the name of a sensor.
    pub fn words(&self, office: &Office) -> String {
        match self {
            Self::Start => "start".to_owned(),
            Self::End => "end".to_owned(),
            Self::EndOfSection(name) => format!("end of {name}"),
            Self::Lowest => "lowest".to_owned(),
            Self::Place(name) => name.clone(),
            Self::Branch(name) => format!("branch {name}"),
            Self::Thing(id) => office.name(*id).to_owned(),
        }
    }
}

/// A listed point on a line.
#[derive(Clone, Debug, PartialEq)]
pub struct ProfilePoint {
    /// Distance from the line's beginning, m.
    pub metres: f64,
    /// What is there: one or more.
    pub landmarks: Vec<Landmark>,
    /// Computed gauge pressure at the point.
    pub pressure: Option<Pressure>,
    /// Flow, positive away from the line's beginning.
    pub flow: Option<Flow>,
    /// Declared minimum pressure, gauge. Where two sections meet, the higher.
    pub minimum: Option<Pressure>,
}

impl ProfilePoint {
    /// Description of all that is there, separated by commas.
    pub fn what(&self, office: &Office) -> String {
        let words: Vec<String> = self.landmarks.iter().map(|landmark| landmark.words(office)).collect();
        words.join(", ")
    }

    /// The things that stand there.
    pub fn things(&self) -> impl Iterator<Item = ThingId> {
        self.landmarks.iter().filter_map(|landmark| match landmark {
            Landmark::Thing(id) => Some(*id),
            _ => None,
        })
    }

    /// Pressure above the minimum of the section; negative below it.
    pub fn margin(&self) -> Option<Pressure> {
        self.pressure
            .zip(self.minimum)
            .map(|(pressure, least)| pressure - least)
    }
}

impl Prediction {
    /// The points along a line where the pressure is listed, without duplicates, from its beginning outwards: ends of
    /// sections, points of lowest pressure, named places, branches, and things located there. `None` where the line's
    /// length is not known.
    pub fn profile(
        &self,
        office: &Office,
        networks: &Networks,
        practice: &DefaultMinimums,
        line: &Line,
    ) -> Vec<ProfilePoint> {
        let Some(length) = line.length() else {
            return Vec::new();
        };
        let mut places = self.landmarks_of_sections(office, line, length);
        if line.branch.is_none() {
            let thing = office.thing(line.thing);
            let at = |fields: &[Field], key| fields.quantity(key).map(|(at, _)| at.si());
            let named = thing
                .named(Key::Place)
                .map(|(name, _, fields)| (at(fields, Key::At), Landmark::Place(name.to_owned())));
            let branches = thing.named(Key::Branch);
            let branches = branches.map(|(name, _, fields)| (at(fields, Key::From), Landmark::Branch(name.to_owned())));
            places.extend(named.chain(branches).filter_map(|(at, landmark)| Some((at?, landmark))));
        }
        for id in networks.standing_at(line.thing) {
            if let Some(AirLocation::OnLine(other, metres)) = self.air.location_of(office, networks, id)
                && other.branch == line.branch
            {
                places.push((metres, Landmark::Thing(id)));
            }
        }
        places.retain(|(metres, _)| *metres <= length + SAME);
        places.sort_by(|(one, _), (other, _)| one.total_cmp(other));
        let mut points: Vec<ProfilePoint> = Vec::new();
        for (metres, landmark) in places {
            match points.last_mut().filter(|last| metres - last.metres < SAME) {
                Some(last) => last.landmarks.push(landmark),
                None => points.push(self.point(office, practice, line, metres, landmark)),
            }
        }
        points
    }

    /// The beginning of the line, the ends of its sections, and the points of lowest pressure within them.
    fn landmarks_of_sections(&self, office: &Office, line: &Line, length: f64) -> Vec<(f64, Landmark)> {
        let mut places = vec![(0.0, Landmark::Start)];
        for section in &line.sections {
            let (name, _) = line.section(office, section).unwrap_or_default();
            if section.surroundings.is_some() {
                places.push((section.to, Landmark::EndOfSection(name.to_owned())));
            }
            if let Some((metres, _)) = self.air.lowest(line, section)
                && metres > section.from + SAME
                && metres < section.to - SAME
            {
                places.push((metres, Landmark::Lowest));
            }
        }
        if line.sections.iter().all(|section| section.surroundings.is_none()) {
            places.push((length, Landmark::End));
        }
        places
    }

    fn point(
        &self,
        office: &Office,
        practice: &DefaultMinimums,
        line: &Line,
        metres: f64,
        landmark: Landmark,
    ) -> ProfilePoint {
        let here = line
            .sections
            .iter()
            .filter(|section| metres >= section.from - SAME && metres <= section.to + SAME);
        let minimum = here
            .filter_map(|section| Some(office.figure(minimum_pressure(office, practice, line, section)?.quantity)))
            .reduce(f64::max);
        ProfilePoint {
            metres,
            landmarks: vec![landmark],
            pressure: self.air.pressure_along(line, metres),
            flow: self.air.flow_along(line, metres),
            minimum: minimum.map(Pressure::from_pascals),
        }
    }
}
