//! Parts that the offices of a county share. A county gets those that at least one of its offices uses.

/// A part: its file, its name, and its declaration.
struct Shared {
    file: &'static str,
    name: &'static str,
    text: &'static str,
}

const SHARED: &[Shared] = &[
    Shared {
        file: "air",
        name: "piston-150",
        text: r#"part dryer piston-150 {
    compressor piston
    delivers 30 psi
    capacity 150 scfh
    dew-point -40 degC
    contact humidity { healthy closed }
    outlet 1/2 in compression
    model "Brindlecroft P150"
}"#,
    },
    Shared {
        file: "air",
        name: "piston-60",
        text: r#"part dryer piston-60 {
    compressor piston
    delivers 25 psi
    capacity 60 scfh
    rating-temperature 68 degF
    dew-point -40 degC
    contact humidity { healthy closed }
    outlet 1/2 in compression
    model "Brindlecroft P60"
}"#,
    },
    Shared {
        file: "air",
        name: "scroll-120",
        text: r#"part dryer scroll-120 {
    compressor scroll
    delivers 10 psi
    capacity 120 scfh
    dew-point -35 degC
    contact humidity { healthy closed }
    outlet 1/2 in compression
    model "Ostermole S120"
}"#,
    },
    Shared {
        file: "air",
        name: "line-regulator",
        text: r#"part regulator line-regulator {
    differential 5 psi
    droop 0.01 psi/scfh
    flow-max 150 scfh
    inlet-max 60 psi
    relief 15 psi
    inlet 1/2 in compression
    outlet 1/2 in compression
    model "Tamsel 210"
}"#,
    },
    Shared {
        file: "air",
        name: "house-regulator",
        text: r#"part regulator house-regulator {
    differential 5 psi
    droop 0.005 psi/scfh
    flow-max 200 scfh
    inlet-max 100 psi
    relief 25 psi
    inlet 1/2 in compression
    outlet 1/2 in compression
    model "Tamsel 330"
}"#,
    },
    Shared {
        file: "air",
        name: "house-filter",
        text: r#"part filter house-filter { rating 150 psi, loss 0.4 psi at 40 scfh, loss 1 psi at 80 scfh, inlet 1/2 in compression, outlet 1/2 in compression, model "Tamsel FL 12" }"#,
    },
    Shared {
        file: "air",
        name: "tank-60",
        text: r#"part tank tank-60 { volume 60 gal, rating 125 psi, inlet 1/2 in compression, outlet 1/2 in compression, model "Quern upright tank" }"#,
    },
    Shared {
        file: "air",
        name: "bottle-rack",
        text: r#"part bottle bottle-rack {
    holds 230 scf
    delivers 10 psi
    dew-point -40 degC
    contact low-pressure { healthy closed, limit low 9 psi critical deadband 0.5 psi }
    outlet 1/2 in compression
    model "Quern changeover rack"
}"#,
    },
    Shared {
        file: "air",
        name: "manifold-8",
        text: r#"part manifold manifold-8 { ports 8, rating 30 psi, inlet 1/2 in compression, outlet 3/8 in compression, model "Quern M8" }"#,
    },
    Shared {
        file: "air",
        name: "check",
        text: r#"part valve check { function check, rating 60 psi, inlet 1/2 in compression, outlet 1/2 in compression, model "Quern check valve 12" }"#,
    },
    Shared {
        file: "air",
        name: "shut-off",
        text: r#"part valve shut-off { function shut-off, rating 60 psi, inlet 3/8 in compression, outlet 3/8 in compression, model "Quern ball valve 38" }"#,
    },
    Shared {
        file: "sensors",
        name: "flow-10",
        text: r#"part flow-sensor flow-10 { span 0 .. 10 scfh, step 0.1 scfh, error 0.2 scfh, proof 60 psi, loop-max 4000 ohm, model "Pellarine F10" }"#,
    },
    Shared {
        file: "sensors",
        name: "flow-15",
        text: r#"part flow-sensor flow-15 { span 0 .. 15 scfh, step 0.1 scfh, error 0.3 scfh, proof 60 psi, loop-max 4000 ohm, model "Pellarine F15" }"#,
    },
    Shared {
        file: "sensors",
        name: "flow-30",
        text: r#"part flow-sensor flow-30 { span 0 .. 30 scfh, step 0.2 scfh, error 0.6 scfh, proof 60 psi, loop-max 4000 ohm, model "Pellarine F30" }"#,
    },
    Shared {
        file: "sensors",
        name: "flow-60",
        text: r#"part flow-sensor flow-60 { span 0 .. 60 scfh, step 0.5 scfh, error 1.2 scfh, proof 60 psi, loop-max 4000 ohm, current-max 20 mA, needs 14 V, model "Pellarine F60" }"#,
    },
    Shared {
        file: "sensors",
        name: "room-pressure",
        text: r#"part pressure-sensor room-pressure { span 0 .. 20 psi, step 0.1 psi, error 0.2 psi, proof 60 psi, loop-max 4000 ohm, inlet 1/4 in npt male, model "Pellarine P20" }"#,
    },
    Shared {
        file: "sensors",
        name: "outlet-humidity",
        text: r#"part humidity-sensor outlet-humidity { span 0 .. 20 %rh, step 0.2 %rh, error 1 %rh, proof 60 psi, loop-max 4000 ohm, model "Pellarine H20" }"#,
    },
    Shared {
        file: "sensors",
        name: "field-pressure",
        text: "part pressure-sensor field-pressure { step 0.1 psi, error 0.2 psi, proof 30 psi, loop-max 3000 ohm }",
    },
    Shared {
        file: "sensors",
        name: "field-pressure-10",
        text: r#"part pressure-sensor field-pressure-10 : field-pressure { span 0 .. 10 psi, model "Pellarine T10" }"#,
    },
    Shared {
        file: "sensors",
        name: "field-switch",
        text: r#"part pressure-switch field-switch { healthy closed, proof 30 psi, loop-max 3000 ohm, model "Pellarine W" }"#,
    },
    Shared {
        file: "sensors",
        name: "field-pressure-15",
        text: r#"part pressure-sensor field-pressure-15 : field-pressure { span 0 .. 15 psi, current-max 8 mA, needs 12 V, model "Pellarine T15" }"#,
    },
    Shared {
        file: "bays",
        name: "bay-monitor",
        text: r#"part monitor bay-monitor {
    sensors 32
    contacts 16
    draws 95 W
    window -40.5 V .. -57 V
    wants-filtered yes
    ground-size 6 awg
    loop-max 4000 ohm
    loop-voltage 38 V
    model "Halloran Wisp 32"
}"#,
    },
    Shared {
        file: "bays",
        name: "plant-48",
        text: "part battery plant-48 { nominal -48 V, working -43 V .. -54.5 V, filtered yes }",
    },
    Shared {
        file: "bays",
        name: "panel-10",
        text: r#"part fuse-panel panel-10 { positions 1 .. 10, current-max 30 A, model "Quern FP10" }"#,
    },
    Shared {
        file: "bays",
        name: "panel-rows",
        text: r#"part fuse-panel panel-rows { positions A1 .. A5, positions B1 .. B5, current-max 30 A, model "Quern FP2x5" }"#,
    },
    Shared {
        file: "bays",
        name: "lead-4",
        text: "part lead lead-4 { pairs 4, gauge 22 awg, pair 1 black-red, pair 2 black-white, pair 3 black-green, pair 4 black-blue }",
    },
    Shared {
        file: "bays",
        name: "block-50",
        text: r#"part block block-50 { pairs 50, pins yes, model "Quern 50-pair connector block" }"#,
    },
    Shared {
        file: "bays",
        name: "socket-50",
        text: r#"part block socket-50 { pairs 50, pins yes, connector socket, model "Quern 50-pair connector block" }"#,
    },
    Shared {
        file: "bays",
        name: "factory-plug",
        text: r#"part block factory-plug { pairs 50, pins yes, connector plug, model "Halloran Wisp 32, wired at the factory" }"#,
    },
    Shared {
        file: "bays",
        name: "door-switch",
        text: r#"part contact door-switch { healthy closed, reports "a door stands open", model "Quern reed switch" }"#,
    },
    Shared {
        file: "bays",
        name: "mains-relay",
        text: r#"part contact mains-relay { healthy closed, reports "the mains have failed", model "Quern relay" }"#,
    },
    Shared {
        file: "county",
        name: "region",
        text: "part office region { air-minimum { underground 5 psi, buried 3 psi, aerial 1 psi }, hottest 60 degC }",
    },
    Shared {
        file: "county",
        name: "uplands",
        text: "part office uplands : region { hottest 50 degC }",
    },
    Shared {
        file: "county",
        name: "lowlands",
        text: "part office lowlands : region { hottest 65 degC }",
    },
    Shared {
        file: "bracket-10",
        name: "bracket-10",
        text: r#"use parts/air
use parts/sensors

assembly bracket-10 { model "Quern bracket 10" }

regulator r : line-regulator
flow-sensor f : flow-10
air r -> f with 1/2 in tube, 7/16 in bore, 0.3 m"#,
    },
    Shared {
        file: "bracket-15",
        name: "bracket-15",
        text: r#"use parts/air
use parts/sensors

assembly bracket-15 { model "Quern bracket 15" }

regulator r : line-regulator
flow-sensor f : flow-15
air r -> f with 1/2 in tube, 7/16 in bore, 0.3 m"#,
    },
    Shared {
        file: "bracket-30",
        name: "bracket-30",
        text: r#"use parts/air
use parts/sensors

assembly bracket-30 { model "Quern bracket 30" }

regulator r : line-regulator
flow-sensor f : flow-30
air r -> f with 1/2 in tube, 7/16 in bore, 0.3 m"#,
    },
    Shared {
        file: "bracket-60",
        name: "bracket-60",
        text: r#"use parts/air
use parts/sensors

assembly bracket-60 { model "Quern bracket 60" }

regulator r : line-regulator
flow-sensor f : flow-60
air r -> f with 1/2 in tube, 7/16 in bore, 0.3 m"#,
    },
];

/// Paths of the parts files.
const FILES: [&str; 8] = [
    "air",
    "bays",
    "county",
    "sensors",
    "bracket-10",
    "bracket-15",
    "bracket-30",
    "bracket-60",
];

/// Set of parts in use, one bit each.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Used(u64);

impl Used {
    /// Union of two sets.
    #[must_use]
    pub fn and(self, other: Self) -> Self {
        Self(self.0 | other.0)
    }

    pub(super) fn add(&mut self, name: &str) {
        let Some((at, part)) = (0..).zip(SHARED).find(|(_, part)| part.name == name) else {
            return;
        };
        self.0 |= 1 << at;
        if let Some(base) = part.base() {
            self.add(base);
        }
    }
}

impl Shared {
    /// Name of the part that this part uses.
    fn base(&self) -> Option<&'static str> {
        let (_, rest) = self
            .text
            .split_once('{')
            .map_or(self.text, |(head, _)| head)
            .split_once(" : ")?;
        rest.split_whitespace().next()
    }
}

/// Paths and texts of the parts files for the parts in use.
pub fn files(used: Used) -> Vec<(String, String)> {
    let is_used = |file: &&&str| {
        let mut parts = SHARED.iter().enumerate();
        parts.any(|(at, part)| part.file == **file && used.0 & (1 << at) != 0)
    };
    FILES
        .iter()
        .filter(is_used)
        .map(|file| {
            let mut text = "# Parts of an invented county. Makers and models are invented.\n".to_owned();
            for (at, part) in SHARED.iter().enumerate() {
                if part.file == *file && used.0 & (1 << at) != 0 {
                    text.push('\n');
                    text.push_str(part.text);
                    text.push('\n');
                }
            }
            (format!("parts/{file}.office"), drysheath_syntax::formatted(&text))
        })
        .collect()
}
