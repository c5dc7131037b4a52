//! Time from an edit to its results, in the workspace of an editor and without the protocol: one character is put into an office of
//! 200 lines, or of 5,000, and taken out again, all over the file.

mod editing;

use divan::Bencher;
use editing::Editing;

const LINES: [u32; 2] = [200, 5_000];

#[global_allocator]
static ALLOCATOR: mimalloc::MiMalloc = mimalloc::MiMalloc;

fn main() {
    divan::main();
}

#[divan::bench(args = LINES)]
fn an_edit(bencher: Bencher, lines: u32) {
    let mut editing = Editing::new(lines);
    bencher.bench_local(|| editing.edit());
}
