//! Live memory of a workspace over many edits of an office of 200 lines: `cargo bench -p drysheath-xtask --bench memory -- 100000`.
//! It prints what is allocated after each tenth of them. That it stays the same is for whoever looks at it.
#![allow(
    clippy::disallowed_methods,
    clippy::disallowed_macros,
    reason = "this crate does input and output"
)]

mod editing;

use cap::Cap;
use editing::Editing;
use mimalloc::MiMalloc;

/// Edits where no number is given.
const EDITS: usize = 10_000;
/// Lines of the office.
const LINES: u32 = 200;

#[global_allocator]
static ALLOCATOR: Cap<MiMalloc> = Cap::new(MiMalloc, usize::MAX);

fn main() {
    let edits = std::env::args()
        .find_map(|argument| argument.parse().ok())
        .unwrap_or(EDITS);
    let mut editing = Editing::new(LINES);
    for number in 0..=edits {
        // An even number of them, so that it is the same text each time.
        if number % (edits / 20 * 2).max(2) == 0 {
            println!(
                "after {number:>7} edits {:>10} bytes are allocated",
                ALLOCATOR.allocated()
            );
        }
        editing.edit();
    }
}
