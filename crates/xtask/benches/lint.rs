//! Time to lex, parse and lint one office of 200 lines, one of 5,000, and a county of 2,000 offices.
//!
//! `cargo bench -p drysheath-xtask` prints times with MB/s, and offices per second for the county. The offices
//! are generated in memory; the county is linted on every core, as the command does it. `cargo xtask bench` compares the
//! medians with the recorded ones.

use std::collections::HashMap;
use std::sync::Arc;

use divan::counter::{BytesCount, ItemsCount};
use divan::{Bencher, black_box};
use drysheath_office::{Date, Office, PartsInMemory, Summary, lower};
use drysheath_rules::{RepositoryInspection, Settings, is_wide, lint, lint_repository};
use drysheath_syntax::{lex, parse};
use drysheath_text::FileId;
use drysheath_xtask::county::{self, GeneratedOffice, Options};
use rayon::prelude::*;

const LINES: [u32; 2] = [200, 5_000];
const COUNTY: u32 = 2_000;
const TODAY: Date = Date {
    year: 2026,
    month: 11,
    day: 1,
};

#[global_allocator]
static ALLOCATOR: mimalloc::MiMalloc = mimalloc::MiMalloc;

fn main() {
    divan::main();
}

fn options(offices: u32, lines: u32) -> Options {
    Options {
        offices,
        seed: 1,
        lines,
        faults: false,
    }
}

fn office(lines: u32) -> Arc<str> {
    county::office(&options(1, lines), 0).text.into()
}

fn shelf(written: &[GeneratedOffice]) -> PartsInMemory {
    let files = county::shared_files(written);
    let offices = written.iter().map(|office| (&office.path, &office.text));
    let all = files.iter().map(|(path, text)| (path, text)).chain(offices);
    PartsInMemory::new(all.map(|(path, text)| (FileId(0), path.trim_end_matches(".office"), text.as_str())))
}

fn lower_one(file: u32, text: &Arc<str>, shelf: &PartsInMemory) -> Office {
    lower(FileId(file), "office", Arc::clone(text), &parse(text), shelf)
}

#[divan::bench(args = LINES)]
fn lexing(bencher: Bencher, lines: u32) {
    let text = office(lines);
    bencher
        .counter(BytesCount::of_str(&text))
        .bench(|| lex(black_box(&text)));
}

#[divan::bench(args = LINES)]
fn parsing(bencher: Bencher, lines: u32) {
    let text = office(lines);
    bencher
        .counter(BytesCount::of_str(&text))
        .bench(|| parse(black_box(&text)));
}

#[divan::bench(args = LINES)]
fn linting(bencher: Bencher, lines: u32) {
    let written = county::office(&options(1, lines), 0);
    let shelf = shelf(std::slice::from_ref(&written));
    let text: Arc<str> = written.text.into();
    let settings = Settings::default();
    bencher
        .counter(BytesCount::of_str(&text))
        .bench(|| lint(&lower_one(0, black_box(&text), &shelf), &settings, TODAY));
}

#[divan::bench(sample_count = 10)]
fn linting_a_county(bencher: Bencher) {
    let options = options(COUNTY, county::LINES);
    let written: Vec<GeneratedOffice> = (0..COUNTY).map(|number| county::office(&options, number)).collect();
    let shelf = shelf(&written);
    let texts: Vec<Arc<str>> = written.into_iter().map(|office| office.text.into()).collect();
    let bytes: usize = texts.iter().map(|text| text.len()).sum();
    bencher
        .counter(ItemsCount::new(texts.len()))
        .counter(BytesCount::new(bytes))
        .bench(|| whole_county(black_box(&texts), &shelf));
}

/// The results of every office, then those of the rules that look at all files.
fn whole_county(texts: &[Arc<str>], shelf: &PartsInMemory) -> usize {
    let settings = Settings::default();
    let each = texts.par_iter().enumerate().map(|(number, text)| {
        let office = lower_one(number as u32, text, shelf);
        let findings = lint(&office, &settings, TODAY).len();
        (Arc::new(Summary::of(&office, is_wide)), findings)
    });
    let (summaries, findings): (Vec<_>, Vec<usize>) = each.unzip();
    let repository = RepositoryInspection {
        summaries: &summaries,
        settings: &settings,
        settings_below: &HashMap::default(),
        whole: true,
    };
    findings.iter().sum::<usize>() + lint_repository(&repository, TODAY).len()
}
