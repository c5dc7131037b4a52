//! Any state that is asked for: as `predict --when` does, a statement is put behind the text.

use drysheath_fixture::{Case, Change, check};
use drysheath_office::UnitPreferences;
use drysheath_report::tables;

use crate::bench::Bench;
use crate::holds::{is_finite, is_printable, says_no_infinity};

#[test]
fn any_state_is_computed() {
    let bench = Bench::new();
    check!(2500)
        .with_type::<(Case, Vec<Change>)>()
        .for_each(|((chosen, much, changes), events)| {
            // Most texts are as they are written, since nothing is computed in a state of an office that has no air.
            let changes = if much % 4 == 0 { changes.clone() } else { Vec::new() };
            let (path, text) = bench.corpus.draw(&(*chosen, *much, changes));
            let events: Vec<String> = events
                .iter()
                .take(1 + usize::from(much % 3))
                .map(|event| bench.corpus.event(&text, *event))
                .collect();
            let text = format!("{text}\nwhen {} expect no alarm\n", events.join(", "));
            let drawn = bench.put(path, &text);
            let record = drawn.view().record();
            is_finite(&record);
            let tables = tables(&record, &UnitPreferences::of(&drawn.analysis.office));
            is_printable(&tables);
            says_no_infinity(&text, &tables);
        });
}
