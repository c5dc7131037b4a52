//! Annotations that an editor shows in the text, and the switches for them.

use strum::{IntoStaticStr, VariantArray};

use super::by_key::ByKey;

/// A kind of annotation that an editor shows in the text.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, IntoStaticStr, VariantArray)]
#[strum(serialize_all = "kebab-case")]
pub enum EditorKey {
    /// Colours and pins after the numbers of pairs.
    HintsColours,
    /// The expected reading after a sensor's span.
    HintsPredictions,
    /// The fields of a part after its name.
    HintsParts,
}

impl From<EditorKey> for usize {
    fn from(key: EditorKey) -> Self {
        key as Self
    }
}

/// A switch for an annotation.
#[derive(Debug)]
pub struct Switch {
    /// Key in the settings.
    pub key: EditorKey,
    /// What it shows, in one sentence.
    pub doc: &'static str,
    /// Value if the settings do not state it.
    pub default: bool,
}

/// All switches, in the order of the reference.
pub static SWITCHES: &[Switch] = &[
    Switch {
        key: EditorKey::HintsColours,
        doc: "After the number of a pair its colours, its binder where there are several, and its pins.",
        default: true,
    },
    Switch {
        key: EditorKey::HintsPredictions,
        doc: "After a sensor's span what it should read, and where in the span that lies.",
        default: true,
    },
    Switch {
        key: EditorKey::HintsParts,
        doc: "After the name of a thing's part the fields that the thing takes from it.",
        default: true,
    },
];

/// States of the switches.
#[derive(Clone, Debug)]
pub(super) struct Switches(ByKey<EditorKey, bool, { EditorKey::VARIANTS.len() }>);

impl Default for Switches {
    fn default() -> Self {
        let mut switches = Self(ByKey::filled(false));
        for switch in SWITCHES {
            switches.set(switch, switch.default);
        }
        switches
    }
}

impl Switches {
    pub fn is_on(&self, key: EditorKey) -> bool {
        self.0[key]
    }

    pub fn set(&mut self, switch: &Switch, on: bool) {
        self.0[switch.key] = on;
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_switch_is_listed_once() {
        let listed: Vec<_> = SWITCHES.iter().map(|switch| switch.key).collect();
        assert_eq!(listed, EditorKey::VARIANTS);
    }
}
