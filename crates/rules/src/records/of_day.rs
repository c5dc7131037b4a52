//! What is computed for a day on which the temperature of the air in cable was read: resistance goes with viscosity times absolute
//! temperature, so that readings of winter and summer are each compared with figures of their own.

use std::rc::Rc;

use drysheath_office::{Date, Networks, Office};
use drysheath_prediction::Prediction;

use crate::lint::Inspection;

/// An office as it was on a day, and what is computed for that.
pub(crate) struct OfDay {
    office: Office,
    networks: Networks,
    prediction: Prediction,
}

impl OfDay {
    /// None where no temperature was read on that day.
    pub fn new(office: &Office, day: Date) -> Option<Self> {
        let office = office.on_day(day)?;
        let networks = Networks::new(&office);
        let prediction = Prediction::new(&office, &networks);
        Some(Self {
            office,
            networks,
            prediction,
        })
    }
}

/// Works on the office as it was on a day: with the temperatures that were read then, else as it is declared.
pub(crate) fn on_day<T>(inspection: &Inspection<'_>, day: Date, work: impl FnOnce(&Inspection<'_>) -> T) -> T {
    let known = |inspection: &Inspection<'_>| -> Option<Rc<OfDay>> {
        let mut days = inspection.days.borrow_mut();
        let of_day = || OfDay::new(inspection.office, day).map(Rc::new);
        days.entry(day).or_insert_with(of_day).clone()
    };
    match known(inspection) {
        None => work(inspection),
        Some(of_day) => {
            let OfDay {
                office,
                networks,
                prediction,
            } = &*of_day;
            work(&Inspection::new(office, networks, prediction, inspection.settings))
        }
    }
}
