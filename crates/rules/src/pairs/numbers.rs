use drysheath_office::kinds::Port;

/// ``pair 5``, ``pairs 5 to 12``.
pub(crate) fn numbered(word: &str, from: u32, to: u32) -> String {
    if from == to {
        format!("{word} {from}")
    } else {
        format!("{word}s {from} to {to}")
    }
}

/// The number of a thing's ports in words: ``has 25 pairs``, ``has no contact inputs``.
pub(super) fn has(port: &Port, extent: (u32, u32)) -> String {
    let noun = port.noun();
    match extent {
        (_, 0) => format!("has no {noun}s"),
        (1, 1) => format!("has one {noun}"),
        (1, last) => format!("has {last} {noun}s"),
        (first, last) => format!("has {noun}s {first} to {last}"),
    }
}
