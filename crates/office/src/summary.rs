use drysheath_text::{FileId, Place, TextRange};

use crate::kinds::{Key, KindId};
use crate::model::{Acceptance, Office, ThingId};
use crate::problem::ProblemId;
use crate::value::{Fields, LinkMedium, Value};

/// What the rest of the repository must know of one file. Of a closed file nothing else is kept.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Summary {
    /// The file that is summarised.
    pub file: FileId,
    /// The office's site code and its place.
    pub site: Option<(Box<str>, Place)>,
    /// How its monitors report.
    pub links: Vec<MonitorLink>,
    /// The parts that it declares: name and place.
    pub parts: Vec<(Box<str>, Place)>,
    /// The names of the parts that it takes.
    pub taken: Vec<Box<str>>,
    /// Its acceptances, for the rules that look at the whole repository.
    pub acceptances: Vec<Acceptance>,
    /// The office's own name, empty for a file of parts.
    pub office: Box<str>,
    /// Where that name is.
    pub office_place: Place,
    /// Whether something in it could not be read, so that what it takes may be more than is listed.
    pub unsure: bool,
}

impl Summary {
    /// The summary without the places in the file. While that is the same, results about all files are the same, apart from
    /// their places.
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

/// How one monitor reports.
#[derive(Clone, Debug, PartialEq)]
pub struct MonitorLink {
    /// The medium that the monitor reports over.
    pub over: LinkMedium,
    /// The address or line.
    pub to: Box<str>,
    /// The monitor in its office.
    pub thing: ThingId,
    /// The name of the monitor.
    pub monitor: Box<str>,
    /// Where its file says so: the link, or the monitor's name where a part gives the link.
    pub place: Place,
}

impl Summary {
    /// The summary of a file. Acceptances are kept only of the rules that `is_wide` says look at the whole repository.
    pub fn of(office: &Office, is_wide: impl Fn(&str) -> bool) -> Self {
        let itself = office.itself.map(|id| office.thing(id));
        let site = itself.and_then(|thing| {
            let code = thing.text(Key::Site)?;
            Some((code.into(), office.place(thing.place_of(Key::Site, office.file))))
        });
        // A monitor that is planned or disused reports nothing.
        let monitors = office.of_kind(KindId::Monitor).filter(|(id, _)| !office.aside.has(*id));
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
