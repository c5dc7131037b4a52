//! The cached entry of a file and its conversion.

use std::sync::Arc;

use drysheath_office::{Date, LinkMedium, MonitorLink, Summary};
use drysheath_report::KnownFile;
use drysheath_rules::{Accepted, Coverage, Finding, Level, RULES};
use drysheath_syntax::{Fix, Related};
use drysheath_text::{Edit, FileId, Place, TextRange};
use serde::{Deserialize, Serialize};

/// A date: year, month and day of the month.
pub(super) type Day = (u16, u8, u8);

pub(super) fn day(date: Date) -> Day {
    (date.year, date.month, date.day)
}

/// What a result was computed from, without the bytes.
#[derive(Debug, Deserialize, Serialize)]
pub(super) struct Inputs<'c> {
    /// Digest of all inputs.
    pub digest: [u8; 32],
    /// Days on which the result is the same.
    pub days: Days,
    /// Files looked up, by their names in `use` statements.
    #[serde(borrow)]
    pub uses: Vec<&'c str>,
}

/// Days on which the results of a file are the same.
#[derive(Clone, Copy, Debug, Deserialize, PartialEq, Serialize)]
pub(super) enum Days {
    /// That day only.
    On(Day),
    /// That day and all later ones.
    From(Day),
}

impl Days {
    pub fn have(self, day: Day) -> bool {
        match self {
            Self::On(on) => on == day,
            Self::From(from) => from <= day,
        }
    }
}

/// Cached entry of a file. Its places refer to files by index: 0 is the file itself, followed by the files it looked
/// up, in that order.
#[derive(Debug, Deserialize, Serialize)]
pub(super) struct Outcome<'c> {
    #[serde(borrow)]
    known: CachedFile<'c>,
    /// Results of the file, if it was checked.
    #[serde(borrow)]
    judged: Option<CachedJudgement<'c>>,
}

#[derive(Debug, Deserialize, Serialize)]
struct CachedFile<'c> {
    #[serde(borrow)]
    summary: CachedSummary<'c>,
    has_office: bool,
    former_name: Option<&'c str>,
    unsure: bool,
    named: Vec<&'c str>,
}

#[derive(Debug, Deserialize, Serialize)]
struct CachedJudgement<'c> {
    #[serde(borrow)]
    findings: Vec<CachedFinding<'c>>,
    /// The counts that are not zero, each with its index.
    coverage: Vec<(u16, u32)>,
}

type CachedPlace = (u16, u32, u32);

/// A finding as outputs show it. Information that only acceptances and precedence need, such as the thing it is on, is
/// not stored: both are applied before.
#[derive(Debug, Deserialize, Serialize)]
struct CachedFinding<'c> {
    rule: u16,
    level: u8,
    place: CachedPlace,
    message: &'c str,
    help: Option<&'c str>,
    related: Vec<(CachedPlace, &'c str)>,
    #[serde(borrow)]
    fix: Option<CachedFix<'c>>,
    accepted: Option<(&'c str, Day)>,
}

#[derive(Debug, Deserialize, Serialize)]
struct CachedFix<'c> {
    title: &'c str,
    /// Start and end of the replaced text, and the replacement.
    edits: Vec<(u32, u32, &'c str)>,
}

#[derive(Debug, Deserialize, Serialize)]
struct CachedSummary<'c> {
    site: Option<(&'c str, CachedPlace)>,
    /// Whether the address is dialled, the address, the monitor's number and name, and the place.
    #[serde(borrow)]
    links: Vec<(bool, &'c str, u32, &'c str, CachedPlace)>,
    parts: Vec<(&'c str, CachedPlace)>,
    taken: Vec<&'c str>,
    office: &'c str,
    office_place: CachedPlace,
    unsure: bool,
}

/// Levels by index in the cache.
const LEVELS: [Level; 3] = [Level::Note, Level::Warning, Level::Error];

/// Files by index in the cache.
pub(super) type FileOf<'f> = &'f [FileId];

fn cached_place(place: Place, files: &[FileId]) -> Option<CachedPlace> {
    let file = files.iter().position(|file| *file == place.file)?;
    Some((u16::try_from(file).ok()?, place.range.start, place.range.end))
}

fn place((file, start, end): CachedPlace, files: FileOf<'_>) -> Option<Place> {
    let file = *files.get(usize::from(file))?;
    let range = TextRange { start, end };
    Some(Place { file, range })
}

impl<'c> Outcome<'c> {
    /// Cached entry of a file whose places are in `files`. `None` if it cannot be cached.
    pub fn of(known: &'c KnownFile, judged: Option<(&'c [Finding], &Coverage)>, files: &[FileId]) -> Option<Self> {
        let judged = match judged {
            Some((findings, coverage)) => Some(CachedJudgement {
                findings: findings
                    .iter()
                    .map(|one| CachedFinding::of(one, files))
                    .collect::<Option<_>>()?,
                coverage: (0..).zip(coverage.counts()).filter(|(_, count)| *count > 0).collect(),
            }),
            None => None,
        };
        let known = CachedFile {
            summary: CachedSummary::of(&known.summary, files)?,
            has_office: known.has_office,
            former_name: known.former_name.as_deref(),
            unsure: known.unsure,
            named: known.named.iter().map(|name| &**name).collect(),
        };
        Some(Self { known, judged })
    }

    /// Known facts about the file. `None` if the entry is inconsistent.
    pub fn known(&self, files: FileOf<'_>) -> Option<KnownFile> {
        Some(KnownFile {
            summary: Arc::new(self.known.summary.revived(files)?),
            has_office: self.known.has_office,
            former_name: self.known.former_name.map(Into::into),
            unsure: self.known.unsure,
            named: self.known.named.iter().map(|name| (*name).into()).collect(),
        })
    }

    /// Whether it contains results.
    pub fn is_judged(&self) -> bool {
        self.judged.is_some()
    }

    /// Results of the file. `None` if the file was not checked or the entry is inconsistent.
    pub fn judged(&self, files: FileOf<'_>) -> Option<(Vec<Finding>, Coverage)> {
        let judged = self.judged.as_ref()?;
        let findings = judged.findings.iter().map(|cached| cached.revived(files));
        let mut counts: Vec<u32> = Coverage::default().counts().collect();
        for (number, count) in &judged.coverage {
            *counts.get_mut(usize::from(*number))? = *count;
        }
        Some((findings.collect::<Option<_>>()?, Coverage::of_counts(counts)))
    }
}

impl<'c> CachedFinding<'c> {
    fn of(finding: &'c Finding, files: &[FileId]) -> Option<Self> {
        let rule = RULES.iter().position(|rule| rule.id == finding.rule.id)?;
        let related = finding.related.iter();
        let related = related.map(|related| Some((cached_place(related.place, files)?, related.label.as_str())));
        let edit = |edit: &'c Edit| (edit.range.start, edit.range.end, edit.replacement.as_str());
        let fix = finding.fix.as_ref();
        let accepted = finding.accepted.as_ref();
        Some(Self {
            rule: u16::try_from(rule).ok()?,
            level: u8::try_from(LEVELS.iter().position(|level| *level == finding.level)?).ok()?,
            place: cached_place(finding.place, files)?,
            message: &finding.message,
            help: finding.help.as_deref(),
            related: related.collect::<Option<_>>()?,
            fix: fix.map(|fix| CachedFix {
                title: &fix.title,
                edits: fix.edits.iter().map(edit).collect(),
            }),
            accepted: accepted.map(|accepted| (&*accepted.because, day(accepted.until))),
        })
    }

    fn revived(&self, files: FileOf<'_>) -> Option<Finding> {
        let rule = RULES.get(usize::from(self.rule))?;
        let level = *LEVELS.get(usize::from(self.level))?;
        let related = self.related.iter().map(|(at, label)| {
            let label = Some(*label).filter(|label| !label.is_empty())?;
            Some(Related::new(place(*at, files)?, label))
        });
        let edit = |(start, end, replacement): &(u32, u32, &str)| Edit {
            range: TextRange {
                start: *start,
                end: *end,
            },
            replacement: (*replacement).to_owned(),
        };
        let mut finding = Finding::new(rule, level, place(self.place, files)?, self.message.to_owned());
        finding.help = self.help.map(str::to_owned);
        finding.related = related.collect::<Option<_>>()?;
        finding.fix = self.fix.as_ref().map(|fix| Fix {
            title: fix.title.to_owned(),
            edits: fix.edits.iter().map(edit).collect(),
        });
        finding.accepted = self.accepted.map(|(because, (year, month, day))| {
            Arc::new(Accepted {
                because: because.into(),
                until: Date { year, month, day },
            })
        });
        Some(finding)
    }
}

impl<'c> CachedSummary<'c> {
    fn of(summary: &'c Summary, files: &[FileId]) -> Option<Self> {
        let place = |place| cached_place(place, files);
        // Only acceptances of rules across files are in it, which are rare.
        if !summary.acceptances.is_empty() {
            return None;
        }
        let link = |link: &'c MonitorLink| {
            let is_dialled = match link.over {
                LinkMedium::Dialled => true,
                LinkMedium::Lan => false,
            };
            let (thing, monitor) = (link.thing.into(), &*link.monitor);
            Some((is_dialled, &*link.to, thing, monitor, place(link.place)?))
        };
        let parts = summary.parts.iter();
        Some(Self {
            site: match &summary.site {
                Some((site, at)) => Some((&**site, place(*at)?)),
                None => None,
            },
            links: summary.links.iter().map(link).collect::<Option<_>>()?,
            parts: parts
                .map(|(name, at)| Some((&**name, place(*at)?)))
                .collect::<Option<_>>()?,
            taken: summary.taken.iter().map(|name| &**name).collect(),
            office: &summary.office,
            office_place: place(summary.office_place)?,
            unsure: summary.unsure,
        })
    }

    fn revived(&self, files: FileOf<'_>) -> Option<Summary> {
        let place = |at: CachedPlace| place(at, files);
        let link = |(is_dialled, to, thing, monitor, at): &(bool, &str, u32, &str, CachedPlace)| {
            Some(MonitorLink {
                over: if *is_dialled {
                    LinkMedium::Dialled
                } else {
                    LinkMedium::Lan
                },
                to: (*to).into(),
                thing: (*thing as usize).into(),
                monitor: (*monitor).into(),
                place: place(*at)?,
            })
        };
        let parts = self.parts.iter();
        Some(Summary {
            file: *files.first()?,
            site: match self.site {
                Some((site, at)) => Some((site.into(), place(at)?)),
                None => None,
            },
            links: self.links.iter().map(link).collect::<Option<_>>()?,
            parts: parts
                .map(|(name, at)| Some(((*name).into(), place(*at)?)))
                .collect::<Option<_>>()?,
            taken: self.taken.iter().map(|name| (*name).into()).collect(),
            acceptances: Vec::new(),
            office: self.office.into(),
            office_place: place(self.office_place)?,
            unsure: self.unsure,
        })
    }
}
