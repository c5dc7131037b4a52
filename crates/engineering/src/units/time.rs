use super::{Quantity, find};

/// Significant digits of a displayed time: no more are known.
const DIGITS: i32 = 2;

/// A time in days, or in hours or minutes if it is less than one of the larger unit. `None` unless it is finite.
pub fn time(seconds: f64) -> Option<Quantity> {
    if !seconds.is_finite() {
        return None;
    }
    let units = ["d", "h", "min"].into_iter().filter_map(find);
    let mut shown = units.map(|unit| Quantity {
        value: unit.from_si(seconds),
        unit,
    });
    let fits = shown.clone().find(|time| time.value >= 1.0);
    Some(fits.or(shown.next_back())?.to_digits(DIGITS))
}

#[cfg(test)]
mod tests {
    use super::time;

    #[test]
    fn the_largest_unit_that_it_fills_is_shown() {
        for (seconds, shown) in [
            (540.0, "9 min"),
            (30.0, "0.5 min"),
            (7200.0, "2 h"),
            (233_280.0, "2.7 d"),
        ] {
            assert_eq!(time(seconds).map(|time| time.to_string()), Some(shown.to_owned()));
        }
        assert!(time(f64::INFINITY).is_none());
    }
}
