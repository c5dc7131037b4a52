//! Friction of flow in a round bore.

use crate::air::{LAMINAR_LIMIT, Regime, TURBULENT_LIMIT};

/// Darcy's friction factor of a bore: 64/Re up to 2000; Colebrook's 1/√f = −2·log₁₀(ε/(3.7·d) + 2.51/(Re·√f)) from 4000 (number
/// from memory); between them f·Re² follows the one cubic that meets both laws in value and slope, which is how EPANET
/// bridges the gap too (from memory). A drop of squared pressure is proportional to f·Re².
#[derive(Clone, Copy, Debug)]
pub(crate) struct Friction {
    /// ε/d.
    relative_roughness: f64,
    /// The cubic between the two laws, in t = 0..1 from Re 2000 to 4000: its coefficients from t⁰ to t³.
    transition: [f64; 4],
}

impl Friction {
    /// `relative_roughness` is ε/d, 0 for smooth; meant up to 0.05 and usable to 0.1. Other friction laws in use differ
    /// from this one by about 1 % in smooth bores.
    pub fn new(relative_roughness: f64) -> Self {
        let width = TURBULENT_LIMIT - LAMINAR_LIMIT;
        let (end, slope) = turbulent_number(TURBULENT_LIMIT, relative_roughness);
        let start = 64.0 * LAMINAR_LIMIT;
        let (rise, near, far) = (end - start, 64.0 * width, slope * width);
        Self {
            relative_roughness,
            transition: [start, near, 3.0 * rise - 2.0 * near - far, near + far - 2.0 * rise],
        }
    }

    /// The friction factor at a Reynolds number.
    pub fn factor(&self, reynolds: f64) -> f64 {
        self.number(reynolds).0 / (reynolds * reynolds)
    }

    /// f·Re² for Re ≥ 0, and its derivative by Re.
    pub fn number(&self, reynolds: f64) -> (f64, f64) {
        match Regime::of(reynolds) {
            Regime::Laminar => (64.0 * reynolds, 64.0),
            Regime::Uncertain => {
                let width = TURBULENT_LIMIT - LAMINAR_LIMIT;
                let (number, slope) = cubic(self.transition, (reynolds - LAMINAR_LIMIT) / width);
                (number, slope / width)
            }
            Regime::Turbulent => turbulent_number(reynolds, self.relative_roughness),
        }
    }

    /// The Reynolds number for a value of f·Re² ≥ 0, and its derivative by that.
    pub fn reynolds(&self, number: f64) -> (f64, f64) {
        if number <= 64.0 * LAMINAR_LIMIT {
            return (number / 64.0, 1.0 / 64.0);
        }
        let [first, second, third, fourth] = self.transition;
        if number >= first + second + third + fourth {
            let (reynolds, slope) = colebrook(number.sqrt(), self.relative_roughness);
            return (reynolds, slope / (2.0 * number.sqrt()));
        }
        let width = TURBULENT_LIMIT - LAMINAR_LIMIT;
        let (mut low, mut high, mut t) = (0.0, 1.0, 0.5);
        // The cubic is monotonic: Newton's method, kept within bounds.
        for _ in 0..60 {
            let (found, rise) = cubic(self.transition, t);
            if found < number {
                low = t;
            } else {
                high = t;
            }
            let step = (found - number) / rise;
            let next = t - step;
            // The error left is about the square of the last step. Check before the bounds: the root itself may have become one of them.
            if step.abs() <= 1e-8 {
                t = next;
                break;
            }
            t = if next > low && next < high {
                next
            } else {
                f64::midpoint(low, high)
            };
        }
        (LAMINAR_LIMIT + width * t, width / cubic(self.transition, t).1)
    }
}

/// Colebrook's law inverted. With s = Re·√f it is Re = −2·s·log₁₀(ε/(3.7·d) + 2.51/s): the flow follows from the drop
/// without a search. Returns Re and its slope dRe/ds.
fn colebrook(s: f64, relative_roughness: f64) -> (f64, f64) {
    let smooth = 2.51 / s;
    let sum = relative_roughness / 3.7 + smooth;
    let root = -2.0 * sum.log10();
    (s * root, root + core::f64::consts::LOG10_E * 2.0 * smooth / sum)
}

/// f·Re² and its derivative by Re in turbulent flow.
fn turbulent_number(reynolds: f64, relative_roughness: f64) -> (f64, f64) {
    let mut s = reynolds * 0.2;
    let mut slope = 5.0;
    // Re(s) is concave and nearly straight: Newton converges in two or three steps from any start. The error left is about the square
    // of the last step.
    for _ in 0..20 {
        let (found, now) = colebrook(s, relative_roughness);
        slope = now;
        let step = (found - reynolds) / slope;
        s = (s - step).max(0.1 * s);
        if step.abs() <= 1e-7 * s {
            break;
        }
    }
    (s * s, 2.0 * s / slope)
}

fn cubic([zeroth, first, second, third]: [f64; 4], t: f64) -> (f64, f64) {
    (
        zeroth + t * (first + t * (second + t * third)),
        first + t * (2.0 * second + t * 3.0 * third),
    )
}

#[cfg(test)]
mod tests {
    use super::Friction;
    use crate::figures::near;

    #[test]
    fn friction() {
        // Worked example AIR-5, Colebrook in a smooth tube at Re 6456 as fluids gives it.
        near(
            Friction::new(0.0).factor(6_456.202_542_739_29),
            0.034_781_867_849_034,
            1e-6,
            "f",
        );
        near(Friction::new(0.0).factor(1_000.0), 0.064, 1e-12, "laminar");
        // Colebrook's own equation, in a rough tube.
        let f = Friction::new(0.01).factor(50_000.0);
        near(
            f.sqrt().recip(),
            -2.0 * (0.01 / 3.7 + 2.51 / (50_000.0 * f.sqrt())).log10(),
            1e-12,
            "1/√f",
        );
    }

    #[test]
    fn friction_has_no_steps_and_turns_round() {
        for rough in [0.0, 1e-4, 0.01, 0.05, 0.1] {
            let friction = Friction::new(rough);
            let mut last = 0.0;
            for step in 1..4_000_u32 {
                let re = f64::from(step) * 2.5;
                let (number, slope) = friction.number(re);
                assert!(number > last, "Re {re}, {rough}: {number} after {last}");
                assert!(slope >= 63.9, "Re {re}, {rough}: slope {slope}");
                let ahead = friction.number(re + 1e-3).0;
                assert!(
                    ((ahead - number) / 1e-3 / slope - 1.0).abs() < 1e-3,
                    "Re {re}, {rough}: slope {slope}"
                );
                let (back, rise) = friction.reynolds(number);
                near(back, re, 1e-9, "Re");
                near(rise * slope, 1.0, 1e-6, "slopes");
                last = number;
            }
        }
    }
}
