//! Examples for the help of each command: its most common uses.

use std::fmt::Write;

use clap::Command;

/// A command and its examples, each a command line with its purpose.
type Examples = (&'static str, &'static [(&'static str, &'static str)]);

const EXAMPLES: &[Examples] = &[
    (
        "lint",
        &[
            ("drysheath lint", "check every office and part below this folder"),
            (
                "drysheath lint offices/elm.office --fix --diff",
                "show the fixes that are certain",
            ),
            (
                "drysheath lint --since main --fail-on warning",
                "check what a branch can affect",
            ),
            (
                "drysheath lint --output text --output sarif=results.sarif",
                "results as text, and as SARIF for a code host",
            ),
        ],
    ),
    (
        "predict",
        &[
            (
                "drysheath predict offices/elm.office",
                "pressures, flows, voltages and loops",
            ),
            (
                "drysheath predict offices/elm.office --how ps1",
                "how the reading of a sensor is computed",
            ),
            (
                "drysheath predict offices/elm.office --how \"c101 3.2 km\"",
                "and the pressure at a place of a cable",
            ),
            (
                "drysheath predict offices/elm.office --when \"d1 stops\"",
                "the pressures once the dryer has stopped",
            ),
            (
                "drysheath predict offices/elm.office --size ps1",
                "which span a sensor needs, and which part has it",
            ),
            (
                "drysheath predict offices/elm.office --fit 2026-05-12",
                "what the readings of a day make of the declared usage",
            ),
        ],
    ),
    (
        "records",
        &[
            (
                "drysheath records offices --output csv=records.csv",
                "the record of each input and output",
            ),
            (
                "drysheath records offices --since v1",
                "the records that changed since a revision",
            ),
            (
                "drysheath records offices/elm.office --note",
                "the message that a unit is ready to be tested",
            ),
        ],
    ),
    (
        "sheets",
        &[
            (
                "drysheath sheets offices --to sheets",
                "a sheet for each office, and an index",
            ),
            (
                "drysheath sheets offices --to orders --since main",
                "work orders for what changed",
            ),
        ],
    ),
    (
        "compare",
        &[
            (
                "drysheath compare main",
                "what the working tree changes, on the first screen",
            ),
            (
                "drysheath compare main --output html=changes.html",
                "a page with before and now side by side",
            ),
            (
                "drysheath compare v1 v2 --output markdown --fail-on error",
                "a comment, and a gate for what got worse",
            ),
        ],
    ),
    (
        "expand",
        &[("drysheath expand offices/elm.office", "the office without assemblies")],
    ),
    (
        "format",
        &[
            ("drysheath format", "lay out every file below this folder"),
            ("drysheath format --check", "list the files that would change"),
        ],
    ),
    (
        "migrate",
        &[
            (
                "drysheath migrate --diff",
                "show what an update to the current language changes",
            ),
            ("drysheath migrate", "make that change"),
        ],
    ),
    (
        "merge-driver",
        &[(
            "drysheath merge-driver base.office ours.office theirs.office",
            "merge into ours.office",
        )],
    ),
    ("lsp", &[("drysheath lsp", "the command that an editor starts")]),
    (
        "start",
        &[("drysheath start county", "a new repository in the folder county")],
    ),
    (
        "rules",
        &[
            ("drysheath rules", "all rules with their levels"),
            (
                "drysheath rules pair-assigned-twice",
                "one rule: why, from where, an example",
            ),
        ],
    ),
    ("history", &[("drysheath history", "the newest version comes first")]),
    (
        "shell-completion",
        &[("drysheath shell-completion bash", "to be sourced by the shell")],
    ),
    (
        "man-page",
        &[
            ("drysheath man-page", "the page of drysheath itself"),
            ("drysheath man-page lint", "the page of a command"),
        ],
    ),
];

/// Adds the examples to the help of each command.
pub(crate) fn with_examples(command: Command) -> Command {
    command.mut_subcommands(|sub| {
        let Some((_, examples)) = EXAMPLES.iter().find(|(name, _)| *name == sub.get_name()) else {
            return sub;
        };
        let mut help = String::from("Examples:");
        for (line, purpose) in *examples {
            let _ = write!(help, "\n  {line}\n      {purpose}");
        }
        if let Some(after) = sub.get_after_help() {
            let _ = write!(help, "\n\n{after}");
        }
        sub.after_help(help)
    })
}

#[cfg(test)]
#[allow(clippy::unwrap_used, clippy::panic, reason = "a test fails by a panic")]
mod tests {
    use super::*;
    use crate::command;

    /// Splits a command line into words at blanks, except between double quotes.
    fn words(line: &str) -> Vec<String> {
        let pieces = line.split('"').enumerate();
        let words = pieces.flat_map(|(at, piece)| match at % 2 {
            0 => piece.split_whitespace().map(str::to_owned).collect(),
            _ => vec![piece.to_owned()],
        });
        words.collect()
    }

    #[test]
    fn every_command_has_examples_that_are_its_own_and_parse() {
        for sub in command().get_subcommands() {
            let examples = EXAMPLES.iter().find(|(name, _)| *name == sub.get_name());
            let (name, examples) = examples.unwrap_or_else(|| panic!("{} has no example", sub.get_name()));
            for (line, _) in *examples {
                let parsed = command().try_get_matches_from(words(line)).unwrap();
                assert_eq!(parsed.subcommand_name(), Some(*name), "{line}");
            }
        }
    }

    #[test]
    fn no_example_is_of_a_command_that_is_not_there() {
        let whole = command();
        for (name, _) in EXAMPLES {
            assert!(whole.find_subcommand(name).is_some(), "{name}");
        }
    }
}
