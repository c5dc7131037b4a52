//! Completes the address of a sensor that shares its pair: the next free one.

use drysheath_office::kinds::{Key, Role};
use drysheath_office::{Fields, ThingId};
use rustc_hash::FxHashSet;

use super::CompletionKind;
use super::items::Items;

/// Offers the lowest address that no other sensor on the pair has; if the sensor has no pair yet, one that no sensor in
/// the office has. `most` is the highest valid address.
pub(super) fn offer(items: &mut Items<'_>, most: u32) {
    let office = items.office();
    let own = office.thing_around(items.caret.word);
    let shared = own
        .map(|own| on_its_pairs(items, own))
        .filter(|shared| !shared.is_empty());
    let is_wired = shared.is_some();
    let others: Vec<ThingId> = match shared {
        Some(shared) => shared.into_iter().collect(),
        None => office.things().map(|(id, _)| id).collect(),
    };
    let others = others.into_iter().filter(|other| Some(*other) != own);
    let taken: FxHashSet<u32> = others
        .filter_map(|other| office.thing(other).count(Key::Address))
        .collect();
    if let Some(free) = (1..=most).find(|address| !taken.contains(address)) {
        items
            .offer(CompletionKind::NextFree, free.to_string())
            .detail(if is_wired {
                "no other sensor on its pair has it"
            } else {
                "no other sensor has it"
            });
    }
}

/// The things that share pairs with a thing, including itself.
fn on_its_pairs(items: &Items<'_>, own: ThingId) -> FxHashSet<ThingId> {
    let wire = &items.analysis.networks.wire;
    let signals = items.office().signals(own).into_iter();
    let ids = signals.filter_map(|signal| wire.find(signal.thing, signal.port, signal.number));
    let joined = ids.flat_map(|id| wire.joined_with(id)).map(|id| wire.terminal(id));
    let devices = joined.filter(|terminal| matches!(terminal.port.role, Role::Signal(_)));
    devices.map(|terminal| terminal.thing).collect()
}
