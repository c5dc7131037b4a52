use drysheath_text::{FileId, Place, TextRange};

use crate::kinds::{Key, KindId};
use crate::model::{Acceptance, Office, ThingId};
use crate::problem::ProblemId;
use crate::value::{Fields, LinkMedium, Value};

/// Data of one file that the rules across files need. Nothing else is kept of a closed file.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Summary {
    /// The file that is summarised.
    pub file: FileId,
    /// Site code of the office, and its place.
    pub site: Option<(Box<str>, Place)>,
    /// Reporting links of its monitors.
    pub links: Vec<MonitorLink>,
    /// The parts that it declares: name and place.
    pub parts: Vec<(Box<str>, Place)>,
    /// Names of the parts that it uses.
    pub taken: Vec<Box<str>>,
    /// Acceptances of results of rules across files.
    pub acceptances: Vec<Acceptance>,
    /// Name of the office; empty for a file of parts.
    pub office: Box<str>,
    /// Place of that name.
    pub office_place: Place,
    /// Whether some text could not be read, so that it may use more than is listed.
    pub unsure: bool,
}

impl Summary {
    /// The summary without places. While it stays the same, results across files do too, apart from their places.
    #[must_use]
    pub fn without_places(&self) -> Self {
        let mut other = self.clone();
        other.office_place = Place::default();
        let sites = other.site.iter_mut().map(|(_, place)| place);
        let links = other.links.iter_mut().map(|link| &mut link.place);
        let parts = other.parts.iter_mut().map(|(_, place)| place);
        for place in sites.chain(links).chain(parts) {
            *place = Place::default();
        }
        for acceptance in &mut other.acceptances {
            let Acceptance {
                rule,
                on_range,
                until,
                range,
                ..
            } = acceptance;
            for range in [&mut rule.range, on_range, &mut until.range, range] {
                *range = TextRange::default();
            }
        }
        other
    }
}

/// Reporting link of a monitor.
#[derive(Clone, Debug, PartialEq)]
pub struct MonitorLink {
    /// The medium that the monitor reports over.
    pub over: LinkMedium,
    /// Address or telephone line.
    pub to: Box<str>,
    /// Id of the monitor.
    pub thing: ThingId,
    /// Name of the monitor.
    pub monitor: Box<str>,
    /// Place of the link, or of the monitor's name if a part states the link.
    pub place: Place,
}

impl Summary {
    /// The summary of a file. Acceptances are kept only for rules for which `is_wide` holds: those across files.
    pub fn of(office: &Office, is_wide: impl Fn(&str) -> bool) -> Self {
        let itself = office.itself.map(|id| office.thing(id));
        let site = itself.and_then(|thing| {
            let code = thing.text(Key::Site)?;
            Some((code.into(), office.place(thing.place_of(Key::Site, office.file))))
        });
        // A planned or disused monitor reports nothing.
        let monitors = office
            .of_kind(KindId::Monitor)
            .filter(|(id, _)| !office.excluded.has(*id));
        let links = monitors.flat_map(|(id, thing)| thing.all(Key::Link).map(move |field| (id, thing, field)));
        let links = links.filter_map(|(id, thing, field)| {
            let Value::Link { over, to } = &field.value else {
                return None;
            };
            let is_own = field.place.file == office.file;
            Some(MonitorLink {
                over: *over,
                to: to.clone(),
                thing: id,
                monitor: office.name(id).into(),
                place: office.place(if is_own { field.place.range } else { thing.name }),
            })
        });
        Self {
            file: office.file,
            site,
            links: links.collect(),
            parts: office
                .parts
                .iter()
                .map(|part| (part.name.clone(), part.place))
                .collect(),
            taken: office.taken.clone(),
            acceptances: office
                .acceptances
                .iter()
                .filter(|acceptance| is_wide(&acceptance.rule.value))
                .cloned()
                .collect(),
            office: office.itself.map(|id| office.name(id).into()).unwrap_or_default(),
            office_place: office.place(itself.map(|thing| thing.name).unwrap_or_default()),
            unsure: office.unsure.names
                || office
                    .problems
                    .iter()
                    .any(|problem| problem.id == ProblemId::PartUnknown),
        }
    }
}
