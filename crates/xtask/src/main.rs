//! `cargo xtask`: the house's own errands.

use std::io;
use std::path::{Path, PathBuf};
use std::process::ExitCode;

use clap::{Parser, Subcommand};
use drysheath_xtask::county::{self, Order};
use drysheath_xtask::generate::{generate, stale};
use drysheath_xtask::new_rule::new_rule;
use drysheath_xtask::verify::verify;

#[derive(Parser)]
#[command(name = "xtask", about = "The house's own errands", max_term_width = 100)]
struct Arguments {
    #[command(subcommand)]
    command: Command,
}

#[derive(Subcommand)]
enum Command {
    /// Write what is derived: the reference's tables, the rules' pages, the editors' syntax files.
    Generate,
    /// Fail where something derived is stale.
    Check,
    /// Write the scaffold of a rule and list it in its family.
    NewRule {
        /// The family.
        family: String,
        /// The rule's name.
        name: String,
    },
    /// Run everything there is to check.
    Verify,
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
        Command::Verify => verify(&root),
        Command::County {
            offices,
            seed,
            lines,
            faults,
            out,
        } => {
            let order = Order {
                offices,
                seed,
                lines,
                faults,
            };
            county::write(&order, &out).map_err(words)
        }
    }
}

#[expect(clippy::needless_pass_by_value, reason = "it is handed to `map_err`")]
fn words(error: io::Error) -> String {
    error.to_string()
}
