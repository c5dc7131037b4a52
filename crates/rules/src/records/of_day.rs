//! Predictions for a day on which the temperature of the air in cable was read. Resistance is proportional to viscosity
//! times absolute temperature, so readings in winter and summer are compared with different figures.

use std::rc::Rc;

use drysheath_office::{Date, Networks, Office};
use drysheath_prediction::Prediction;

use crate::lint::Inspection;

/// An office with the temperatures of a day, and its prediction.
pub(crate) struct OfDay {
    office: Office,
    networks: Networks,
    prediction: Prediction,
}

impl OfDay {
    /// `None` where no temperature was read on that day.
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

/// Runs `work` on the office with the temperatures read on a day, or as declared where none was read.
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
