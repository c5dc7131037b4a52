//! Hovers of ports and their numbers: a pair and its signal, an input and what arrives there, a fuse position and its
//! load.

use drysheath_office::kinds::{KindId, Port, Role};
use drysheath_office::{Allocation, Fields, FreeCount, ThingId, numbers_written, printed};
use drysheath_syntax::Medium;

use super::circuits::merged;
use super::{Describer, dictionary};
use crate::circuit::Circuit;
use crate::markup::Markup;
use crate::pair_identity::PairIdentity;

impl Describer<'_> {
    /// Describes the word of a port.
    pub(super) fn port(&self, thing: ThingId, port: &'static Port) -> Markup {
        let name = self.name(thing);
        let mut markup = Markup::new(format!("`{}` of `{name}`", dictionary::port_form(port)));
        markup.sentence(format!(
            "Runs of {} end here on {}{}.",
            port.medium.word(),
            port.doc,
            dictionary::bare(port)
        ));
        if let Some(count) = self.allocation().count(&self.analysis.office, thing, port) {
            markup.fact(free(count, port));
        }
        if let Role::Load = port.role {
            self.feeds_of(&mut markup, thing);
        }
        if let Role::Signal(_) = port.role {
            self.carried_from(&mut markup, thing, Some(port), None);
        }
        markup
    }

    fn allocation(&self) -> Allocation {
        Allocation::new(&self.analysis.office, &self.analysis.networks)
    }

    /// Adds the free numbers of a thing's ports.
    pub(super) fn free_numbers(&self, markup: &mut Markup, thing: ThingId) {
        let office = &self.analysis.office;
        let allocation = self.allocation();
        let kind = office.thing(thing).kind;
        for port in kind.map_or(&[][..], |kind| kind.ports) {
            if let Some(count) = allocation.count(office, thing, port) {
                markup.fact(free(count, port));
            }
        }
    }

    /// Describes `rest`: the numbers that no other statement names.
    pub(super) fn rest(&self, thing: ThingId, port: &'static Port) -> Markup {
        let office = &self.analysis.office;
        let mut markup = Markup::new(format!("the rest of the {}s of `{}`", port.noun(), self.name(thing)));
        let allocation = self.allocation();
        let is_rest = |range| {
            let said = office.spares.iter().find(|spare| spare.end.detail == range);
            said.is_some_and(|spare| spare.is_rest)
        };
        let left = allocation.spare(thing, port).iter().filter(|own| is_rest(own.range));
        let left: Vec<String> = left.map(|own| numbers_written(own.from, own.to)).collect();
        if left.is_empty() {
            markup.sentence("Nothing is left: other statements name all of them.");
        } else {
            markup.sentence("All that no other statement names is spare.");
            markup.fact(format!("now {}", left.join(", ")));
        }
        markup
    }

    /// Describes the number of a port.
    pub(super) fn number(&self, thing: ThingId, port: &'static Port, number: u32) -> Markup {
        if let Some(markup) = (port.role == Role::Pair).then(|| self.pair(thing, number)).flatten() {
            return markup;
        }
        let name = self.name(thing);
        let mut markup = Markup::new(format!("{} {} of `{name}`", port.noun(), printed(number)));
        let rows = self.analysis.office.rows(thing, port);
        if let Some(rows) = rows.filter(|rows| !rows.has(number)) {
            let own: Vec<String> = rows
                .iter()
                .map(|(from, to)| format!("{} to {}", printed(from), printed(to)))
                .collect();
            let has = if own.is_empty() {
                "none".to_owned()
            } else {
                own.join(", ")
            };
            markup.sentence(format!("`{name}` has no such number: it has {has}."));
            return markup;
        }
        if port.medium == Medium::Wire {
            self.carried_at(&mut markup, thing, port, number);
        } else {
            self.joined_at(&mut markup, thing, port, number);
        }
        markup
    }

    /// Describes a pair: how to identify it, and its signal.
    pub(super) fn pair(&self, thing: ThingId, pair: u32) -> Option<Markup> {
        let office = &self.analysis.office;
        let own = office.thing(thing);
        if !own.has_colour_code() {
            let mut markup = Markup::new(format!("pair {pair} of `{}`", self.name(thing)));
            markup.fact("insulated with paper: it has no colours");
            let port = own.kind?.ports.iter().find(|port| port.role == Role::Pair)?;
            self.carried_at(&mut markup, thing, port, pair);
            return Some(markup);
        }
        let identity = PairIdentity::of(office, thing, pair)?;
        let port = own.kind?.ports.iter().find(|port| port.role == Role::Pair)?;
        let mut markup = Markup::new(format!(
            "pair {} of `{}`: {}",
            printed(pair),
            self.name(thing),
            identity.written()
        ));
        for fact in identity.sentences() {
            markup.fact(fact);
        }
        if !own.is(KindId::Block)
            && let Some((gauge, _)) = own.quantity(drysheath_office::kinds::Key::Gauge)
        {
            markup.fact(format!("conductors of {gauge}"));
        }
        self.carried_at(&mut markup, thing, port, pair);
        Some(markup)
    }

    /// Adds the signal at a port's number, or that it is free.
    fn carried_at(&self, markup: &mut Markup, thing: ThingId, port: &'static Port, number: u32) {
        let wire = &merged(self.analysis).networks.wire;
        let found = wire.find(thing, port, number);
        let spare = self.allocation().is_spare(thing, port, number);
        if let Some(stated) = self.analysis.office.stated_at(thing, port, number) {
            markup.fact(stated.said());
            if found.is_none() {
                return;
            }
        }
        let wired = self.analysis.office.wired.iter();
        for wired in wired.filter(|wired| wired.is_about(thing, port, number)) {
            markup.fact(wired.said());
        }
        match found {
            Some(id) => {
                let circuit = Circuit::through(wire, id);
                self.circuit(markup, &circuit);
                if spare {
                    markup.fact("declared spare all the same");
                }
            }
            None if spare => markup.fact("free: declared spare"),
            None => markup.fact("free, and not declared spare"),
        }
    }

    /// Adds the air or power runs at a port's number, or that it is free.
    fn joined_at(&self, markup: &mut Markup, thing: ThingId, port: &'static Port, number: u32) {
        let networks = &self.analysis.networks;
        let links = match port.medium {
            Medium::Air => &networks.air,
            Medium::Power => &networks.power,
            _ => &networks.ground,
        };
        let is_here = |side: &drysheath_office::LinkEnd| {
            side.thing == thing && std::ptr::eq(side.port, port) && side.number == number
        };
        let mut is_used = false;
        for link in links.leaving(thing).filter(|link| is_here(&link.from)) {
            is_used = true;
            markup.fact(format!("leads to `{}`", self.name(link.to.thing)));
            if let Some(fuse) = link.with.fuse {
                markup.fact(format!("fuse {}", fuse.value));
            }
            if port.role == Role::Fuse {
                self.feeds_of(markup, link.to.thing);
            }
        }
        for link in links.leading_to(thing).filter(|link| is_here(&link.to)) {
            is_used = true;
            markup.fact(format!("comes from `{}`", self.name(link.from.thing)));
        }
        if !is_used {
            let spare = self.allocation().is_spare(thing, port, number);
            markup.fact(if spare {
                "free: declared spare"
            } else {
                "free, and not declared spare"
            });
        }
    }
}

/// Formats a count: "21 of 25 pairs free, the next is pair 5".
fn free(count: FreeCount, port: &Port) -> String {
    let noun = port.noun();
    match (count.total, count.free, count.next) {
        (0, ..) => format!("no {noun}s"),
        (total, 0, _) => format!("none of {total} {noun}s is free"),
        (total, free, None) => format!("{free} of {total} {noun}s free"),
        (total, free, Some(next)) => format!("{free} of {total} {noun}s free, the next is {noun} {}", printed(next)),
    }
}
