use drysheath_office::Date;
use jiff::Timestamp;
use jiff::tz::TimeZone;

use crate::standard_streams::print_error;

/// Date by which acceptances are judged: the one stated, or today.
pub(crate) fn today(stated: Option<jiff::civil::Date>) -> Date {
    let day = stated.unwrap_or_else(|| {
        let zone = TimeZone::try_system().unwrap_or_else(|error| {
            // No `TZ` is not an error: many build machines have no time zone.
            if let Some(name) = std::env::var_os("TZ").filter(|name| !name.is_empty()) {
                let name = name.to_string_lossy();
                print_error(format_args!(
                    "unknown time zone `{name}`, so the day is taken in UTC: {error}"
                ));
            }
            TimeZone::UTC
        });
        Timestamp::now().to_zoned(zone).date()
    });
    date(day)
}

/// Converts a date of the argument parser to the language's type.
pub(crate) fn date(day: jiff::civil::Date) -> Date {
    Date {
        year: day.year().try_into().unwrap_or_default(),
        month: day.month().try_into().unwrap_or_default(),
        day: day.day().try_into().unwrap_or_default(),
    }
}
