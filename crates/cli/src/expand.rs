use std::io;

use crate::arguments::ExpandArguments;
use crate::offices::Offices;
use crate::outcome::Outcome;
use crate::standard_streams::{print, print_error};
use crate::today::today;

/// Prints an office with its assemblies expanded.
pub(crate) fn run(arguments: &ExpandArguments) -> io::Result<Outcome> {
    let mut troubles = Vec::new();
    let path = &arguments.office;
    if path.is_dir() {
        troubles.push(format!("{}: name the file of one office", path.display()));
    } else {
        let offices = Offices::compute(std::slice::from_ref(path), false, today(None), &mut troubles);
        for analysis in &offices.all {
            match analysis.office.expanded() {
                Ok(flat) => print(flat.as_bytes())?,
                Err(why) => troubles.push(format!("{}: {why}", path.display())),
            }
        }
    }
    for trouble in &troubles {
        print_error(trouble);
    }
    Ok(if troubles.is_empty() {
        Outcome::Clean
    } else {
        Outcome::Failed
    })
}
