//! Runs the benchmarks and compares their medians with the recorded ones.

use std::collections::BTreeMap;
use std::fs;
use std::path::Path;

use serde::{Deserialize, Serialize};

use crate::process::{cargo, output};

/// File of the recorded medians.
const RECORD: &str = "crates/xtask/benches/medians.json";

/// The benchmarks: package and target.
const BENCHMARKS: [(&str, &str); 5] = [
    ("drysheath-xtask", "lint"),
    ("drysheath-xtask", "edits"),
    ("drysheath-engineering", "network"),
    ("drysheath-explanation", "air"),
    ("drysheath-sheets", "sheets"),
];

/// Medians by benchmark, ns, and the machine they were measured on.
#[derive(Debug, Default, PartialEq, Serialize, Deserialize)]
struct Medians {
    machine: String,
    nanoseconds: BTreeMap<String, f64>,
}

/// Prints each benchmark's recorded median, the new one and their ratio. With `record`, records the new ones.
///
/// # Errors
///
/// If a benchmark fails, or the record cannot be read or written.
pub fn bench(root: &Path, filter: Option<&str>, record: bool) -> Result<(), String> {
    let path = root.join(RECORD);
    let mut recorded: Medians = match fs::read_to_string(&path) {
        Ok(text) => serde_json::from_str(&text).map_err(|error| error.to_string())?,
        Err(_) => Medians::default(),
    };
    let machine = machine();
    match recorded.machine.as_str() {
        "" => println!("nothing is recorded yet: `--record` does so"),
        before if before != machine => {
            println!("recorded on {before}, and this is {machine}: the ratios compare machines");
        }
        same => println!("recorded and measured on {same}"),
    }
    let mut measured = BTreeMap::new();
    for (package, target) in BENCHMARKS {
        let mut command = cargo(root, &["bench", "--quiet", "--package", package, "--bench", target]);
        command.arg("--").args(filter);
        measured.extend(medians(&output(&mut command)?));
    }
    println!("{:<44} {:>12} {:>12} {:>6}", "benchmark", "recorded", "now", "ratio");
    for (name, now) in &measured {
        let (before, ratio) = match recorded.nanoseconds.get(name) {
            Some(before) => (shown(*before), format!("{:.2}", now / before)),
            None => ("-".to_owned(), "-".to_owned()),
        };
        println!("{name:<44} {before:>12} {:>12} {ratio:>6}", shown(*now));
    }
    if record {
        // Figures of another machine or of removed benchmarks are not comparable.
        if filter.is_none() || recorded.machine != machine {
            recorded.nanoseconds.clear();
        }
        recorded.machine = machine;
        recorded.nanoseconds.extend(measured);
        let text = serde_json::to_string_pretty(&recorded).map_err(|error| error.to_string())?;
        fs::write(&path, text + "\n").map_err(|error| error.to_string())?;
    }
    Ok(())
}

/// Name of the processor and number of cores.
fn machine() -> String {
    let cores = std::thread::available_parallelism().map_or(1, std::num::NonZero::get);
    let information = fs::read_to_string("/proc/cpuinfo").unwrap_or_default();
    let name = information
        .lines()
        .find_map(|line| line.strip_prefix("model name")?.split_once(": "))
        .map_or("an unknown processor", |(_, name)| name);
    format!("{cores} cores of {name}")
}

fn shown(nanoseconds: f64) -> String {
    let units = [(1e9, "s"), (1e6, "ms"), (1e3, "µs")];
    let (size, unit) = units
        .into_iter()
        .find(|(size, _)| nanoseconds >= *size)
        .unwrap_or((1.0, "ns"));
    format!("{:.4} {unit}", nanoseconds / size)
}

/// Parses the medians in the table that the benchmark library prints: a tree whose leaves have figures.
fn medians(table: &str) -> BTreeMap<String, f64> {
    let mut found = BTreeMap::new();
    let mut path: Vec<&str> = Vec::new();
    for line in table.lines() {
        let entry = line.trim_start_matches(['│', '├', '╰', '─', ' ']);
        let depth = (line.chars().count() - entry.chars().count()) / 3;
        let columns: Vec<&str> = entry.split('│').map(str::trim).collect();
        let &[first, _, median, _, _, _] = columns.as_slice() else {
            continue;
        };
        // Throughput lines below a leaf have no name, and branches of the tree have no figures.
        let Some(name) = first.split("  ").next().filter(|name| !name.is_empty()) else {
            continue;
        };
        path.truncate(depth);
        path.push(name);
        if let Some(nanoseconds) = nanoseconds(median) {
            found.insert(path.join("/"), nanoseconds);
        }
    }
    found
}

/// Parses a time as the library prints it, such as `12.3 µs`.
fn nanoseconds(shown: &str) -> Option<f64> {
    let (figure, unit) = shown.split_once(' ')?;
    let size = match unit {
        "ns" => 1.0,
        "µs" => 1e3,
        "ms" => 1e6,
        "s" => 1e9,
        _ => return None,
    };
    Some(figure.parse::<f64>().ok()? * size)
}

#[cfg(test)]
mod tests {
    use super::medians;

    #[test]
    fn medians_are_read_from_the_table() {
        let table = "\
Timer precision: 20 ns
lint                  fastest       │ slowest       │ median        │ mean          │ samples │ iters
├─ lexing                           │               │               │               │         │
│  ├─ 200             19.4 µs       │ 61.2 µs       │ 20.1 µs       │ 21.4 µs       │ 100     │ 100
│  │                  412.2 MB/s    │ 130.6 MB/s    │ 397.8 MB/s    │ 373.6 MB/s    │         │
│  ╰─ 5000            512.3 µs      │ 1.062 ms      │ 530.9 µs      │ 547.7 µs      │ 100     │ 100
│                     405.1 MB/s    │ 195.4 MB/s    │ 390.9 MB/s    │ 378.9 MB/s    │         │
╰─ linting_a_county   1.812 s       │ 2.006 s       │ 1.871 s       │ 1.886 s       │ 10      │ 10
                      1.103 Kitem/s │ 996.6 item/s  │ 1.068 Kitem/s │ 1.06 Kitem/s  │         │
";
        let found: Vec<(String, f64)> = medians(table).into_iter().collect();
        let expected = [
            ("lint/lexing/200", 20_100.0),
            ("lint/lexing/5000", 530_900.0),
            ("lint/linting_a_county", 1.871e9),
        ];
        let expected = expected.map(|(name, figure)| (name.to_owned(), figure));
        assert_eq!(found.len(), expected.len(), "{found:?}");
        for ((name, figure), (wanted, exact)) in found.into_iter().zip(expected) {
            assert_eq!(name, wanted);
            assert!((figure - exact).abs() < 1e-6 * exact, "{name}: {figure}");
        }
    }
}
