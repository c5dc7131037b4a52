//! The places along a cable, branch or pipe where the pressure is shown.

use drysheath_engineering::measure::{Flow, Pressure};
use drysheath_office::kinds::Key;
use drysheath_office::{Field, Fields, Networks, Office};

use crate::air::AirLocation;
use crate::line::Line;
use crate::minimum_pressure::{DefaultMinimums, minimum_pressure};
use crate::prediction::Prediction;

/// Places nearer than this are one, m.
const SAME: f64 = 0.01;

/// A place along a line, and what is there.
#[derive(Clone, Debug, PartialEq)]
pub struct ProfilePoint {
    /// Metres from the line's beginning.
    pub metres: f64,
    /// What is there: "start", "end of s1", a sensor's name, several of them with commas.
    pub what: String,
    /// Pressure above the surrounding air.
    pub pressure: Option<Pressure>,
    /// Flow away from the line's beginning.
    pub flow: Option<Flow>,
    /// The minimum pressure that is declared there, above the surrounding air. Where two sections meet, the higher.
    pub minimum: Option<Pressure>,
}

impl ProfilePoint {
    /// What the pressure has above the least.
    pub fn margin(&self) -> Option<Pressure> {
        self.pressure
            .zip(self.minimum)
            .map(|(pressure, least)| pressure - least)
    }
}

impl Prediction {
    /// The places along a line where the pressure is shown, each once, from its beginning outwards: where sections end, where
    /// the pressure is lowest, named places, branches, and the things located there. None where its length is not known.
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

    /// Where the line begins, where its sections end, and where within them the pressure is lowest.
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
