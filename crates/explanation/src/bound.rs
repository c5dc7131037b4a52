use drysheath_office::{Limit, Office};

/// A limit that a figure must stay on one side of, in the unit of the figure.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Bound {
    /// The limit, in SI units.
    pub value: f64,
    /// 1 if figures must be above the limit, −1 if below.
    side: f64,
}

impl Bound {
    /// Figures must not be below `value`.
    pub const fn at_least(value: f64) -> Self {
        Self { value, side: 1.0 }
    }

    /// Figures must not be above `value`.
    pub const fn at_most(value: f64) -> Self {
        Self { value, side: -1.0 }
    }

    /// Figures must be no nearer to zero than `value`, and have its sign.
    pub fn no_nearer_to_zero(value: f64) -> Self {
        Self {
            value,
            side: value.signum(),
        }
    }

    /// The bound for readings that a sensor's limit sets, as a figure of [`Office::figure`].
    pub fn of_limit(office: &Office, limit: &Limit) -> Self {
        let value = office.figure(limit.value);
        if limit.level.is_low() {
            Self::at_least(value)
        } else {
            Self::at_most(value)
        }
    }

    /// The bound with its value in another unit.
    pub(crate) fn moved_to(self, value: f64) -> Self {
        Self { value, ..self }
    }

    /// Distance of a figure from the limit; negative if it is past it.
    pub fn margin(self, figure: f64) -> f64 {
        self.side * (figure - self.value)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_margin_is_positive_on_the_good_side_only() {
        for (bound, figure, margin) in [
            (Bound::at_least(5.0), 7.0, 2.0),
            (Bound::at_least(5.0), 4.0, -1.0),
            (Bound::at_most(5.0), 4.0, 1.0),
            (Bound::no_nearer_to_zero(-40.5), -42.5, 2.0),
            (Bound::no_nearer_to_zero(-40.5), -40.0, -0.5),
        ] {
            assert!((bound.margin(figure) - margin).abs() < 1e-12, "{bound:?} of {figure}");
        }
    }
}
