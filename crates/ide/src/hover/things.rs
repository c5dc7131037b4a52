//! A thing by its name: what it is, and the figures of its kind. A part, and what it says.

use drysheath_office::kinds::{Key, KindId};
use drysheath_office::{Fields, Part, ThingId};
use drysheath_rules::ResultCount;

use super::Teller;
use crate::card::Card;
use crate::spoken;

impl Teller<'_> {
    pub(super) fn thing(&self, id: ThingId) -> Option<Card> {
        let thing = self.analysis.office.thing(id);
        let kind = thing.kind?;
        let part = thing.part.as_ref().map(|part| format!(" of part `{}`", part.name));
        let mut card = Card::new(format!(
            "`{}`: {}{}",
            self.name(id),
            kind.word(),
            part.unwrap_or_default()
        ));
        match kind.id {
            KindId::Office => self.office(&mut card),
            KindId::Battery => self.battery(&mut card, id),
            KindId::FusePanel => self.panel(&mut card, id),
            KindId::GroundBar => self.bar(&mut card, id),
            KindId::Dryer => self.dryer(&mut card, id),
            KindId::Regulator => self.regulator(&mut card, id),
            KindId::Valve => self.valve(&mut card, id),
            KindId::Manifold => self.manifold(&mut card, id),
            KindId::AirPipe | KindId::Cable => self.line(&mut card, id),
            KindId::FlowSensor | KindId::PressureSensor | KindId::HumiditySensor | KindId::DewPointSensor => {
                self.sensor(&mut card, id);
            }
            KindId::Contact => self.contact(&mut card, id),
            KindId::Block => self.free_numbers(&mut card, id),
            KindId::Monitor => self.monitor(&mut card, id),
        }
        for key in [Key::Model, Key::Note] {
            if let Some(text) = thing.text(key) {
                card.fact(format!("{}: `{text}`", key.word()));
            }
        }
        self.missing(&mut card, id);
        Some(card)
    }

    /// What is missing for its figures.
    fn missing(&self, card: &mut Card, id: ThingId) {
        let gaps = self.analysis.prediction.missing.iter();
        for gap in gaps.filter(|gap| gap.on == id) {
            card.fact(format!("missing for {}: {}", gap.needed_for.phrase(), gap.what));
        }
    }

    fn office(&self, card: &mut Card) {
        let office = &self.analysis.office;
        let itself = office.itself.map(|id| office.thing(id));
        if let Some(title) = itself.and_then(|itself| itself.text(Key::Title)) {
            card.fact(format!("title: `{title}`"));
        }
        card.fact(format!("stage: {}", office.stage()));
        self.surroundings(card);
        card.fact(format!(
            "{} things, {} runs",
            office.things.len().saturating_sub(1),
            office.runs.len()
        ));
        let count = ResultCount::of(&self.analysis.findings);
        card.fact(format!(
            "errors {}, warnings {}, notes {}",
            count.errors, count.warnings, count.notes
        ));
    }

    pub(super) fn part(&self, name: &str) -> Option<Card> {
        let office = &self.analysis.office;
        let of_things = || office.things.iter().filter_map(|thing| thing.part.as_ref());
        let known = office.parts.iter().chain(of_things());
        let part: &Part = known.into_iter().find(|part| *part.name == *name)?;
        let mut card = Card::new(format!("part `{name}`: {}", part.kind.word()));
        let said: Vec<String> = part.fields().iter().map(|field| spoken::field(office, field)).collect();
        if !said.is_empty() {
            card.text(said.join("\n"));
        }
        let things: Vec<String> = office
            .things()
            .filter(|(_, thing)| thing.part.as_ref().is_some_and(|part| *part.name == *name))
            .map(|(id, _)| format!("`{}`", self.name(id)))
            .collect();
        if !things.is_empty() {
            card.fact(format!("taken here by {}", things.join(", ")));
        }
        Some(card)
    }
}
