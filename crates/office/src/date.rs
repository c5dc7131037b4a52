use std::fmt;

/// A calendar date, as written in a file.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Date {
    /// Year, all four digits.
    pub year: u16,
    /// Month, from 1 to 12.
    pub month: u8,
    /// Day of the month, from 1.
    pub day: u8,
}

impl Date {
    /// Parses a date such as `2027-04-30`. `None` if it does not exist in the calendar.
    pub(crate) fn read(written: &str) -> Option<Self> {
        let mut numbers = written.split('-');
        let year = numbers.next()?.parse().ok()?;
        let month = numbers.next()?.parse().ok()?;
        let day = numbers.next()?.parse().ok()?;
        (1..=days_of_month(year, month))
            .contains(&day)
            .then_some(Self { year, month, day })
    }

    /// Days from `earlier` to this date; negative if it is before.
    pub fn days_since(self, earlier: Self) -> i32 {
        self.number() - earlier.number()
    }

    /// Number of the day, counted from the first day of year 0.
    fn number(self) -> i32 {
        let years = i32::from(self.year);
        let before = (years - 1).max(0);
        let leaps = before / 4 - before / 100 + before / 400;
        let months = (1..self.month).map(|month| i32::from(days_of_month(self.year, month)));
        years * 365 + leaps + months.sum::<i32>() + i32::from(self.day)
    }

    /// The same day of the month some months later, or the last day of that month if it is shorter.
    #[must_use]
    pub fn months_later(self, months: u16) -> Self {
        let count = u16::from(self.month) - 1 + months;
        let (year, month) = (self.year + count / 12, (count % 12 + 1) as u8);
        Self {
            year,
            month,
            day: self.day.min(days_of_month(year, month)),
        }
    }
}

impl fmt::Display for Date {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{:04}-{:02}-{:02}", self.year, self.month, self.day)
    }
}

/// Number of days in a month; 0 for a month that does not exist.
fn days_of_month(year: u16, month: u8) -> u8 {
    let leap = year.is_multiple_of(4) && (!year.is_multiple_of(100) || year.is_multiple_of(400));
    match month {
        1 | 3 | 5 | 7 | 8 | 10 | 12 => 31,
        4 | 6 | 9 | 11 => 30,
        2 if leap => 29,
        2 => 28,
        _ => 0,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn months_have_their_days() {
        let cases = [
            ((2026, 11, 1), 12, "2027-11-01"),
            ((2028, 2, 29), 12, "2029-02-28"),
            ((2026, 11, 30), 3, "2027-02-28"),
            ((2026, 12, 31), 6, "2027-06-30"),
        ];
        for ((year, month, day), months, expected) in cases {
            assert_eq!(Date { year, month, day }.months_later(months).to_string(), expected);
        }
    }

    #[test]
    fn days_are_counted_over_months_and_leap_years() {
        for (earlier, later, days) in [
            ("2026-11-01", "2026-11-01", 0),
            ("2026-11-30", "2026-12-01", 1),
            ("2027-12-31", "2028-03-01", 61),
            ("2026-11-01", "2028-11-01", 731),
            ("1900-02-28", "1900-03-01", 1),
            ("2000-02-28", "2000-03-01", 2),
            ("2027-01-01", "2026-12-31", -1),
        ] {
            let both = Date::read(earlier).zip(Date::read(later));
            let found = both.map(|(earlier, later)| later.days_since(earlier));
            assert_eq!(found, Some(days), "{earlier} to {later}");
        }
    }

    #[test]
    fn only_days_of_the_calendar_are_read() {
        assert!(Date::read("2028-02-29").is_some());
        for written in ["2027-02-29", "2027-13-01", "2027-00-01", "2027-04-31", "2027-04"] {
            assert_eq!(Date::read(written), None, "{written}");
        }
    }
}
