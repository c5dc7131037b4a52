//! What a work order marks: what is new, what is another, what is to be taken out.

use drysheath_office::{Link, Office};
use rustc_hash::FxHashMap;

use crate::mark::Mark;

/// How each thing and each link compares with the revision that the work starts from.
#[derive(Debug, Default)]
pub struct Marks {
    things: Option<FxHashMap<String, Mark>>,
}

impl Marks {
    /// How a thing compares, by its name now.
    pub fn thing(&self, name: &str) -> Mark {
        self.things
            .as_ref()
            .map_or(Mark::Plain, |things| things.get(name).copied().unwrap_or(Mark::Same))
    }

    /// How the circuit of a device compares.
    pub fn circuit(&self, facts: &crate::facts::Facts<'_>, device: drysheath_office::Terminal) -> Mark {
        self.thing(facts.office.name(device.thing))
    }

    /// How a link compares.
    pub fn link(&self, _office: &Office, _link: &Link) -> Mark {
        Mark::Plain
    }
}
