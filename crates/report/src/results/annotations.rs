//! The results as workflow commands of GitHub Actions, which a host without code scanning shows at the lines. Source:
//! "Workflow commands for GitHub Actions", docs.github.com: `::error file=…,line=…,endLine=…,title=…::message`; in data
//! `%`, CR and LF are escaped, in properties `:` and `,` as well.

use std::fmt::Write;

use drysheath_rules::Level;
use drysheath_text::safe::line;

use super::{ReportedResult, Results};
use crate::plural::several;

/// Number of annotations of each level that are shown for a step; the host silently drops the rest. From memory and a
/// thread of the host's forum (github.com/orgs/community/discussions/26680).
const MOST_OF_A_LEVEL: usize = 10;

/// A command for each fresh result, up to the limit of its level, and a last one with the number of those left out.
pub fn annotations(results: &Results<'_>) -> String {
    let mut out = String::new();
    let mut left_out = 0;
    for level in [Level::Error, Level::Warning, Level::Note] {
        let all: Vec<ReportedResult<'_>> = results.fresh().filter(|told| told.finding.level == level).collect();
        // One notice is reserved for that number.
        let most = match level {
            Level::Note => MOST_OF_A_LEVEL - 1,
            Level::Error | Level::Warning => MOST_OF_A_LEVEL,
        };
        for told in all.iter().take(most) {
            command(&mut out, results, told);
        }
        left_out += all.len().saturating_sub(most);
    }
    if left_out > 0 {
        let told = format!("{} more: see the log of this step", several(left_out, "result"));
        let _ = writeln!(out, "::notice title=drysheath::{}", data(&told));
    }
    out
}

fn command(out: &mut String, results: &Results<'_>, told: &ReportedResult<'_>) {
    let finding = told.finding;
    let word = match finding.level {
        Level::Error => "error",
        Level::Warning => "warning",
        Level::Note => "notice",
    };
    let region = results.region(finding.place);
    let help = finding.help.as_ref().map_or(String::new(), |help| format!("\n{help}"));
    let _ = writeln!(
        out,
        "::{word} file={},line={},endLine={},title={}::{}",
        property(results.path(finding.place.file)),
        region.start_line,
        region.end_line,
        property(finding.rule.name()),
        data(&format!("{}{help}", finding.message))
    );
}

/// Escapes the message of a command.
fn data(text: &str) -> String {
    let lines: Vec<String> = text.split('\n').map(|text| line(text).replace('%', "%25")).collect();
    lines.join("%0A")
}

/// Escapes a property of a command.
fn property(text: &str) -> String {
    data(text).replace(':', "%3A").replace(',', "%2C")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nothing_in_a_result_ends_its_command() {
        assert_eq!(data("50 %\nnext\r::error::x"), "50 %25%0Anext\u{240d}::error::x");
        assert_eq!(property("a:b,c"), "a%3Ab%2Cc");
    }
}
