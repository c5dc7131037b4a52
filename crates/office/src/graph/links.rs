use drysheath_engineering::index::IndexVec;
use drysheath_engineering::index_type;
use drysheath_syntax::Medium;
use drysheath_text::TextRange;

use crate::kinds::{Port, Role};
use crate::lower::bare_port;
use crate::model::{Attributes, End, Office, Run, RunId, ThingId};

index_type! {
    /// Index of a link among those of its medium.
    struct LinkId;
}

/// One side of a link: a port of a thing.
#[derive(Clone, Copy, Debug)]
pub struct LinkEnd {
    /// The thing at this end of a link.
    pub thing: ThingId,
    /// The port of the thing that the run ends at.
    pub port: &'static Port,
    /// Number of the port; 0 for a port without numbers.
    pub number: u32,
    /// Place of the end in the run.
    pub range: TextRange,
}

/// Two adjacent ends of a run.
#[derive(Clone, Copy, Debug)]
pub struct Link {
    /// The end that the arrow leaves.
    pub from: LinkEnd,
    /// The end that the arrow points to.
    pub to: LinkEnd,
    /// The number of the run.
    pub run: RunId,
    /// The attributes of the connection as stated after `with`; of several pieces, the first.
    pub with: Attributes,
}

/// The links of one medium, found by thing.
#[derive(Debug)]
pub struct Links {
    all: IndexVec<LinkId, Link>,
    /// The links by the thing that they leave.
    from: Vec<(ThingId, LinkId)>,
    /// The links by the thing that they lead to.
    to: Vec<(ThingId, LinkId)>,
}

impl Link {
    /// The attributes of each piece, in the direction of the arrow. Only a run with two ends has several.
    pub fn pieces<'o>(&'o self, office: &'o Office) -> impl DoubleEndedIterator<Item = &'o Attributes> + Clone {
        office.run(self.run).pieces()
    }

    /// Index of a piece, from 1 along the arrow, and the number of pieces. `None` if there is only one.
    pub fn piece_number(&self, office: &Office, piece: &Attributes) -> Option<(usize, usize)> {
        let number = self.pieces(office).count();
        let at = self.pieces(office).position(|other| std::ptr::eq(other, piece))?;
        (number > 1).then_some((at + 1, number))
    }

    /// What the conductor lacks of size and length, as a phrase that follows `the`, with the number of the piece if
    /// there are several. `None` if every piece states both.
    pub fn unsized_pieces(&self, office: &Office) -> Option<String> {
        let is_one = self.pieces(office).nth(1).is_none();
        let lacking = (1..).zip(self.pieces(office)).filter_map(|(number, piece)| {
            let what = match (piece.gauge.is_some(), piece.length.is_some()) {
                (true, true) => return None,
                (true, false) => "length",
                (false, true) => "wire size",
                (false, false) => "wire size and length",
            };
            Some(if is_one {
                what.to_owned()
            } else {
                format!("{what} of piece {number}")
            })
        });
        let lacking: Vec<String> = lacking.collect();
        (!lacking.is_empty()).then(|| lacking.join(" and the "))
    }

    /// Whether an attribute of any piece could not be understood.
    pub fn is_unread(&self, office: &Office) -> bool {
        self.pieces(office).any(|piece| piece.damaged)
    }

    /// Whether the attributes that its run states after `with` apply to this link: a run states size, length and fuse
    /// of its last link.
    pub fn is_last(&self, office: &Office) -> bool {
        let last = office.run(self.run).ends.last();
        last.is_some_and(|end| end.range == self.to.range)
    }
}

impl Links {
    pub(super) fn new(office: &Office, medium: Medium) -> Self {
        let mut links = IndexVec::new();
        for (id, run) in office.runs.enumerated() {
            if run.medium == medium && !run.damaged {
                collect(office, run, id, &mut links);
            }
        }
        let index = |side: fn(&Link) -> ThingId| {
            let mut index: Vec<_> = links.enumerated().map(|(id, link)| (side(link), id)).collect();
            index.sort_unstable();
            index
        };
        let (from, to) = (index(|link| link.from.thing), index(|link| link.to.thing));
        Self { all: links, from, to }
    }

    /// All links, in the order of the file.
    pub fn iter(&self) -> impl Iterator<Item = &Link> {
        self.all.iter()
    }

    /// All pieces of all links, in the order of the file.
    pub fn pieces<'n>(&'n self, office: &'n Office) -> impl Iterator<Item = (&'n Link, &'n Attributes)> {
        self.iter()
            .flat_map(|link| link.pieces(office).map(move |piece| (link, piece)))
    }

    /// Links whose arrow leaves `thing`.
    pub fn leaving(&self, thing: ThingId) -> impl Iterator<Item = &Link> {
        self.found(&self.from, thing)
    }

    /// Links whose arrow points to `thing`.
    pub fn leading_to(&self, thing: ThingId) -> impl Iterator<Item = &Link> {
        self.found(&self.to, thing)
    }

    fn found<'n>(&'n self, index: &'n [(ThingId, LinkId)], thing: ThingId) -> impl Iterator<Item = &'n Link> {
        let start = index.partition_point(|(other, _)| *other < thing);
        let rest = index.get(start..).unwrap_or_default();
        rest.iter()
            .take_while(move |(other, _)| *other == thing)
            .map(|(_, id)| &self.all[*id])
    }
}

fn collect(office: &Office, run: &Run, id: RunId, links: &mut IndexVec<LinkId, Link>) {
    let last = run.ends.len().saturating_sub(1);
    for (at, pair) in run.ends.windows(2).enumerate() {
        let [from, to] = pair else { continue };
        let sides =
            side(office, run.medium, from, false, at > 0).zip(side(office, run.medium, to, true, at + 1 < last));
        if let Some((from, to)) = sides {
            links.push(Link {
                from,
                to,
                run: id,
                with: run.with,
            });
        }
    }
}

/// The port of an end, as seen from one of its neighbours in the run.
fn side(office: &Office, medium: Medium, end: &End, as_target: bool, is_middle: bool) -> Option<LinkEnd> {
    let thing = end.thing?;
    let kind = office.thing(thing).kind?;
    let other_way = |port: &Port| match port.role {
        Role::Outlet | Role::Fuse => as_target,
        Role::Inlet | Role::PanelInput => !as_target,
        _ => false,
    };
    // In `d1 -> r1 outlet 2 -> f1` the run enters by the inlet and leaves by outlet 2.
    let stated = end.port.filter(|port| !(is_middle && other_way(port)));
    let (port, number) = if let Some(port) = stated {
        (port, end.numbers.0)
    } else {
        let port = bare_port(kind, medium, as_target)?;
        (port, u32::from(port.numbering != crate::kinds::Numbering::None))
    };
    Some(LinkEnd {
        thing,
        port,
        number,
        range: end.range,
    })
}
