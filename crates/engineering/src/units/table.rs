//! The table of units.

use super::{Dimension, Scale, Unit};
use crate::atmosphere::GRAVITY;
use crate::trade_size::CIRCULAR_MIL;
use crate::water::CONVENTIONAL;

/// International foot, m, exact.
const FOOT: f64 = 0.304_8;
/// International inch, m, exact.
const INCH: f64 = 0.025_4;
/// Avoirdupois pound-force, N, exact.
const POUND_FORCE: f64 = 0.453_592_37 * GRAVITY;
/// Pound-force per square inch, Pa.
const PSI: f64 = POUND_FORCE / (INCH * INCH);
const WATER: f64 = CONVENTIONAL.kilograms_per_cubic_metre();
/// Conventional mercury, kg/m³, exact.
const MERCURY: f64 = 13_595.1;
/// Cubic foot, m³, exact.
const CUBIC_FOOT: f64 = FOOT * FOOT * FOOT;
/// One litre in cubic metres, exact by definition.
const LITRE: f64 = 0.001;
/// Standard cubic foot per hour, m³/s at standard conditions.
const SCFH: f64 = CUBIC_FOOT / HOUR;
/// Standard litre per minute, m³/s at standard conditions.
const SLPM: f64 = LITRE / MINUTE;
/// Ratio of the volume at 60 °F to that at 0 °C, both at 101.325 kPa, of the same dry air (ideal gas).
const NORMAL: f64 = ((60.0 + 459.67) * 5.0 / 9.0) / 273.15;
const MINUTE: f64 = 60.0;
const HOUR: f64 = 3600.0;
const DAY: f64 = 86_400.0;

const SI: &str = "SI";
const SP811: &str = "NIST SP 811, exact definition";
const WATER_COLUMN: &str = "NIST SP 811, conventional water: 1000 kg/m³ × 9.80665 m/s²";
const MERCURY_COLUMN: &str = "NIST SP 811, conventional mercury: 13595.1 kg/m³ × 9.80665 m/s²";
const STANDARD: &str = "NIST SP 811 for the volume; counted at 14.696 psia, 60 °F unless the settings say otherwise";
pub(super) const NORMAL_AIR: &str =
    "counted at 0 °C and 101.325 kPa (DIN 1343, number from memory); ideal gas to 60 °F";
const MEAN_PRESSURE: &str = "derived; holds at a mean absolute pressure of 14.696 psia";
const DERIVED: &str = "derived from its parts";

const fn unit(
    name: &'static str,
    aliases: &'static [&'static str],
    dimension: Dimension,
    factor: f64,
    source: &'static str,
) -> Unit {
    Unit {
        name,
        aliases,
        dimension,
        absolute: false,
        scale: Scale::Factor(factor),
        source,
    }
}

const fn absolute(name: &'static str, aliases: &'static [&'static str], factor: f64, source: &'static str) -> Unit {
    Unit {
        name,
        aliases,
        dimension: Dimension::Pressure,
        absolute: true,
        scale: Scale::Factor(factor),
        source,
    }
}

const fn degrees(name: &'static str, aliases: &'static [&'static str], factor: f64, offset: f64) -> Unit {
    Unit {
        name,
        aliases,
        dimension: Dimension::Temperature,
        absolute: false,
        scale: Scale::Affine { factor, offset },
        source: SP811,
    }
}

/// All units, grouped by dimension in the order of [`Dimension::ALL`], with the customary one first.
#[rustfmt::skip]
pub static UNITS: &[Unit] = &[
    unit("psi", &["psig", "PSI", "PSIG", "Psi"], Dimension::Pressure, PSI, SP811),
    absolute("psia", &["PSIA", "psi-abs"], PSI, SP811),
    unit("kPa", &["kpa", "KPa", "KPA", "kPag"], Dimension::Pressure, 1e3, SI),
    absolute("kPa-abs", &["kpa-abs", "kPaa", "kPa-a"], 1e3, SI),
    unit("Pa", &["pa", "PA"], Dimension::Pressure, 1.0, SI),
    unit("mbar", &["MBAR", "mBar"], Dimension::Pressure, 1e2, SP811),
    unit("bar", &["BAR", "Bar", "barg"], Dimension::Pressure, 1e5, SP811),
    absolute("bar-abs", &["bara", "bar-a"], 1e5, SP811),
    unit("inH2O", &["inh2o", "INH2O", "inH₂O", "in-H2O", "inWC", "inwc"], Dimension::Pressure, WATER * GRAVITY * INCH, WATER_COLUMN),
    unit("inHg", &["inhg", "INHG", "in-Hg"], Dimension::Pressure, MERCURY * GRAVITY * INCH, MERCURY_COLUMN),
    unit("mmHg", &["mmhg", "MMHG", "mm-Hg"], Dimension::Pressure, MERCURY * GRAVITY * 1e-3, MERCURY_COLUMN),
    unit("ozin2", &["oz/in2", "oz/in²", "osi"], Dimension::Pressure, PSI / 16.0, SP811),
    unit("ftH2O", &["fth2o", "FTH2O", "ftH₂O", "ft-H2O"], Dimension::Pressure, WATER * GRAVITY * FOOT, WATER_COLUMN),
    unit("scfh", &["SCFH", "Scfh"], Dimension::Flow, SCFH, STANDARD),
    unit("scfm", &["SCFM", "Scfm"], Dimension::Flow, CUBIC_FOOT / MINUTE, STANDARD),
    unit("scfd", &["SCFD", "Scfd"], Dimension::Flow, CUBIC_FOOT / DAY, STANDARD),
    unit("sl/min", &["SL/min", "sL/min", "slpm", "SLPM"], Dimension::Flow, SLPM, STANDARD),
    unit("sl/h", &["SL/h", "sL/h", "slph", "SLPH"], Dimension::Flow, LITRE / HOUR, STANDARD),
    unit("sm3/h", &["Sm3/h", "SM3/h", "sm³/h", "Sm³/h"], Dimension::Flow, 1.0 / HOUR, STANDARD),
    unit("nl/min", &["NL/min", "Nl/min", "nlpm", "NLPM"], Dimension::Flow, SLPM * NORMAL, NORMAL_AIR),
    unit("nm3/h", &["Nm3/h", "NM3/h", "nm³/h", "Nm³/h"], Dimension::Flow, NORMAL / HOUR, NORMAL_AIR),
    unit("ft", &["FT", "Ft", "foot", "feet"], Dimension::Length, FOOT, SP811),
    unit("kft", &["KFT", "Kft"], Dimension::Length, FOOT * 1e3, SP811),
    unit("in", &["IN", "inch", "inches"], Dimension::Length, INCH, SP811),
    unit("yd", &["YD", "yard", "yards"], Dimension::Length, FOOT * 3.0, SP811),
    unit("mi", &["MI", "mile", "miles"], Dimension::Length, FOOT * 5280.0, SP811),
    unit("m", &["metre", "metres", "meter", "meters"], Dimension::Length, 1.0, SI),
    unit("km", &["KM", "Km"], Dimension::Length, 1e3, SI),
    unit("cm", &["CM"], Dimension::Length, 1e-2, SI),
    unit("mm", &["MM"], Dimension::Length, 1e-3, SI),
    Unit { name: "awg", aliases: &["AWG", "Awg"], dimension: Dimension::WireSize, absolute: false, scale: Scale::AmericanWireGauge, source: "ASTM B258, number from memory" },
    unit("kcmil", &["KCMIL", "Kcmil", "MCM", "mcm"], Dimension::WireSize, CIRCULAR_MIL * 1e3, "a disc 0.001 in across, × 1000"),
    unit("mm2", &["mm²", "MM2"], Dimension::WireSize, 1e-6, SI),
    unit("V", &["VDC", "Vdc", "volt", "volts"], Dimension::Voltage, 1.0, SI),
    unit("mV", &["millivolts"], Dimension::Voltage, 1e-3, SI),
    unit("kV", &["KV"], Dimension::Voltage, 1e3, SI),
    unit("A", &["amp", "amps", "ampere", "amperes"], Dimension::Current, 1.0, SI),
    unit("mA", &["milliamps"], Dimension::Current, 1e-3, SI),
    unit("uA", &["µA", "μA"], Dimension::Current, 1e-6, SI),
    unit("ohm", &["ohms", "OHM", "Ohm", "Ohms", "Ω", "\u{2126}"], Dimension::Resistance, 1.0, SI),
    unit("kohm", &["kohms", "kOhm", "KOHM", "kΩ", "k\u{2126}"], Dimension::Resistance, 1e3, SI),
    unit("Mohm", &["MOhm", "megohm", "megohms", "MΩ", "M\u{2126}"], Dimension::Resistance, 1e6, SI),
    unit("W", &["watt", "watts"], Dimension::Power, 1.0, SI),
    unit("kW", &["KW", "kw"], Dimension::Power, 1e3, SI),
    unit("mW", &["milliwatts"], Dimension::Power, 1e-3, SI),
    unit("hp", &["HP", "Hp"], Dimension::Power, 550.0 * FOOT * POUND_FORCE, "NIST SP 811, 550 ft·lbf/s"),
    degrees("degF", &["°F", "degf", "DegF", "fahrenheit"], 5.0 / 9.0, 459.67),
    degrees("degC", &["°C", "degc", "DegC", "celsius"], 1.0, 273.15),
    unit("K", &["kelvin"], Dimension::Temperature, 1.0, SI),
    unit("min", &["minute", "minutes", "mins"], Dimension::Time, MINUTE, SI),
    unit("s", &["sec", "secs", "second", "seconds"], Dimension::Time, 1.0, SI),
    unit("h", &["hr", "hrs", "hour", "hours"], Dimension::Time, HOUR, SI),
    unit("d", &["day", "days"], Dimension::Time, DAY, SI),
    unit("%rh", &["%RH", "%Rh", "%"], Dimension::Humidity, 1e-2, "a hundredth"),
    unit("psi/scfh/kft", &["psi/SCFH/kft", "PSI/SCFH/KFT"], Dimension::PneumaticResistance, PSI / SCFH / (FOOT * 1e3), MEAN_PRESSURE),
    unit("psi/scfh/ft", &["psi/SCFH/ft", "PSI/SCFH/FT"], Dimension::PneumaticResistance, PSI / SCFH / FOOT, MEAN_PRESSURE),
    unit("psi/scfh/mi", &["psi/SCFH/mi", "psi/scfh/mile"], Dimension::PneumaticResistance, PSI / SCFH / (FOOT * 5280.0), MEAN_PRESSURE),
    unit("kPa/slpm/km", &["kPa/SLPM/km", "kPa/sl/min/km"], Dimension::PneumaticResistance, 1e3 / SLPM / 1e3, MEAN_PRESSURE),
    unit("psi/scfh", &["psi/SCFH", "PSI/SCFH"], Dimension::Droop, PSI / SCFH, DERIVED),
    unit("psi/scfm", &["psi/SCFM", "PSI/SCFM"], Dimension::Droop, PSI / (CUBIC_FOOT / MINUTE), DERIVED),
    unit("kPa/slpm", &["kPa/SLPM", "kPa/sl/min"], Dimension::Droop, 1e3 / SLPM, DERIVED),
    unit("ft3", &["FT3", "ft³", "cuft"], Dimension::Volume, CUBIC_FOOT, SP811),
    unit("in3", &["IN3", "in³", "cuin"], Dimension::Volume, INCH * INCH * INCH, SP811),
    unit("gal", &["GAL", "gallon", "gallons"], Dimension::Volume, 231.0 * INCH * INCH * INCH, "NIST SP 811, US liquid, 231 in³"),
    unit("L", &["l", "litre", "litres", "liter", "liters"], Dimension::Volume, LITRE, SI),
    unit("m3", &["M3", "m³"], Dimension::Volume, 1.0, SI),
    unit("scf", &["SCF", "Scf"], Dimension::StandardVolume, CUBIC_FOOT, STANDARD),
    unit("sm3", &["Sm3", "SM3", "sm³", "Sm³"], Dimension::StandardVolume, 1.0, STANDARD),
    unit("nm3", &["Nm3", "NM3", "nm³", "Nm³"], Dimension::StandardVolume, NORMAL, NORMAL_AIR),
    unit("Ah", &["AH", "ah"], Dimension::Charge, HOUR, SI),
];
