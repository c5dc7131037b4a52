/// A law by which figures are computed.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Law {
    /// Pressure loss in laminar flow through a tube.
    Laminar,
    /// Pressure loss in laminar flow along a cable or pipe with distributed usage.
    DistributedLaminar,
    /// Pneumatic resistance of a bore.
    Bore,
    /// Pressure loss in turbulent flow.
    Turbulent,
    /// Pressure loss of a filter, a sensor or a valve.
    Loss,
    /// Outlet pressure of a regulator.
    Droop,
    /// What cable and pipe lose in states other than the normal one.
    Leakage,
    /// What a regulator that is opened takes from the air.
    WideOpen,
    /// Pressure of the surrounding air by elevation.
    Atmosphere,
    /// Capacity of a dryer at another elevation than the maker's.
    Rating,
    /// Duty cycle of a compressor that fills a tank.
    Cycle,
    /// Vapour pressure of moist air.
    Vapour,
    /// Voltage at a load that draws constant power.
    Feed,
    /// Resistance of a loop.
    Loop,
}

impl Law {
    /// Text of the law, with its source.
    pub fn text(self) -> &'static str {
        match self {
            Self::Laminar => {
                "p1² - p2² = 2 · 14.696 psia · k · L · Q, absolute pressures [Hagen-Poiseuille, ideal gas, isothermal; derived]"
            }
            Self::DistributedLaminar => {
                "p1² - p2² = 2 · 14.696 psia · k · L · Q, with Q half way along: usage that is spread evenly counts as half \
                 drawn at either end, which is exact in laminar flow [derived]"
            }
            Self::Bore => "k = 128 μ T / (π d⁴ T_s) at a mean of 14.696 psia [Hagen-Poiseuille; derived]",
            Self::Turbulent => {
                "p1² - p2² = f (L/d) (ṁ/A)² R T, f by Colebrook above Re 4000 and bridged from Re 2000 [Colebrook, from \
                 memory]"
            }
            Self::Loss => {
                "p1 - p2 = a · Q from one stated point, a · Q + b · Q² from two [Forchheimer, from memory]; straight lines between \
                 the points where that curve would not rise"
            }
            Self::Droop => {
                "downstream = set - droop · Q, as long as supply - set is no less than its differential [linear droop; \
                 derived]"
            }
            Self::Leakage => {
                "q = q0 · (p² - pa²)/(p0² - pa²) at each place, with q0 and p0 of the normal state and pa of the surrounding air, \
                 absolute pressures: laminar flow through many narrow ways; not known where p0 is not, or not above pa [Hagen-Poiseuille, \
                 ideal gas, isothermal; derived]"
            }
            Self::WideOpen => {
                "downstream = supply - differential · Q/flow-max, and no loss where either is not stated; it passes air along its arrow \
                 only [chosen: makers seldom state more]"
            }
            Self::Atmosphere => "air pressure by ISO 2533 from the elevation [formula from memory]",
            Self::Rating => {
                "capacity here = stated · (p/14.696 psia)(519.67 °R/T) · air pressure here / air pressure at its elevation \
                 [ideal gas; derived]"
            }
            Self::Cycle => {
                "V · (cut-out - cut-in)/14.696 psia · 519.67 °R/T of air, over capacity less flow, and over flow [ideal gas; derived]"
            }
            Self::Vapour => {
                "e = 6.112 hPa exp(17.62 t/(243.12 + t)) over water, 22.46 and 272.62 over ice; at another pressure e goes \
                 with p [Magnus, WMO-No. 8; ice from memory]"
            }
            Self::Feed => {
                "V = (V_s + √(V_s² - 4 P R))/2 for a load that holds its power [derived]; R = 2 r L (1 + 0.00393 (t - 20)), r \
                 from 1/58 Ω mm²/m [IEC 60028] and the area [ASTM B258, from memory]"
            }
            Self::Loop => {
                "R = ∑ 2 r L (1 + 0.00393 (t - 20)), r from 1/58 Ω mm²/m [IEC 60028] and the area [ASTM B258, from memory]"
            }
        }
    }
}
