use std::io::{self, BufWriter, IsTerminal, Write};
use std::path::{Path, PathBuf};

use drysheath_disk::{Found, read, read_from, walk};
use drysheath_syntax::formatted;
use similar::TextDiff;

use crate::arguments::FormatArguments;
use crate::outcome::Outcome;

/// A file whose layout changes.
struct Change {
    path: PathBuf,
    before: String,
    after: String,
}

#[derive(Default)]
struct Tally {
    changes: Vec<Change>,
    troubles: Vec<String>,
}

/// Lays out what the arguments name.
pub(crate) fn run(arguments: &FormatArguments) -> io::Result<Outcome> {
    let (streams, paths): (Vec<_>, Vec<_>) = arguments.paths.iter().cloned().partition(|path| path == Path::new("-"));
    let mut tally = Tally::default();
    let mut out = BufWriter::new(io::stdout().lock());
    if !streams.is_empty() {
        let text = read_from(io::stdin().lock(), 0)?;
        match text.problem {
            Some(problem) => tally.troubles.push(format!("standard input: {}", problem.message)),
            None if arguments.check || arguments.diff => tally.consider(Path::new("-"), &text.text),
            None => out.write_all(formatted(&text.text).as_bytes())?,
        }
    }
    walk(
        &paths,
        None,
        Tally::default,
        |tally, found| match found {
            Found::Trouble(trouble) => tally.troubles.push(trouble),
            Found::File { path, .. } => match read(path) {
                Err(error) => tally.troubles.push(format!("{}: {error}", path.display())),
                Ok(text) => match text.problem {
                    Some(problem) => tally.troubles.push(format!("{}: {}", path.display(), problem.message)),
                    None => tally.consider(path, &text.text),
                },
            },
        },
        |worker| {
            tally.changes.extend(worker.changes);
            tally.troubles.extend(worker.troubles);
        },
    );
    tally.changes.sort_by(|one, other| one.path.cmp(&other.path));
    tally.apply(arguments, &mut out)?;
    out.flush()?;
    tally.troubles.sort();
    for trouble in &tally.troubles {
        eprintln!("drysheath: left as it is: {trouble}");
    }
    Ok(if !tally.troubles.is_empty() {
        Outcome::Failed
    } else if (arguments.check || arguments.diff) && !tally.changes.is_empty() {
        Outcome::Results
    } else {
        Outcome::Clean
    })
}

impl Tally {
    fn consider(&mut self, path: &Path, before: &str) {
        let after = formatted(before);
        if after != before {
            self.changes.push(Change {
                path: path.to_owned(),
                before: before.to_owned(),
                after,
            });
        }
    }

    fn apply(&mut self, arguments: &FormatArguments, out: &mut dyn Write) -> io::Result<()> {
        for change in &self.changes {
            let path = change.path.display();
            if arguments.diff {
                let name = path.to_string();
                write!(
                    out,
                    "{}",
                    TextDiff::from_lines(&change.before, &change.after)
                        .unified_diff()
                        .header(&name, &name)
                )?;
            } else if arguments.check {
                writeln!(out, "{path}")?;
            } else {
                match replace(&change.path, &change.after) {
                    Ok(()) if io::stdout().is_terminal() => writeln!(out, "{path}")?,
                    Ok(()) => {}
                    Err(error) => self.troubles.push(format!("{path}: {error}")),
                }
            }
        }
        Ok(())
    }
}

/// Puts `text` in the place of a file in one step, so that a reader sees the whole old text or the whole new one.
fn replace(path: &Path, text: &str) -> io::Result<()> {
    // Behind a link, the file itself changes and the link stays.
    let path = path.canonicalize()?;
    let folder = path.parent().unwrap_or(Path::new("."));
    let mut file = tempfile::NamedTempFile::new_in(folder)?;
    file.write_all(text.as_bytes())?;
    file.as_file().set_permissions(path.metadata()?.permissions())?;
    file.as_file().sync_all()?;
    file.persist(&path)?;
    Ok(())
}
