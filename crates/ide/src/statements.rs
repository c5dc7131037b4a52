//! The statements other than declarations of things, by first word: texts for completion and hover.

/// First word of each statement, and its meaning with an example.
pub(crate) const STATEMENTS: [(&str, &str); 14] = [
    (
        "air",
        "A run of air along the arrows, such as `air d1 -> r1 -> f1 -> mf with 3/8 in tube, 1/4 in bore, 4 m`.",
    ),
    (
        "wire",
        "A signal's way, such as `wire ps1 -> c101 pair 37 -> tb pair 3 -> m1 sensor 3`.",
    ),
    (
        "power",
        "A run of battery, such as `power pdf fuse 1 -> m1 with 3 A, 14 awg, 6 m`.",
    ),
    (
        "ground",
        "A ground conductor, such as `ground m1 frame -> ogb with 6 awg, 3 m`.",
    ),
    (
        "spare",
        "What nothing uses, such as `spare tb pair 5 .. 25` or `spare tb pair rest`.",
    ),
    (
        "assigned",
        "Pairs that another service has, such as `assigned c101 pair 1 .. 30 to \"subscribers\"`.",
    ),
    (
        "defective",
        "Pairs that carry nothing any more, and why, such as `defective c101 pair 31 because \"open at mh-4\"`.",
    ),
    (
        "bunched",
        "Pairs that carry one signal together, and why, such as `bunched c101 pair 37 .. 38 because \"loop too long\"`.",
    ),
    (
        "tapped",
        "Pairs with a third wire for a while, and why, such as `tapped tb pair 3 because \"cut-over to m2\"`.",
    ),
    ("accept", "A result that is right as it is, why, and until when."),
    ("reading", "What was read on a visit, compared with the prediction."),
    (
        "when",
        "What must hold in another state, such as `when c101 leaks 10 scfh at 2.1 km expect ps1 low`.",
    ),
    ("part", "A thing described once, for many to be of."),
    (
        "use",
        "Makes the parts of another file known, such as `use parts/field-sensors`.",
    ),
];
