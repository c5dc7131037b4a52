use drysheath_office::Date;

/// The day by which acceptances are judged: the one that the user states, or else today.
pub(crate) fn today(stated: Option<jiff::civil::Date>) -> Date {
    let day = stated.unwrap_or_else(|| jiff::Zoned::now().date());
    Date {
        year: day.year().try_into().unwrap_or_default(),
        month: day.month().try_into().unwrap_or_default(),
        day: day.day().try_into().unwrap_or_default(),
    }
}
