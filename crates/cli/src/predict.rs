use std::io;
use std::path::PathBuf;

use drysheath_disk::{create_folder, replace_all};
use drysheath_office::{Date, UnitPreferences};
use drysheath_report::{Explanation, FitRecord, Listing, OfficeRecord, OfficeView, Report, how, tables};
use drysheath_rules::sizing::{Sizing, SizingAnswer, wanted_loss};
use drysheath_sheets::{ComparedState, pictures};
use drysheath_workspace::{Analysis, Content, LoweredFile, Workspace};

use crate::arguments::{PredictArguments, PredictOutput, expecting_no_alarm};
use crate::offices::{NamedFiles, SharedTexts};
use crate::outcome::Outcome;
use crate::portable::portable;
use crate::sheets::stems;
use crate::standard_streams::{print, print_error};
use crate::today::{date, today};

/// Computes the offices that the arguments name and prints the predictions.
pub(crate) fn run(arguments: &PredictArguments) -> io::Result<Outcome> {
    let mut troubles = Vec::new();
    let today = today(arguments.today);
    let mut named = NamedFiles::find(&arguments.offices, arguments.allow_empty, today, &mut troubles);
    let when = arguments.when.as_deref().map(expecting_no_alarm);
    if let Some(when) = &when {
        append(&mut named.workspace, &named.paths, when);
    }
    let asked = Request {
        arguments,
        named: &named,
        when: when.as_deref(),
        today,
    };
    let was_shown = match (&arguments.how, &arguments.size, arguments.fit, arguments.output) {
        (Some(name), ..) => explain(name, &asked, &mut troubles),
        (None, Some(name), ..) => size(name, &asked, &mut troubles),
        (None, None, Some(day), _) => fit(date(day), &asked, &mut troubles),
        (None, None, None, PredictOutput::Text) => text(&asked, &mut troubles),
        (None, None, None, PredictOutput::Json) => json(&asked, &mut troubles),
    };
    for trouble in &troubles {
        print_error(trouble);
    }
    was_shown?;
    Ok(if troubles.is_empty() {
        Outcome::Clean
    } else {
        Outcome::Failed
    })
}

/// Requested offices and options.
struct Request<'r> {
    arguments: &'r PredictArguments,
    named: &'r NamedFiles,
    /// Statement appended to each office.
    when: Option<&'r str>,
    today: Date,
}

impl Request<'_> {
    /// Computes the offices on all cores, calls `made` for each, and passes its output to `take` in the order of the
    /// offices. `made` also gets the unique file stem of the office. Errors are reported in `troubles`.
    fn each<T: Send>(
        &self,
        troubles: &mut Vec<String>,
        made: impl Fn(&OfficeView<'_>, &Analysis, &str) -> T + Sync,
        mut take: impl FnMut(T) -> io::Result<()> + Send,
    ) -> io::Result<()> {
        let snapshot = self.named.workspace.snapshot();
        let stems = stems(&self.named.paths, &snapshot);
        let shared = SharedTexts::default();
        let made = |office: LoweredFile, at: usize| {
            let mut analysis = office.analyse();
            let wrong = self.when.map(|when| wrong_with(&analysis, when)).unwrap_or_default();
            if self.arguments.planned {
                analysis.plan();
            }
            let texts = shared.of(&analysis, &snapshot);
            let stem = stems.get(at).map(String::as_str).unwrap_or_default();
            (made(&OfficeView::of(&analysis, &texts), &analysis, stem), wrong)
        };
        let asked = (self.arguments.offices.as_slice(), self.arguments.allow_empty);
        self.named.each(asked, troubles, made, |(one, wrong), troubles| {
            troubles.extend(wrong);
            take(one)
        })
    }

    /// Record of an office with the requested state.
    fn record(&self, view: &OfficeView<'_>) -> OfficeRecord {
        let mut record = view.record();
        if self.when.is_some() {
            // Only the requested state, without an expectation.
            record.states.drain(..record.states.len().saturating_sub(1));
            record.states.iter_mut().for_each(|state| state.expected.clear());
        }
        record
    }

    /// Pictures of an office, if requested.
    fn pictures(&self, view: &OfficeView<'_>, stem: &str) -> Option<Pictures> {
        let folder = self.arguments.pictures.as_ref()?.join(stem);
        let state = self.when.and_then(|_| view.prediction.states.last()?.as_ref().ok());
        let when = view.office.whens.last().map(|when| view.events(when));
        let beside = when.as_deref().zip(state);
        let beside = beside.map(|(when, state)| ComparedState { when, air: &state.air });
        Some(Pictures {
            folder,
            all: pictures(*view, beside, self.today),
        })
    }
}

/// Prints the tables of the offices.
fn text(asked: &Request<'_>, troubles: &mut Vec<String>) -> io::Result<()> {
    let mut unwritten = Vec::new();
    let mut is_first = true;
    let made = |view: &OfficeView<'_>, analysis: &Analysis, stem: &str| {
        let tables = tables(&asked.record(view), &UnitPreferences::of(&analysis.office));
        (tables, asked.pictures(view, stem))
    };
    let was_shown = asked.each(troubles, made, |(tables, pictures)| {
        draw(pictures, &mut unwritten);
        let blank = if is_first { "" } else { "\n" };
        is_first = false;
        print(format!("{blank}{tables}").as_bytes())
    });
    troubles.append(&mut unwritten);
    was_shown
}

/// Prints the records of the offices, in one document.
fn json(asked: &Request<'_>, troubles: &mut Vec<String>) -> io::Result<()> {
    let mut unwritten = Vec::new();
    let mut document = Document::default();
    let made =
        |view: &OfficeView<'_>, _: &Analysis, stem: &str| (asked.record(view).item(), asked.pictures(view, stem));
    asked.each(troubles, made, |(item, pictures)| {
        draw(pictures, &mut unwritten);
        document.print(&item)
    })?;
    troubles.append(&mut unwritten);
    document.end()
}

/// A JSON document that is printed office by office.
struct Document {
    listing: Listing,
    /// Number of offices printed.
    offices: usize,
}

impl Default for Document {
    fn default() -> Self {
        Self {
            listing: Report::listing(),
            offices: 0,
        }
    }
}

impl Document {
    fn print(&mut self, item: &str) -> io::Result<()> {
        let start = if self.offices == 0 { self.listing.start() } else { "" };
        let before = self.listing.before_item(self.offices);
        self.offices += 1;
        print(format!("{start}{before}{item}").as_bytes())
    }

    fn end(&self) -> io::Result<()> {
        let start = if self.offices == 0 { self.listing.start() } else { "" };
        print(format!("{start}{}", self.listing.end(self.offices)).as_bytes())
    }
}

/// Prints how the figures of a name are computed, for each office that has it.
fn explain(name: &str, asked: &Request<'_>, troubles: &mut Vec<String>) -> io::Result<()> {
    let mut is_known = false;
    let mut unclear = Vec::new();
    let made =
        |view: &OfficeView<'_>, analysis: &Analysis, _: &str| how(view, &UnitPreferences::of(&analysis.office), name);
    asked.each(troubles, made, |told| {
        is_known |= !matches!(told, Explanation::Unknown);
        match told {
            Explanation::Told(how) => print(how.as_bytes()),
            Explanation::Nothing(why) => print(format!("{name}: {why}\n").as_bytes()),
            Explanation::Several(names) => {
                let names: Vec<String> = names.iter().map(|name| format!("`{name}`")).collect();
                unclear.push(format!("`{name}` is several places, say which: {}", names.join(", ")));
                Ok(())
            }
            Explanation::Unknown => Ok(()),
        }
    })?;
    troubles.append(&mut unclear);
    if !is_known {
        troubles.push(format!("nothing is named `{name}` there"));
    }
    Ok(())
}

/// Prints the suitable size for a name, for each office that has it.
fn size(name: &str, asked: &Request<'_>, troubles: &mut Vec<String>) -> io::Result<()> {
    let snapshot = asked.named.workspace.snapshot();
    let loss = match asked.arguments.loss.as_deref().map(wanted_loss).transpose() {
        Ok(loss) => loss,
        Err(why) => {
            troubles.push(format!("--loss: {why}"));
            return Ok(());
        }
    };
    let answers = OfficeQuery {
        find: |view: &OfficeView<'_>, analysis: &Analysis| match view.size(
            &snapshot.parts_within_reach(analysis),
            name,
            loss,
        ) {
            SizingAnswer::Told(sizing) => Some(Ok(sizing)),
            SizingAnswer::Nothing(why) => Some(Err(why)),
            SizingAnswer::Unknown => None,
        },
        text: |view: &OfficeView<'_>, sized: &Result<Sizing, String>| match sized {
            Ok(sizing) => view.sizing_text(sizing),
            Err(why) => format!("{name}: {why}\n"),
        },
        enter: |view: &OfficeView<'_>, sized: Result<Sizing, String>, record: &mut OfficeRecord| {
            record.sizing = sized.ok().map(|sizing| view.sizing_record(&sizing));
        },
    };
    let is_known = answers.print(asked, troubles)?;
    troubles.extend((!is_known).then(|| format!("nothing is named `{name}` there")));
    Ok(())
}

/// Prints the fit of the declared figures to the readings of a day, for each office with readings of that day.
fn fit(day: Date, asked: &Request<'_>, troubles: &mut Vec<String>) -> io::Result<()> {
    let answers = OfficeQuery {
        find: |view: &OfficeView<'_>, _: &Analysis| view.fit(day),
        text: |view: &OfficeView<'_>, fit: &FitRecord| view.fit_text(fit),
        enter: |_: &OfficeView<'_>, fit: FitRecord, record: &mut OfficeRecord| record.fit = Some(fit),
    };
    let is_known = answers.print(asked, troubles)?;
    troubles.extend((!is_known).then(|| format!("no pressure, flow or gauge reading there is of {day}")));
    Ok(())
}

/// A query to the offices: how to find the answer, format it, and add it to the record.
struct OfficeQuery<Find, Text, Enter> {
    /// Returns `None` if the office has no answer.
    find: Find,
    text: Text,
    enter: Enter,
}

impl<Answer, Find, Text, Enter> OfficeQuery<Find, Text, Enter>
where
    Find: Fn(&OfficeView<'_>, &Analysis) -> Option<Answer> + Sync,
    Text: Fn(&OfficeView<'_>, &Answer) -> String + Sync,
    Enter: Fn(&OfficeView<'_>, Answer, &mut OfficeRecord) + Sync,
{
    /// Prints the answers of all offices: as text separated by blank lines, or in one document with their records.
    /// Returns whether any office has an answer.
    fn print(&self, asked: &Request<'_>, troubles: &mut Vec<String>) -> io::Result<bool> {
        let mut is_known = false;
        match asked.arguments.output {
            PredictOutput::Text => {
                let made = |view: &OfficeView<'_>, analysis: &Analysis, _: &str| {
                    let answer = (self.find)(view, analysis)?;
                    Some((self.text)(view, &answer))
                };
                asked.each(troubles, made, |text| {
                    let Some(text) = text else { return Ok(()) };
                    let blank = if is_known { "\n" } else { "" };
                    is_known = true;
                    print(format!("{blank}{text}").as_bytes())
                })?;
            }
            PredictOutput::Json => {
                let mut document = Document::default();
                let made = |view: &OfficeView<'_>, analysis: &Analysis, _: &str| {
                    let mut record = asked.record(view);
                    let answer = (self.find)(view, analysis);
                    let knows = answer.is_some();
                    if let Some(answer) = answer {
                        (self.enter)(view, answer, &mut record);
                    }
                    (knows, record.item())
                };
                asked.each(troubles, made, |(knows, item)| {
                    is_known |= knows;
                    document.print(&item)
                })?;
                document.end()?;
            }
        }
        Ok(is_known)
    }
}

/// Pictures of an office by name, and the folder to write them to.
struct Pictures {
    folder: PathBuf,
    all: Vec<(String, String)>,
}

/// Writes pictures. Errors are reported in `troubles`.
fn draw(pictures: Option<Pictures>, troubles: &mut Vec<String>) {
    let Some(Pictures { folder, all }) = pictures else {
        return;
    };
    if all.is_empty() {
        return;
    }
    let path = |name: &str| folder.join(format!("{}.svg", portable(name)));
    let paths: Vec<_> = all.iter().map(|(name, _)| path(name)).collect();
    let files = paths.iter().zip(&all);
    let files: Vec<_> = files.map(|(path, (_, svg))| (path.as_path(), svg.as_bytes())).collect();
    if let Err(error) = create_folder(&folder) {
        troubles.push(format!("{}: {error}", folder.display()));
        return;
    }
    for (path, outcome) in paths.iter().zip(replace_all(&files)) {
        match outcome {
            Ok(lost) => troubles.extend(lost.into_iter().map(|lost| format!("{}: {lost}", path.display()))),
            Err(error) => troubles.push(format!("{}: {error}", path.display())),
        }
    }
}

/// Appends a statement to the text of each file, in memory only.
fn append(workspace: &mut Workspace, paths: &[PathBuf], statement: &str) {
    let snapshot = workspace.snapshot();
    for path in paths {
        let Ok(Some(reading)) = snapshot.read(snapshot.file(path)) else {
            continue;
        };
        if reading.problem.is_none() && reading.office.itself.is_some() {
            let content = Content {
                text: format!("{}\n{statement}\n", reading.text).into(),
                problem: None,
            };
            workspace.set_buffer(path, None, content);
        }
    }
}

/// Problems in the statement appended to an office's text.
fn wrong_with(analysis: &Analysis, statement: &str) -> Vec<String> {
    let start = analysis.text.len().saturating_sub(statement.len() + 1);
    let problems = analysis.office.problems.iter();
    let own = problems.filter(|problem| problem.range.start as usize >= start);
    own.map(|problem| match &problem.help {
        Some(help) => format!("{}: {}; {help}", analysis.path.display(), problem.message),
        None => format!("{}: {}", analysis.path.display(), problem.message),
    })
    .collect()
}
