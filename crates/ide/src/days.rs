//! Days of the calendar, counted on.

use drysheath_office::Date;

/// The day some months after another; the last of its month where that has fewer days.
pub(crate) fn months_after(day: Date, months: u16) -> Date {
    let count = u16::from(day.month) - 1 + months;
    let (year, month) = (day.year + count / 12, (count % 12 + 1) as u8);
    Date {
        year,
        month,
        day: day.day.min(days(year, month)),
    }
}

fn days(year: u16, month: u8) -> u8 {
    let leap = year.is_multiple_of(4) && (!year.is_multiple_of(100) || year.is_multiple_of(400));
    match month {
        2 if leap => 29,
        2 => 28,
        4 | 6 | 9 | 11 => 30,
        _ => 31,
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
            assert_eq!(months_after(Date { year, month, day }, months).to_string(), expected);
        }
    }
}
