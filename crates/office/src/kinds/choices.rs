//! Choice fields: an enum for each set of permitted words.

/// Declares the enums. The doc comment of a variant is its meaning, which completion, hover and the reference show.
macro_rules! choices {
    ($(
        $(#[doc = $about:literal])+
        $name:ident {
            $(#[doc = $doc:literal] $variant:ident = $word:literal,)+
        }
    )+) => {
        /// Value of a field that takes one of a few words.
        #[derive(Clone, Copy, Debug, PartialEq, Eq)]
        pub enum Choice {
            $($(#[doc = $about])+ $name($name),)+
        }

        impl Choice {
            /// Word in the file.
            pub const fn word(self) -> &'static str {
                match self {
                    $(Self::$name(it) => it.word(),)+
                }
            }

            /// Meaning, in a sentence.
            pub const fn doc(self) -> &'static str {
                match self {
                    $($(Self::$name($name::$variant) => $doc.trim_ascii_start(),)+)+
                }
            }
        }

        $(
            $(#[doc = $about])+
            #[derive(Clone, Copy, Debug, PartialEq, Eq)]
            pub enum $name {
                $(#[doc = $doc] $variant,)+
            }

            impl $name {
                /// All choices, in the order of the reference.
                pub const ALL: &'static [Choice] = &[$(Choice::$name(Self::$variant)),+];

                /// Word in the file.
                pub const fn word(self) -> &'static str {
                    match self {
                        $(Self::$variant => $word,)+
                    }
                }
            }

            impl TryFrom<Choice> for $name {
                /// The choice, if it belongs to another set.
                type Error = Choice;

                fn try_from(choice: Choice) -> Result<Self, Choice> {
                    match choice {
                        Choice::$name(it) => Ok(it),
                        other => Err(other),
                    }
                }
            }
        )+
    };
}

choices! {
    /// Progress of an office.
    Stage {
        /// On paper only: what is not wired yet is a note, not an error.
        Planned = "planned",
        /// On the wall, not yet watched: the record must be complete.
        Installed = "installed",
        /// Watched: the record must be complete.
        InService = "in-service",
    }

    /// Progress of a thing.
    ThingStage {
        /// On paper only: it is left out of all checks and figures.
        Planned = "planned",
        /// On the wall, not yet watched.
        Installed = "installed",
        /// Watched.
        InService = "in-service",
        /// Still there, but no longer used: it is left out of all checks and figures.
        Disused = "disused",
    }

    /// Half of a connector.
    Connector {
        /// It goes into a socket.
        Plug = "plug",
        /// It takes a plug.
        Socket = "socket",
    }

    /// Type of a dryer's compressor.
    Compressor {
        /// Delivers in strokes: a flow sensor downstream needs a regulator between.
        Piston = "piston",
        /// Delivers in small strokes.
        Diaphragm = "diaphragm",
        /// Delivers steadily.
        Scroll = "scroll",
        /// Delivers steadily.
        Rotary = "rotary",
        /// Air from cylinders or from another plant.
        None = "none",
    }

    /// Insulation of a cable's conductors.
    Insulation {
        /// Each pair has its colours by the code.
        Plastic = "plastic",
        /// Pairs have no colours: they are found by count and by tone.
        Paper = "paper",
    }

    /// Power source of a monitor.
    MonitorSupply {
        /// The battery of the office, over a power run.
        Battery = "battery",
        /// The mains: it reports nothing in a power failure, unless its own supply lasts that long.
        Mains = "mains",
    }

    /// Function of a valve.
    ValveFunction {
        /// Closed by hand to isolate a part.
        ShutOff = "shut-off",
        /// Lets air through along the arrow only.
        Check = "check",
    }

    /// Position of a valve in normal operation.
    ValvePosition {
        /// Air passes, as the function says.
        Open = "open",
        /// No air passes until somebody opens it.
        Closed = "closed",
    }

    /// Surface that a dew point below freezing is relative to.
    DewPointSurface {
        /// Supercooled water: a dew point, as meteorologists count it.
        Water = "water",
        /// Ice: a frost point, as makers of dryers often state it.
        Ice = "ice",
    }

    /// State of a contact in the normal state.
    HealthyState {
        /// It opens on trouble, and so reports a cut pair too.
        Closed = "closed",
        /// It closes on trouble: a cut pair looks like health.
        Open = "open",
    }
}

impl std::fmt::Display for Choice {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(self.word())
    }
}
