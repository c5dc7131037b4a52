//! Names of places on routes, as a field crew would give them.

use drysheath_office::Office;
use drysheath_office::route::shown_length;

use crate::route::Route;

/// "`c101`", "branch `b1` of `c101`".
pub fn route_name(office: &Office, route: &Route) -> String {
    let thing = office.name(route.thing);
    match route.branch_name(office) {
        Some(branch) => format!("branch `{branch}` of `{thing}`"),
        None => format!("`{thing}`"),
    }
}

/// "at 3.2 km on `c101`", "at the start of `c101`".
pub fn position_name(office: &Office, route: &Route, metres: f64) -> String {
    const AT_THE_START: f64 = 0.01;
    let of = route_name(office, route);
    if metres < AT_THE_START {
        return format!("at the start of {of}");
    }
    format!("at {} on {of}", distance_name(office, route, metres))
}

/// A distance along a route: "3.2 km".
pub fn distance_name(office: &Office, route: &Route, metres: f64) -> String {
    shown_length(office.thing(route.thing), route.branch_name(office), metres)
}
