//! Hovers of named fields: sections, branches, places, contacts.

use std::fmt::Write as _;

use drysheath_engineering::units::Dimension;
use drysheath_office::kinds::Key;
use drysheath_office::{Fields, ThingId};

use super::Describer;
use crate::explainer::explainer;
use crate::markup::Markup;
use crate::notation;

impl Describer<'_> {
    pub(super) fn inner(&self, owner: ThingId, key: Key, name: &str) -> Option<Markup> {
        let office = &self.analysis.office;
        let thing = office.thing(owner);
        let of = self.name(owner);
        let mut markup = Markup::new(format!("{} `{name}` of `{of}`", key.word()));
        match key {
            Key::Section => self.section(&mut markup, owner, name),
            Key::Branch => {
                let lines = self.analysis.prediction.air.lines().iter();
                for line in lines.filter(|line| line.thing == owner) {
                    if line.branch_name(office) == Some(name) {
                        self.profile(&mut markup, line, &explainer(self.analysis).detection_of(line.thing));
                    }
                }
            }
            Key::Contact => {
                let (number, (.., fields)) = (1..).zip(thing.named(key)).find(|(_, (own, ..))| *own == name)?;
                markup.fact(notation::fields(office, fields));
                self.carried_from(&mut markup, owner, None, Some(number));
            }
            Key::Control => {
                let (number, (.., fields)) = (1..).zip(thing.named(key)).find(|(_, (own, ..))| *own == name)?;
                markup.fact(notation::fields(office, fields));
                self.switched(&mut markup, owner, number);
            }
            Key::Place => {
                let (.., fields) = thing.named(key).find(|(own, ..)| *own == name)?;
                markup.fact(notation::fields(office, fields));
                let metres = fields.quantity(Key::At)?.0.si();
                let air = &self.analysis.prediction.air;
                let line = air
                    .lines()
                    .iter()
                    .find(|line| line.thing == owner && line.branch.is_none());
                if let Some(pressure) = line.and_then(|line| air.pressure_along(line, metres)) {
                    markup.fact(format!(
                        "pressure {} there",
                        self.show(Dimension::Pressure, pressure.pascals())
                    ));
                }
            }
            _ => {}
        }
        Some(markup)
    }

    fn section(&self, markup: &mut Markup, cable: ThingId, name: &str) {
        let (office, air) = (&self.analysis.office, &self.analysis.prediction.air);
        let lines = air.lines().iter().filter(|line| line.thing == cable);
        for section in lines.flat_map(|line| explainer(self.analysis).sections(line)) {
            let Some((_, fields)) = section.stated.filter(|(own, _)| *own == name) else {
                continue;
            };
            markup.fact(notation::fields(office, fields));
            markup.fact(format!("begins {}", self.position(section.line, section.section.from)));
            let Some((metres, pressure)) = section.lowest else {
                continue;
            };
            let mut lowest = format!(
                "minimum pressure {} {}",
                self.show(Dimension::Pressure, pressure.pascals()),
                self.position(section.line, metres)
            );
            if let Some((minimum, margin)) = section.minimum.zip(section.margin()) {
                let _ = write!(
                    lowest,
                    ", {} {} the {} that is wanted",
                    self.show(Dimension::Pressure, margin.abs()),
                    if margin < 0.0 { "below" } else { "above" },
                    minimum.quantity
                );
            }
            markup.fact(lowest);
        }
    }
}
