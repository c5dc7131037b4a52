//! `cargo xtask`: commands for developing this repository.
#![allow(
    clippy::disallowed_methods,
    clippy::disallowed_macros,
    reason = "this crate does input and output"
)]

use std::io;
use std::path::{Path, PathBuf};
use std::process::ExitCode;

use clap::{Parser, Subcommand};
use drysheath_xtask::audit::advisories;
use drysheath_xtask::bench::bench;
use drysheath_xtask::county::{self, Options};
use drysheath_xtask::dist::{self, dist};
use drysheath_xtask::fuzz::{Effort, fuzz};
use drysheath_xtask::generate::{generate, stale};
use drysheath_xtask::mutants::mutants;
use drysheath_xtask::new_rule::new_rule;
use drysheath_xtask::silence::silence;
use drysheath_xtask::slopes::slopes;
use drysheath_xtask::tree_sitter::tree_sitter;
use drysheath_xtask::verify::verify;

#[derive(Parser)]
#[command(name = "xtask", about = "The repository's own commands", max_term_width = 100)]
struct Arguments {
    #[command(subcommand)]
    command: Command,
}

#[derive(Subcommand)]
enum Command {
    /// Write the generated files: the reference's tables, the pages of rules, the editors' syntax files.
    Generate,
    /// Fail if a generated file is stale.
    Check,
    /// Write the skeleton of a rule and list it in its family.
    NewRule {
        /// The family, such as `air`.
        family: String,
        /// The rule's name, such as `air-missing`.
        name: String,
    },
    /// Generate the tree-sitter parser from its grammar, and run its corpus.
    TreeSitter,
    /// Run every check, and print how long each takes.
    Verify {
        /// Then also the tests with editors that take minutes to install: Kate, Kakoune, Emacs with tree-sitter.
        #[arg(long)]
        on_request: bool,
    },
    /// Check the libraries in use for published vulnerabilities, which the network lists.
    Audit,
    /// Change one place of the code at a time and run the tests of its crate, which should fail.
    Mutants {
        /// The crate, such as `rules`; otherwise every crate in turn.
        #[arg(long = "crate")]
        name: Option<String>,
        /// About how many places of a crate to change, spread evenly.
        #[arg(long, default_value_t = 10)]
        sample: usize,
        /// Which places: another seed takes the neighbours of the places of the one before.
        #[arg(long, default_value_t = 0)]
        seed: usize,
    },
    /// Run the fuzz targets for long, as users run the program but with overflow checks and assertions.
    Fuzz {
        /// Only targets whose name has this in it.
        filter: Option<String>,
        /// How many executions of each in a round. By default as many as in a test run, in which all take about equally long.
        #[arg(long)]
        executions: Option<u64>,
        /// How many rounds, each with another seed.
        #[arg(long, default_value_t = 1)]
        rounds: u64,
        /// The seed of the first round.
        #[arg(long, default_value_t = 2)]
        seed: u64,
    },
    /// Make every single edit of the clean offices, print those without a result, and bring their table up to date.
    Silence {
        /// Write nothing, and fail where the table is not up to date.
        #[arg(long)]
        check: bool,
    },
    /// Run the benchmarks and compare them with the recorded medians.
    Bench {
        /// Only benchmarks whose name has this in it.
        filter: Option<String>,
        /// Record the new medians.
        #[arg(long)]
        record: bool,
    },
    /// Lint files that are all of one thing, at growing sizes, and fail where the cost grows faster than the size.
    Slopes {
        /// Only cases whose name has this in it.
        filter: Option<String>,
        /// The `drysheath` to measure, instead of one that is built for it.
        #[arg(long)]
        program: Option<PathBuf>,
    },
    /// Write what a user installs without a toolchain: an archive with the program, manual pages, completions, files for editors,
    /// licences and the list of libraries; a package for VS Code; and their checksums.
    Dist {
        /// The folder to write into.
        #[arg(long, default_value = "target/dist/packages")]
        to: PathBuf,
        /// What to build for, as Rust calls it, instead of a static program for this machine.
        #[arg(long)]
        target: Option<String>,
        /// A `drysheath` that is built already, instead of one that is built for it.
        #[arg(long)]
        program: Option<PathBuf>,
        /// A `drysheath` that runs on this machine and prints the manual pages, where the packaged one does not run here; otherwise
        /// one is built.
        #[arg(long, value_name = "PROGRAM")]
        manuals_of: Option<PathBuf>,
    },
    /// Write an invented county: clean offices that share their parts.
    County {
        /// How many offices.
        #[arg(long, default_value_t = 100)]
        offices: u32,
        /// What the county is drawn from: the same seed gives the same county.
        #[arg(long, default_value_t = 1)]
        seed: u64,
        /// About how many lines an office has.
        #[arg(long, default_value_t = county::LINES)]
        lines: u32,
        /// Put a known fault into some of the offices, and write a manifest of them.
        #[arg(long)]
        faults: bool,
        /// The folder to write into. It must be empty, or not be there yet.
        out: PathBuf,
    },
}

fn main() -> ExitCode {
    match run(Arguments::parse().command) {
        Ok(()) => ExitCode::SUCCESS,
        Err(why) => {
            eprintln!("xtask: {why}");
            ExitCode::FAILURE
        }
    }
}

fn run(command: Command) -> Result<(), String> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("../..");
    let root = root.canonicalize().map_err(words)?;
    match command {
        Command::Generate => generate(&root).map_err(words),
        Command::Check => match stale(&root).map_err(words)? {
            stale if stale.is_empty() => Ok(()),
            stale => Err(format!("stale, run `cargo xtask generate`: {stale:?}")),
        },
        Command::NewRule { family, name } => new_rule(&root, &family, &name).map_err(words),
        Command::TreeSitter => tree_sitter(&root),
        Command::Verify { on_request } => verify(&root, on_request),
        Command::Audit => advisories(&root),
        Command::Mutants { name, sample, seed } => mutants(&root, name.as_deref(), sample, seed),
        Command::Fuzz {
            filter,
            executions,
            rounds,
            seed,
        } => {
            let effort = Effort {
                executions,
                rounds,
                seed,
            };
            fuzz(&root, effort, filter.as_deref())
        }
        Command::Silence { check } => silence(&root, check),
        Command::Bench { filter, record } => bench(&root, filter.as_deref(), record),
        Command::Slopes { filter, program } => slopes(&root, filter.as_deref(), program.as_deref()),
        Command::Dist {
            to,
            target,
            program,
            manuals_of,
        } => {
            let options = dist::Options {
                to,
                target,
                program,
                manuals_of,
            };
            dist(&root, &options)
        }
        Command::County {
            offices,
            seed,
            lines,
            faults,
            out,
        } => {
            let options = Options {
                offices,
                seed,
                lines,
                faults,
            };
            county::write(&options, &out).map_err(words)
        }
    }
}

#[expect(clippy::needless_pass_by_value, reason = "it is handed to `map_err`")]
fn words(error: io::Error) -> String {
    error.to_string()
}
