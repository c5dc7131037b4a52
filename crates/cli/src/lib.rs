//! The `drysheath` command as a library: its arguments and commands. The binary only calls [`run`]; completions and the
//! man page are generated from [`command`].
#![allow(
    clippy::disallowed_methods,
    clippy::disallowed_types,
    clippy::disallowed_macros,
    reason = "this crate does input and output"
)]

mod arguments;
mod cache;
mod changes;
mod compare;
mod examples;
mod expand;
mod fix;
mod format;
mod git;
mod history;
mod lint;
mod merge_driver;
mod migrate;
mod named_files;
mod offices;
mod outcome;
mod portable;
mod predict;
mod progress;
mod records;
mod rules;
mod sheets;
mod shell;
mod since;
mod standard_streams;
mod start;
mod today;
mod versions;

use std::process::ExitCode;

use clap::{CommandFactory, FromArgMatches};

use crate::arguments::{Arguments, Command};
use crate::outcome::Outcome;
use crate::standard_streams::{print, print_error};

/// Definition of the command line.
pub fn command() -> clap::Command {
    examples::with_examples(Arguments::command())
}

/// Prints the manual page of the program or of one of its commands.
fn man_page(name: Option<&str>) -> std::io::Result<Outcome> {
    let mut whole = command();
    whole.build();
    let page = match name {
        None => whole,
        Some(name) => match whole.find_subcommand(name) {
            Some(found) => found.clone(),
            None => {
                let names: Vec<&str> = whole.get_subcommands().map(clap::Command::get_name).collect();
                return Err(std::io::Error::other(format!(
                    "there is no command `{name}`; there are {}",
                    names.join(", ")
                )));
            }
        },
    };
    let mut told = Vec::new();
    // Subcommands have no version of their own, so the page would lack one.
    clap_mangen::Man::new(page)
        .source(concat!("drysheath ", env!("CARGO_PKG_VERSION")))
        .render(&mut told)?;
    print(&told).map(|()| Outcome::Clean)
}

/// Runs the command with the arguments of this process.
pub fn run() -> ExitCode {
    let arguments = match Arguments::from_arg_matches(&command().get_matches()) {
        Ok(arguments) => arguments,
        Err(error) => error.exit(),
    };
    let outcome = match arguments.command {
        Command::Lsp => match drysheath_server::serve(std::io::stdin(), std::io::stdout()) {
            Ok(code) => return code,
            Err(error) => Err(error),
        },
        Command::Lint(arguments) => lint::run(&arguments),
        Command::Predict(arguments) => predict::run(&arguments),
        Command::Records(arguments) => records::run(&arguments),
        Command::Sheets(arguments) => sheets::run(&arguments),
        Command::Expand(arguments) => expand::run(&arguments),
        Command::Compare(arguments) => compare::run(&arguments),
        Command::Format(arguments) => format::run(&arguments),
        Command::Migrate(arguments) => migrate::run(&arguments),
        Command::MergeDriver(arguments) => return merge_driver::run(&arguments),
        Command::Start(arguments) => start::run(&arguments),
        Command::Rules(arguments) => rules::run(&arguments),
        Command::History => history::run(),
        Command::ShellCompletion { shell } => {
            let mut rendered = Vec::new();
            clap_complete::generate(shell, &mut command(), "drysheath", &mut rendered);
            print(&rendered).map(|()| Outcome::Clean)
        }
        Command::ManPage { command } => man_page(command.as_deref()),
    };
    let outcome = outcome.unwrap_or_else(|error| {
        print_error(error);
        Outcome::Failed
    });
    outcome.into()
}
