//! Choosing a figure instead of only judging it: between which bounds it would be right, where each bound comes from, and which
//! figure to take. The bounds are those that the rules hold a file against, turned round.
//!
//! Nothing is guessed: what a bound needs and the file does not say is listed as missing, and the bound is left out.

mod battery;
mod bore;
mod feed;
mod limit;
mod needs;
mod offer;
mod set_pressure;
mod span;

use std::sync::Arc;

use drysheath_engineering::units::{Dimension, Quantity};
use drysheath_office::kinds::{Key, Kind, KindId, Role};
use drysheath_office::{Fields, LimitLevel, Office, Part, Signal, ThingId, UnitPreferences, with_article};
use drysheath_text::Place;
pub use offer::ancestry;
use strum::VariantArray;

use crate::lint::Inspection;
use crate::settings::{PRACTICES, PracticeKey, quantity};
use crate::spans::Reading;

/// What there is to choose about one thing.
#[derive(Clone, Debug)]
pub struct Sizing {
    /// What is sized, as its tables call it: `ps1`, `f1 pressure`, `d1 -> r1`.
    pub of: String,
    /// Its figures, each with what bounds it.
    pub figures: Vec<SizedFigure>,
    /// The parts that could be taken, where it is a part that is chosen.
    pub parts: Vec<PartOffer>,
    /// What the bounds take for granted, and what nobody has looked at.
    pub notes: Vec<String>,
}

/// A figure that is to be chosen.
#[derive(Clone, Debug)]
pub struct SizedFigure {
    /// What it is, in words: "top of the span".
    pub what: String,
    /// The unit that [`Amount::si`] counts in.
    pub dimension: Dimension,
    /// What the file has now, and where.
    pub stated: Option<(Amount, Place)>,
    /// What it must not be below.
    pub least: Vec<Bound>,
    /// What it must not be above.
    pub most: Vec<Bound>,
    /// The figure to take; none where nothing lies within the bounds or too little is known.
    pub choice: Option<Choice>,
    /// What is missing for a bound, each in a few words.
    pub missing: Vec<String>,
}

/// A figure as it is shown, and as it is compared.
#[derive(Clone, Debug)]
pub struct Amount {
    /// As [`Office::figure`] gives it: in SI, a pressure above the surrounding air, a wire as its area.
    pub si: f64,
    /// With its unit.
    pub shown: String,
}

/// A figure that bounds a choice, and why.
#[derive(Clone, Debug)]
pub struct Bound {
    /// The bound.
    pub amount: Amount,
    /// Why it is one.
    pub why: String,
    /// What it is computed from.
    pub inputs: Vec<Input>,
}

/// A figure that a bound is computed from.
#[derive(Clone, Debug)]
pub struct Input {
    /// What it is: "normal reading of `ps1`".
    pub what: String,
    /// The figure with its unit.
    pub shown: String,
    /// Where it comes from.
    pub from: Origin,
}

/// Where a figure comes from.
#[derive(Clone, Debug)]
pub enum Origin {
    /// A file states it.
    Stated(Place),
    /// It is computed from the office; `--how` explains it.
    Computed,
    /// A number of practice: the settings file that states it, or none where the default holds, and the source of that.
    Practice(Option<String>, String),
    /// A published table or law.
    Published(&'static str),
    /// Whoever asks wants it so.
    Asked,
}

/// The figure to take.
#[derive(Clone, Debug)]
pub struct Choice {
    /// The figure.
    pub amount: Amount,
    /// Why this one.
    pub why: String,
}

/// A part that could be taken.
#[derive(Clone, Debug)]
pub struct PartOffer {
    /// Its name; that of the thing itself for what the file has now.
    pub name: String,
    /// Where it is declared.
    pub place: Place,
    /// What it is, in the words that decide: "span 0 .. 15 psi".
    pub figures: String,
    /// Whether it does all that is wanted; none where something that decides is not stated.
    pub fits: Option<bool>,
    /// Whether it is the one to take.
    pub is_chosen: bool,
    /// What speaks for it.
    pub merits: Vec<String>,
    /// What speaks against it.
    pub faults: Vec<String>,
    /// What it does not state.
    pub missing: Vec<String>,
}

/// What came of the question how something is to be sized.
#[derive(Clone, Debug)]
pub enum Sized {
    /// The bounds and the choice.
    Told(Sizing),
    /// Nothing has that name.
    Unknown,
    /// There is nothing to choose about it, and why.
    Nothing(String),
}

impl SizedFigure {
    fn new(what: &str, dimension: Dimension) -> Self {
        Self {
            what: what.to_owned(),
            dimension,
            stated: None,
            least: Vec::new(),
            most: Vec::new(),
            choice: None,
            missing: Vec::new(),
        }
    }

    /// The highest figure that it must not be below.
    pub fn at_least(&self) -> Option<&Bound> {
        let higher = |one: &&Bound, other: &&Bound| one.amount.si.total_cmp(&other.amount.si);
        self.least.iter().max_by(higher)
    }

    /// The lowest figure that it must not be above.
    pub fn at_most(&self) -> Option<&Bound> {
        let higher = |one: &&Bound, other: &&Bound| one.amount.si.total_cmp(&other.amount.si);
        self.most.iter().min_by(higher)
    }

    /// Whether a figure is within all bounds.
    pub fn holds(&self, si: f64) -> bool {
        use crate::figures::below;
        !self.least.iter().any(|bound| below(si, bound.amount.si))
            && !self.most.iter().any(|bound| below(bound.amount.si, si))
    }

    /// Whether no figure is within all bounds.
    pub fn is_empty(&self) -> bool {
        self.at_least().is_some_and(|least| !self.holds(least.amount.si))
    }

    /// What the file has now, as the figure to take where it is within the bounds.
    fn kept(&self) -> Option<Choice> {
        let (now, _) = self.stated.as_ref()?;
        self.holds(now.si).then(|| Choice {
            amount: now.clone(),
            why: "as it is: within the bounds".to_owned(),
        })
    }

    /// A quantity as it is written down: to the nearest digit where that is within the bounds, else up or down.
    fn written_down(&self, quantity: Quantity) -> Amount {
        const DIGITS: i32 = 4;
        let nearest = quantity.to_digits(DIGITS);
        let others = [quantity.up_to_digits(DIGITS), quantity.down_to_digits(DIGITS)];
        let within = [nearest].into_iter().chain(others).find(|one| self.holds(one.si()));
        let taken = within.unwrap_or(nearest);
        Amount {
            si: taken.si(),
            shown: taken.to_string(),
        }
    }

    /// Puts the bound that decides first.
    fn sort(&mut self) {
        self.least
            .sort_by(|one, other| other.amount.si.total_cmp(&one.amount.si));
        self.most
            .sort_by(|one, other| one.amount.si.total_cmp(&other.amount.si));
    }
}

/// What would be right for the thing, signal, limit or tube of this name, with `parts` within reach. A pipe or a tube should lose no more than
/// `loss`, where that is wanted.
pub fn size(inspection: &Inspection<'_>, parts: &[Arc<Part>], name: &str, loss: Option<Quantity>) -> Sized {
    let office = inspection.office;
    let Some((id, rest)) = meant(office, name) else {
        return tube(inspection, name, loss);
    };
    if let Some(stage) = office.aside.stage(id) {
        return Sized::Nothing(format!("nothing is computed for it, since it is {}", stage.word()));
    }
    let scales = Scales::of(office);
    let Some(kind) = office.thing(id).kind else {
        return Sized::Nothing("its kind is not known".to_owned());
    };
    let told = match kind.id {
        KindId::AirPipe if rest.is_empty() => Some(bore::of_pipe(inspection, &scales, parts, id, loss)),
        KindId::Battery if rest.is_empty() => Some(battery::size(inspection, &scales, id)),
        KindId::Regulator if rest.is_empty() => Some(set_pressure::size(inspection, &scales, id)),
        KindId::PressureSensor | KindId::FlowSensor => match level(rest) {
            Some((signal, level)) => limit::size(inspection, &scales, id, signal, level),
            None => span::size(inspection, &scales, parts, id, rest),
        },
        _ if rest.is_empty() && kind.ports.iter().any(|port| port.role == Role::Load) => {
            match feed::size(inspection, &scales, id) {
                Some(sizing) => Some(sizing),
                None => return Sized::Nothing("no fuse feeds it in this file".to_owned()),
            }
        }
        _ => None,
    };
    match told {
        Some(sizing) => Sized::Told(sizing),
        None if rest.is_empty() => Sized::Nothing(nothing_to_choose(kind)),
        None => tube(inspection, name, loss),
    }
}

/// A loss that is wanted, as it is written: `0.5 psi`.
///
/// # Errors
///
/// What is wrong with it, in words.
pub fn wanted_loss(written: &str) -> Result<Quantity, String> {
    let is_loss = |loss: &Quantity| {
        let si = loss.difference();
        loss.dimension() == Dimension::Pressure && !loss.unit.absolute && si > 0.0
    };
    quantity(written)
        .filter(is_loss)
        .ok_or_else(|| format!("`{written}` is no loss of pressure, such as `0.5 psi`"))
}

/// What would be right for the tube between two things, named `r1 -> f1`.
fn tube(inspection: &Inspection<'_>, name: &str, loss: Option<Quantity>) -> Sized {
    // A title may have an arrow in it as well.
    let mut arrows = name.match_indices("->");
    let found = arrows.find_map(|(at, arrow)| {
        let ends = (name.get(..at)?, name.get(at + arrow.len()..)?);
        let [(from, _), (to, _)] = [meant(inspection.office, ends.0)?, meant(inspection.office, ends.1)?];
        bore::of_tube(inspection, &Scales::of(inspection.office), (from, to), loss)
    });
    found.map_or(Sized::Unknown, Sized::Told)
}

fn nothing_to_choose(kind: &Kind) -> String {
    format!(
        "nothing is chosen for {}: name a flow or pressure sensor, one of its limits, a regulator, an air pipe, a tube such as `r1 -> f1`, a load of the battery, or the battery",
        with_article(kind.word())
    )
}

/// The thing that a name begins with, and the rest of the name.
fn meant<'n>(office: &Office, name: &'n str) -> Option<(ThingId, &'n str)> {
    let name = name.trim();
    let called =
        |id: ThingId| office.name(id) == name || office.title(id) == Some(name) || office.name_and_title(id) == name;
    if let Some((id, _)) = office.things().find(|(id, _)| called(*id)) {
        return Some((id, ""));
    }
    let (first, rest) = name.split_once(char::is_whitespace)?;
    let id = office.named(first)?;
    let title = office.title(id).map(|title| format!("({title})"));
    let rest = rest.trim_start();
    let rest = title.and_then(|title| rest.strip_prefix(&*title)).unwrap_or(rest);
    Some((id, rest.trim()))
}

/// The limit that words name after the sensor, and the signal before it: `flow high`.
fn level(words: &str) -> Option<(&str, LimitLevel)> {
    let (signal, last) = words.rsplit_once(char::is_whitespace).unwrap_or(("", words));
    let level = LimitLevel::VARIANTS.iter().find(|level| level.word() == last)?;
    Some((signal.trim(), *level))
}

/// The signal of a sensor that a word names; without a word its first.
fn signal<'o>(office: &'o Office, id: ThingId, word: &str) -> Option<Signal<'o>> {
    let mut signals = office.signals(id).into_iter();
    signals.find(|signal| word.is_empty() || signal.port.word == word)
}

/// What a signal reads when all is well: as its file says, and as is computed.
fn when_well(inspection: &Inspection<'_>, scales: &Scales<'_>, reading: &Reading<'_>) -> Vec<(f64, Input)> {
    let declared = reading.fields.quantity(Key::Normal);
    let declared = declared.map(|(normal, place)| (inspection.office.figure(normal), stated("normal", normal, place)));
    let expected = reading.expected(inspection).map(|expected| {
        let what = format!("reading of {} when all is well", plain(&reading.name()));
        (expected, scales.computed(what, reading.dimension, expected))
    });
    declared.into_iter().chain(expected).collect()
}

/// A step or error that a signal states, in SI.
fn own_size(reading: &Reading<'_>, key: Key) -> Option<(f64, Input)> {
    let (size, written) = reading.size(key)?;
    let place = reading.fields.field(key)?.place;
    Some((size, stated(key.word(), written, place)))
}

/// A name without the marks that it has in a message.
fn plain(name: &str) -> String {
    name.replace('`', "")
}

/// Shows figures in the units that the office is written in.
struct Scales<'i> {
    office: &'i Office,
    units: UnitPreferences,
}

impl<'i> Scales<'i> {
    fn of(office: &'i Office) -> Self {
        Self {
            office,
            units: UnitPreferences::of(office),
        }
    }

    fn show(&self, dimension: Dimension, si: f64) -> String {
        self.units.show(dimension, si)
    }

    fn amount(&self, dimension: Dimension, si: f64) -> Amount {
        Amount {
            si,
            shown: self.show(dimension, si),
        }
    }

    /// A figure to take, as it is written down within the bounds of `figure`.
    fn choice(&self, figure: &SizedFigure, si: f64) -> Amount {
        match self.units.unit(figure.dimension) {
            Some(unit) => figure.written_down(Quantity {
                value: unit.from_si(si),
                unit,
            }),
            None => self.amount(figure.dimension, si),
        }
    }

    /// A quantity as it is written.
    fn written(&self, quantity: Quantity) -> Amount {
        Amount {
            si: self.office.figure(quantity),
            shown: quantity.to_string(),
        }
    }

    fn bound(&self, dimension: Dimension, si: f64, why: impl Into<String>, inputs: Vec<Input>) -> Bound {
        Bound {
            amount: self.amount(dimension, si),
            why: why.into(),
            inputs,
        }
    }

    fn computed(&self, what: impl Into<String>, dimension: Dimension, si: f64) -> Input {
        Input {
            what: what.into(),
            shown: self.show(dimension, si),
            from: Origin::Computed,
        }
    }
}

fn stated(what: impl Into<String>, quantity: Quantity, place: Place) -> Input {
    Input {
        what: what.into(),
        shown: quantity.to_string(),
        from: Origin::Stated(place),
    }
}

/// A number of practice as an input.
fn practice(inspection: &Inspection<'_>, key: PracticeKey) -> Input {
    let settings = inspection.settings;
    let shown = match settings.quantity(key) {
        Some(quantity) => quantity.to_string(),
        None => format!("{} %", (settings.fraction(key) * 1e4).round() / 100.0),
    };
    let source = PRACTICES.iter().find(|practice| practice.key == key);
    Input {
        what: <&str>::from(key).to_owned(),
        shown,
        from: Origin::Practice(
            settings.stated_file(key).map(str::to_owned),
            source.map(|practice| practice.source.to_string()).unwrap_or_default(),
        ),
    }
}
