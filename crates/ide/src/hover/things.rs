//! A thing by its name: what it is, and the figures of its kind. A part, and what it says.

use drysheath_office::kinds::{Key, KindId};
use drysheath_office::{Fields, Part, ThingId};
use drysheath_rules::ResultCount;
use drysheath_text::TextRange;

use super::Describer;
use crate::markup::Markup;
use crate::notation;

impl Describer<'_> {
    pub(super) fn thing(&self, id: ThingId) -> Option<Markup> {
        let thing = self.analysis.office.thing(id);
        let kind = thing.kind?;
        let part = thing.part.as_ref().map(|part| format!(" of part `{}`", part.name));
        let mut markup = Markup::new(format!(
            "`{}`: {}{}",
            self.name(id),
            kind.word(),
            part.unwrap_or_default()
        ));
        if let Some(title) = thing.text(Key::Title) {
            markup.fact(format!("title: `{title}`"));
        }
        match kind.id {
            KindId::Office => self.office(&mut markup),
            KindId::Battery => self.battery(&mut markup, id),
            KindId::FusePanel => self.panel(&mut markup, id),
            KindId::GroundBar => self.bar(&mut markup, id),
            KindId::Dryer => self.dryer(&mut markup, id),
            KindId::Regulator => self.regulator(&mut markup, id),
            KindId::Valve => self.valve(&mut markup, id),
            KindId::Manifold => self.manifold(&mut markup, id),
            KindId::AirPipe | KindId::Cable => self.cable_or_pipe(&mut markup, id),
            KindId::FlowSensor | KindId::PressureSensor | KindId::HumiditySensor | KindId::DewPointSensor => {
                self.sensor(&mut markup, id);
            }
            KindId::Contact => self.contact(&mut markup, id),
            KindId::Block | KindId::Lead => self.free_numbers(&mut markup, id),
            KindId::Monitor => self.monitor(&mut markup, id),
        }
        for key in [Key::Model, Key::Note] {
            if let Some(text) = thing.text(key) {
                markup.fact(format!("{}: `{text}`", key.word()));
            }
        }
        self.missing(&mut markup, id);
        Some(markup)
    }

    /// What is missing for its figures.
    fn missing(&self, markup: &mut Markup, id: ThingId) {
        let gaps = self.analysis.prediction.missing.iter();
        for gap in gaps.filter(|gap| gap.on == id) {
            markup.fact(format!("missing for {}: {}", gap.needed_for.phrase(), gap.what));
        }
    }

    fn office(&self, markup: &mut Markup) {
        let office = &self.analysis.office;
        markup.fact(format!("stage: {}", office.stage().word()));
        self.surroundings(markup);
        markup.fact(format!(
            "{} things, {} runs",
            office.things.len().saturating_sub(1),
            office.runs.len()
        ));
        let count = ResultCount::of(self.analysis.findings());
        markup.fact(format!(
            "errors {}, warnings {}, notes {}",
            count.errors, count.warnings, count.notes
        ));
    }

    pub(super) fn part(&self, range: TextRange) -> Option<Markup> {
        let office = &self.analysis.office;
        let name = range.of(&self.analysis.text);
        let around = office.thing_around(range).and_then(|id| office.thing(id).part.as_ref());
        let of_things = || office.things.iter().filter_map(|thing| thing.part.as_ref());
        // Parts of two files may have one name: that of the thing itself comes first.
        let known = around.into_iter().chain(&office.parts).chain(of_things());
        let part: &Part = known.into_iter().find(|part| *part.name == *name)?;
        let mut markup = Markup::new(format!("part `{name}`: {}", part.kind.word()));
        let said: Vec<String> = part
            .fields()
            .iter()
            .map(|field| notation::field(office, field))
            .collect();
        if !said.is_empty() {
            markup.text(said.join("\n"));
        }
        let things: Vec<String> = office
            .things()
            .filter(|(_, thing)| thing.part.as_ref().is_some_and(|other| other.place == part.place))
            .map(|(id, _)| format!("`{}`", self.name(id)))
            .collect();
        if !things.is_empty() {
            markup.fact(format!("taken here by {}", things.join(", ")));
        }
        Some(markup)
    }
}
