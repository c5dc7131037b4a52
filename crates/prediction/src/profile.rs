//! The points along a cable, branch or pipe where the pressure is listed.

use drysheath_engineering::measure::{Flow, Pressure};
use drysheath_office::kinds::Key;
use drysheath_office::{Field, Fields, Networks, Office};

use crate::air::AirLocation;
use crate::line::Line;
use crate::minimum_pressure::{DefaultMinimums, minimum_pressure};
use crate::prediction::Prediction;

/// Points closer together than this are merged, m.
const SAME: f64 = 0.01;

/// A listed point on a line.
#[derive(Clone, Debug, PartialEq)]
pub struct ProfilePoint {
    /// Distance from the line's beginning, m.
    pub metres: f64,
    /// Description: "start", "end of s1", a sensor's name; several are separated by commas.
    pub what: String,
    /// Computed gauge pressure at the point.
    pub pressure: Option<Pressure>,
    /// Flow, positive away from the line's beginning.
    pub flow: Option<Flow>,
    /// Declared minimum pressure, gauge. Where two sections meet, the higher.
    pub minimum: Option<Pressure>,
}

impl ProfilePoint {
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
        let mut places = self.of_sections(office, line, length);
        if line.branch.is_none() {
            let thing = office.thing(line.thing);
            let at = |fields: &[Field], key| fields.quantity(key).map(|(at, _)| at.si());
            let named = thing
                .named(Key::Place)
                .map(|(name, _, fields)| (at(fields, Key::At), name.to_owned()));
            let branches = thing.named(Key::Branch);
            let branches = branches.map(|(name, _, fields)| (at(fields, Key::From), format!("branch {name}")));
            places.extend(named.chain(branches).filter_map(|(at, name)| Some((at?, name))));
        }
        for id in networks.standing_at(line.thing) {
            if let Some(AirLocation::OnLine(other, metres)) = self.air.location_of(office, networks, id)
                && other.branch == line.branch
            {
                places.push((metres, office.name(id).to_owned()));
            }
        }
        places.retain(|(metres, _)| *metres <= length + SAME);
        places.sort_by(|(one, _), (other, _)| one.total_cmp(other));
        let mut points: Vec<ProfilePoint> = Vec::new();
        for (metres, what) in places {
            match points.last_mut().filter(|last| metres - last.metres < SAME) {
                Some(last) => {
                    last.what.push_str(", ");
                    last.what.push_str(&what);
                }
                None => points.push(self.point(office, practice, line, metres, what)),
            }
        }
        points
    }

    /// The beginning of the line, the ends of its sections, and the points of lowest pressure within them.
    fn of_sections(&self, office: &Office, line: &Line, length: f64) -> Vec<(f64, String)> {
        let mut places: Vec<(f64, String)> = vec![(0.0, "start".to_owned())];
        for section in &line.sections {
            let (name, _) = line.section(office, section).unwrap_or_default();
            if section.surroundings.is_some() {
                places.push((section.to, format!("end of {name}")));
            }
            if let Some((metres, _)) = self.air.lowest(line, section)
                && metres > section.from + SAME
                && metres < section.to - SAME
            {
                places.push((metres, "lowest".to_owned()));
            }
        }
        if line.sections.iter().all(|section| section.surroundings.is_none()) {
            places.push((length, "end".to_owned()));
        }
        places
    }

    fn point(
        &self,
        office: &Office,
        practice: &DefaultMinimums,
        line: &Line,
        metres: f64,
        what: String,
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
            what,
            pressure: self.air.pressure_along(line, metres),
            flow: self.air.flow_along(line, metres),
            minimum: minimum.map(Pressure::from_pascals),
        }
    }
}
