//! Hovers of things: their kind and figures; and of parts.

use drysheath_office::kinds::{Key, KindId, ThingStage};
use drysheath_office::{Fields, Part, Thing, ThingId};
use drysheath_rules::ResultCount;
use drysheath_text::TextRange;

use super::Describer;
use crate::markup::Markup;
use crate::notation;

impl Describer<'_> {
    pub(super) fn thing(&self, id: ThingId) -> Option<Markup> {
        let thing = self.analysis.office.thing(id);
        let kind = thing.kind?;
        let parts: Vec<String> = thing.parts().map(|part| format!(" of part `{}`", part.name)).collect();
        let mut markup = Markup::new(format!("`{}`: {}{}", self.name(id), kind.word(), parts.join(",")));
        self.comments(&mut markup, thing.range);
        if let Some(title) = thing.text(Key::Title) {
            markup.fact(format!("title: `{title}`"));
        }
        self.place_and_stage(&mut markup, id);
        match kind.id {
            KindId::Office => self.office(&mut markup),
            KindId::Room => self.members(&mut markup, id, Key::Room),
            KindId::Assembly | KindId::Route => self.assembly(&mut markup, id),
            KindId::Battery => self.battery(&mut markup, id),
            KindId::FusePanel => self.panel(&mut markup, id),
            KindId::GroundBar => self.bar(&mut markup, id),
            KindId::Dryer => self.dryer(&mut markup, id),
            KindId::Bottle => self.bottle(&mut markup, id),
            KindId::Tank => self.tank(&mut markup, id),
            KindId::Regulator => self.regulator(&mut markup, id),
            KindId::Valve | KindId::Filter => self.valve(&mut markup, id),
            KindId::Manifold => self.manifold(&mut markup, id),
            KindId::AirPipe | KindId::Cable => self.cable_or_pipe(&mut markup, id),
            KindId::FlowSensor | KindId::PressureSensor | KindId::HumiditySensor | KindId::DewPointSensor => {
                self.sensor(&mut markup, id);
            }
            KindId::PressureSwitch => {
                self.healthy(&mut markup, id);
                self.sensor(&mut markup, id);
            }
            KindId::Contact => self.contact(&mut markup, id),
            KindId::Block | KindId::Lead => self.free_numbers(&mut markup, id),
            KindId::Monitor => self.monitor(&mut markup, id),
            KindId::Other => {
                if let Some(is) = thing.text(Key::Is) {
                    markup.fact(format!("is `{is}`"));
                }
                self.feeds_of(&mut markup, id);
            }
        }
        for key in [Key::Model, Key::Note] {
            if let Some(text) = thing.text(key) {
                markup.fact(format!("{}: `{text}`", key.word()));
            }
        }
        let former: Vec<String> = thing.former_names().map(|(name, _)| format!("`{name}`")).collect();
        if !former.is_empty() {
            markup.fact(format!("formerly {}", former.join(", ")));
        }
        for (recorded, _) in thing.recorded() {
            markup.fact(format!("{}: `{}`", recorded.name, recorded.text));
        }
        self.missing(&mut markup, id);
        Some(markup)
    }

    /// Adds room and order of a thing, and its stage if it is excluded because of that.
    fn place_and_stage(&self, markup: &mut Markup, id: ThingId) {
        let office = &self.analysis.office;
        let thing = office.thing(id);
        if let Some(room) = thing.other(Key::Room) {
            let title = room
                .thing
                .map_or_else(|| room.name.to_string(), |room| office.name_and_title(room));
            markup.fact(format!("room: `{title}`"));
        }
        for key in [Key::Location, Key::Label, Key::Order] {
            if let Some(text) = thing.text(key) {
                markup.fact(format!("{}: `{text}`", key.word()));
            }
        }
        let stage = thing.choice::<ThingStage>(Key::Stage);
        match (stage, office.excluded.has(id)) {
            (Some(stage), true) => markup.fact(format!("{}: nothing is asked of it or computed", stage.word())),
            (Some(stage), false) => markup.fact(format!("stage: {}", stage.word())),
            (None, _) => {}
        }
    }

    /// Adds the contents of an assembly: things of its drawing, and things that state that they belong to it.
    fn assembly(&self, markup: &mut Markup, id: ThingId) {
        let office = &self.analysis.office;
        let placed = office.placed_by(id);
        let drawn = placed.map(|placed| office.things().filter(|(other, _)| placed.things.contains(other)));
        let drawn: Vec<String> = drawn
            .into_iter()
            .flatten()
            .filter_map(|(other, thing)| Some(format!("`{}` ({})", self.name(other), thing.kind?.word())))
            .collect();
        if !drawn.is_empty() {
            markup.fact(format!("made of {}", drawn.join(", ")));
        }
        self.members(markup, id, Key::Assembly);
    }

    /// Adds the things that state by a field that they are in a room or assembly.
    fn members(&self, markup: &mut Markup, id: ThingId, key: Key) {
        let office = &self.analysis.office;
        let is_here = |other: ThingId| office.thing(other).other(key).and_then(|named| named.thing) == Some(id);
        let here: Vec<String> = office
            .things()
            .filter(|(other, _)| is_here(*other))
            .map(|(other, _)| format!("`{}`", self.name(other)))
            .collect();
        if !here.is_empty() {
            markup.fact(format!("in it: {}", here.join(", ")));
        }
    }

    /// Adds the inputs that are missing for its figures.
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
        let around = office.thing_around(range).map(|id| office.thing(id));
        let of_things = || office.things.iter().flat_map(Thing::parts);
        // Parts of two files may have the same name: that of the thing itself comes first.
        let around = around.into_iter().flat_map(Thing::parts);
        let known = around.chain(&office.parts).chain(of_things());
        let part: &Part = known.into_iter().find(|part| *part.name == *name)?;
        let base = part.of.as_ref().map(|base| format!(" of part `{base}`"));
        let mut markup = Markup::new(format!(
            "part `{name}`: {}{}",
            part.kind.word(),
            base.unwrap_or_default()
        ));
        let declared = self
            .analysis
            .tree
            .statements
            .iter()
            .find(|statement| part.place.file == self.analysis.file && statement.range.contains(part.place.range));
        if let Some(statement) = declared {
            self.comments(&mut markup, statement.range);
        }
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
            .filter(|(_, thing)| thing.parts().any(|other| other.place == part.place))
            .map(|(id, _)| format!("`{}`", self.name(id)))
            .collect();
        if !things.is_empty() {
            markup.fact(format!("taken here by {}", things.join(", ")));
        }
        Some(markup)
    }
}
