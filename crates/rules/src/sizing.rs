//! Sizing: the bounds of a figure, the reason for each bound, and a recommended value. The bounds are those that the
//! rules check a file against, solved for the figure.
//!
//! Nothing is assumed: where the file lacks an input for a bound, the input is listed as missing and the bound is left
//! out.

mod battery;
mod bore;
mod feed;
mod limit;
mod needs;
mod offer;
mod set_pressure;
mod span;
mod with_leak;

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

/// The sizing of one thing.
#[derive(Clone, Debug)]
pub struct Sizing {
    /// What is sized, in the notation of tables: `ps1`, `f1 pressure`, `d1 -> r1`.
    pub of: String,
    /// The figures to choose, with their bounds.
    pub figures: Vec<SizedFigure>,
    /// Candidate parts, where a part is chosen.
    pub parts: Vec<PartOffer>,
    /// Assumptions of the bounds, and open questions.
    pub notes: Vec<String>,
}

/// A figure to choose.
#[derive(Clone, Debug)]
pub struct SizedFigure {
    /// Name of the figure: "top of the span".
    pub what: SizedQuantity,
    /// Dimension of [`Amount::si`].
    pub dimension: Dimension,
    /// Present value in the file, and its place.
    pub stated: Option<(Amount, Place)>,
    /// Lower bounds of the figure.
    pub least: Vec<Bound>,
    /// Upper bounds of the figure.
    pub most: Vec<Bound>,
    /// The recommended value. `None` where the bounds exclude every value or too little is known.
    pub choice: Option<Choice>,
    /// Inputs missing for bounds, each in a few words.
    pub missing: Vec<String>,
}

/// A figure for display and comparison.
#[derive(Clone, Debug)]
pub struct Amount {
    /// SI value as [`Office::figure`] returns it: pressures gauge, wire sizes as areas.
    pub si: f64,
    /// Text with its unit.
    pub shown: String,
}

/// A bound of a figure, and its reason.
#[derive(Clone, Debug)]
pub struct Bound {
    /// Value of the bound.
    pub amount: Amount,
    /// Reason for the bound, as text.
    pub why: String,
    /// Figures the bound is computed from.
    pub inputs: Vec<Input>,
}

/// An input of a bound.
#[derive(Clone, Debug)]
pub struct Input {
    /// Name of the input: "normal reading of `ps1`".
    pub what: String,
    /// Value with its unit.
    pub shown: String,
    /// Where the value comes from.
    pub from: Origin,
}

/// Origin of a figure.
#[derive(Clone, Debug)]
pub enum Origin {
    /// Stated in a file.
    Stated(Place),
    /// Computed from the office; `--how` explains it.
    Computed,
    /// Computed for a state other than the normal one, as `--when` computes it.
    OfState,
    /// A practice number: the settings file that states it, `None` for the default, and the source of the default.
    Practice(Option<String>, String),
    /// A published table or law.
    Published(&'static str),
    /// Requested by the user.
    Asked,
}

/// A figure that can be chosen for a thing.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum SizedQuantity {
    /// The capacity of a battery.
    Capacity,
    /// The bore of a pipe or tube.
    Bore,
    /// The fuse of a feed.
    Fuse,
    /// The conductor of a feed.
    Conductor,
    /// A limit of a sensor.
    Limit,
    /// The deadband of a limit.
    Deadband,
    /// The pressure that a regulator is set to.
    SetPressure,
    /// Where the span of a sensor begins.
    BottomOfSpan,
    /// Where the span of a sensor ends.
    TopOfSpan,
    /// The pressure that a sensor has to withstand.
    ProofPressure,
}

impl SizedQuantity {
    /// What it is called.
    pub fn words(self) -> &'static str {
        match self {
            Self::Capacity => "capacity",
            Self::Bore => "bore",
            Self::Fuse => "fuse",
            Self::Conductor => "conductor",
            Self::Limit => "limit",
            Self::Deadband => "deadband",
            Self::SetPressure => "set pressure",
            Self::BottomOfSpan => "bottom of the span",
            Self::TopOfSpan => "top of the span",
            Self::ProofPressure => "proof pressure",
        }
    }
}

/// A recommended value, and why.
#[derive(Clone, Debug)]
pub struct Choice {
    /// The value to take.
    pub amount: Amount,
    /// Reason for the recommendation, as text.
    pub why: String,
}

/// A part that could be used, with what it meets and lacks.
#[derive(Clone, Debug)]
pub struct PartOffer {
    /// Name of the part, or of the thing itself for its present figures.
    pub name: String,
    /// Place of its declaration.
    pub place: Place,
    /// Relevant figures of the part: "span 0 .. 15 psi".
    pub figures: String,
    /// Whether it meets all requirements. `None` where it does not state a figure that decides.
    pub fits: Option<bool>,
    /// Whether it is the recommended one.
    pub is_chosen: bool,
    /// Requirements that it meets.
    pub merits: Vec<String>,
    /// Requirements that it does not meet.
    pub faults: Vec<String>,
    /// Figures that it does not state.
    pub missing: Vec<String>,
}

/// Result of a sizing request.
#[derive(Clone, Debug)]
pub enum SizingAnswer {
    /// The figures of the thing with their bounds and recommendations.
    Told(Sizing),
    /// No thing has that name.
    Unknown,
    /// It has nothing to size, with the reason.
    Nothing(String),
}

impl SizedFigure {
    fn new(what: SizedQuantity, dimension: Dimension) -> Self {
        Self {
            what,
            dimension,
            stated: None,
            least: Vec::new(),
            most: Vec::new(),
            choice: None,
            missing: Vec::new(),
        }
    }

    /// The highest lower bound.
    pub fn at_least(&self) -> Option<&Bound> {
        let higher = |one: &&Bound, other: &&Bound| one.amount.si.total_cmp(&other.amount.si);
        self.least.iter().max_by(higher)
    }

    /// The lowest upper bound.
    pub fn at_most(&self) -> Option<&Bound> {
        let higher = |one: &&Bound, other: &&Bound| one.amount.si.total_cmp(&other.amount.si);
        self.most.iter().min_by(higher)
    }

    /// Whether a value is within all bounds.
    pub fn holds(&self, si: f64) -> bool {
        use crate::figures::below;
        !self.least.iter().any(|bound| below(si, bound.amount.si))
            && !self.most.iter().any(|bound| below(bound.amount.si, si))
    }

    /// Whether the bounds exclude every value.
    pub fn is_empty(&self) -> bool {
        self.at_least().is_some_and(|least| !self.holds(least.amount.si))
    }

    /// The present value as recommendation, if it is within the bounds.
    fn kept(&self) -> Option<Choice> {
        let (now, _) = self.stated.as_ref()?;
        self.holds(now.si).then(|| Choice {
            amount: now.clone(),
            why: "as it is: within the bounds".to_owned(),
        })
    }

    /// Rounds a quantity to its nearest digit if that is within the bounds, otherwise up or down.
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

    /// Sorts the bounds, tightest first.
    fn sort(&mut self) {
        self.least
            .sort_by(|one, other| other.amount.si.total_cmp(&one.amount.si));
        self.most
            .sort_by(|one, other| one.amount.si.total_cmp(&other.amount.si));
    }
}

/// Sizes the thing, signal, limit or tube of this name; `parts` are the candidate parts. `loss` is the largest
/// permitted pressure loss of a pipe or tube, if requested.
pub fn size(inspection: &Inspection<'_>, parts: &[Arc<Part>], name: &str, loss: Option<Quantity>) -> SizingAnswer {
    let office = inspection.office;
    let Some((id, rest)) = meant(office, name) else {
        return tube(inspection, name, loss);
    };
    if let Some(stage) = office.excluded.stage(id) {
        return SizingAnswer::Nothing(format!("nothing is computed for it, since it is {}", stage.word()));
    }
    let formatter = FigureFormatter::of(office);
    let Some(kind) = office.thing(id).kind else {
        return SizingAnswer::Nothing("its kind is not known".to_owned());
    };
    let told = match kind.id {
        KindId::AirPipe if rest.is_empty() => Some(bore::of_pipe(inspection, &formatter, parts, id, loss)),
        KindId::Battery if rest.is_empty() => Some(battery::size(inspection, &formatter, id)),
        KindId::Regulator if rest.is_empty() => Some(set_pressure::size(inspection, &formatter, id)),
        KindId::PressureSensor | KindId::FlowSensor => match level(rest) {
            Some((signal, level)) => limit::size(inspection, &formatter, id, signal, level),
            None => span::size(inspection, &formatter, parts, id, rest),
        },
        _ if rest.is_empty() && kind.ports.iter().any(|port| port.role == Role::Load) => {
            match feed::size(inspection, &formatter, id) {
                Some(sizing) => Some(sizing),
                None => return SizingAnswer::Nothing("no fuse feeds it in this file".to_owned()),
            }
        }
        _ => None,
    };
    match told {
        Some(_) if loss.is_some() && kind.id != KindId::AirPipe => {
            SizingAnswer::Nothing("a wanted loss is that of an air pipe or a tube: leave `--loss` away".to_owned())
        }
        Some(sizing) => SizingAnswer::Told(sizing),
        None if rest.is_empty() => SizingAnswer::Nothing(nothing_to_choose(kind)),
        None => tube(inspection, name, loss),
    }
}

/// Parses the permitted pressure loss: `0.5 psi`.
///
/// # Errors
///
/// A message if it is not a positive pressure difference.
pub fn wanted_loss(written: &str) -> Result<Quantity, String> {
    let is_loss = |loss: &Quantity| {
        let si = loss.difference();
        loss.dimension() == Dimension::Pressure && !loss.unit.absolute && si > 0.0
    };
    quantity(written)
        .filter(is_loss)
        .ok_or_else(|| format!("`{written}` is no loss of pressure, such as `0.5 psi`"))
}

/// Sizes the tube between two things, named `r1 -> f1`.
fn tube(inspection: &Inspection<'_>, name: &str, loss: Option<Quantity>) -> SizingAnswer {
    // A title may also contain an arrow.
    let mut arrows = name.match_indices("->");
    let found = arrows.find_map(|(at, arrow)| {
        let ends = (name.get(..at)?, name.get(at + arrow.len()..)?);
        let [(from, _), (to, _)] = [meant(inspection.office, ends.0)?, meant(inspection.office, ends.1)?];
        bore::of_tube(inspection, &FigureFormatter::of(inspection.office), (from, to), loss)
    });
    found.map_or(SizingAnswer::Unknown, SizingAnswer::Told)
}

fn nothing_to_choose(kind: &Kind) -> String {
    format!(
        "nothing is chosen for {}: name a flow or pressure sensor, one of its limits, a regulator, an air pipe, a tube such as `r1 -> f1`, a load of the battery, or the battery",
        with_article(kind.word())
    )
}

/// The thing whose name starts the text, and the rest.
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

/// The limit that follows the sensor in a name, and the signal before it: `flow high`.
fn level(words: &str) -> Option<(&str, LimitLevel)> {
    let (signal, last) = words.rsplit_once(char::is_whitespace).unwrap_or(("", words));
    let level = LimitLevel::VARIANTS.iter().find(|level| level.word() == last)?;
    Some((signal.trim(), *level))
}

/// The signal of a sensor with this word; the first one for an empty word.
fn signal<'o>(office: &'o Office, id: ThingId, word: &str) -> Option<Signal<'o>> {
    let mut signals = office.signals(id).into_iter();
    signals.find(|signal| word.is_empty() || signal.port.word == word)
}

/// The normal readings of a signal: the declared one and the computed one.
fn normal_readings(
    inspection: &Inspection<'_>,
    formatter: &FigureFormatter<'_>,
    reading: &Reading<'_>,
) -> Vec<(f64, Input)> {
    let declared = reading.fields.quantity(Key::Normal);
    let declared = declared.map(|(normal, place)| (inspection.office.figure(normal), stated("normal", normal, place)));
    let expected = reading.expected(inspection).map(|expected| {
        let what = format!("reading of {} when all is well", plain(&reading.name()));
        (expected, formatter.computed(what, reading.dimension, expected))
    });
    declared.into_iter().chain(expected).collect()
}

/// Step or error of a signal in SI.
fn own_size(reading: &Reading<'_>, key: Key) -> Option<(f64, Input)> {
    let (size, written) = reading.size(key)?;
    let place = reading.fields.field(key)?.place;
    Some((size, stated(key.word(), written, place)))
}

/// A name without backticks.
fn plain(name: &str) -> String {
    name.replace('`', "")
}

/// Formats figures in the units that the office uses.
struct FigureFormatter<'i> {
    office: &'i Office,
    units: UnitPreferences,
}

impl<'i> FigureFormatter<'i> {
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

    /// A recommended value, rounded within the bounds of `figure`.
    fn choice(&self, figure: &SizedFigure, si: f64) -> Amount {
        match self.units.unit(figure.dimension) {
            Some(unit) => figure.written_down(Quantity {
                value: unit.from_si(si),
                unit,
            }),
            None => self.amount(figure.dimension, si),
        }
    }

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

    /// A figure of a state other than the normal one.
    fn of_state(&self, what: impl Into<String>, dimension: Dimension, si: f64) -> Input {
        Input {
            from: Origin::OfState,
            ..self.computed(what, dimension, si)
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

/// A practice number as an input.
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
