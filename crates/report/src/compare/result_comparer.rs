//! Compares results of two states: new, gone, and unchanged.

use drysheath_office::ThingId;
use drysheath_rules::Finding;
use drysheath_text::FileId;
use rustc_hash::FxHashMap;

use super::record::{ResultRecord, ResultsRecord};
use crate::Files;
use crate::results::Fingerprints;

/// Context for the comparison of the results of one file, or of the rules across files.
pub(super) struct ResultComparer<'v> {
    pub files: &'v dyn Files,
    /// A file of the base that has moved, and its path in the head.
    pub moved: Option<(FileId, &'v str)>,
    /// Whether a thing of the base corresponds to a thing of the head.
    pub is_same_thing: &'v dyn Fn(ThingId, ThingId) -> bool,
    /// Renamed things: old and new name.
    pub renamed: &'v [(String, String)],
}

/// The files, with one of them under its new path.
struct MovedPath<'v> {
    files: &'v dyn Files,
    moved: Option<(FileId, &'v str)>,
}

impl Files for MovedPath<'_> {
    fn path(&self, file: FileId) -> &str {
        match self.moved {
            Some((moved, path)) if moved == file => path,
            _ => self.files.path(file),
        }
    }

    fn text(&self, file: FileId) -> &str {
        self.files.text(file)
    }
}

impl ResultComparer<'_> {
    /// Compares the results. Accepted results count as absent.
    pub fn of(&self, base: &[Finding], head: &[Finding]) -> ResultsRecord {
        let open = |findings: &'_ [Finding]| -> Vec<usize> {
            let all = findings.iter().enumerate();
            all.filter(|(_, finding)| finding.accepted.is_none())
                .map(|(at, _)| at)
                .collect()
        };
        let (before, after) = (open(base), open(head));
        let moved = MovedPath {
            files: self.files,
            moved: self.moved,
        };
        let print = |prints: &mut Fingerprints, finding: &Finding, files: &dyn Files| {
            let file = finding.place.file;
            prints.of(finding, files.path(file), files.text(file)).own
        };
        let mut prints = Fingerprints::default();
        let mut known: FxHashMap<String, Vec<&Finding>> = FxHashMap::default();
        for finding in before.iter().filter_map(|at| base.get(*at)) {
            known
                .entry(print(&mut prints, finding, &moved))
                .or_default()
                .push(finding);
        }
        let mut prints = Fingerprints::default();
        let (mut pairs, mut fresh) = (Vec::new(), Vec::new());
        for finding in after.iter().filter_map(|at| head.get(*at)) {
            match known
                .get_mut(&print(&mut prints, finding, self.files))
                .and_then(Vec::pop)
            {
                Some(was) => pairs.push((was, finding)),
                None => fresh.push(finding),
            }
        }
        let mut left: Vec<&Finding> = known.into_values().flatten().collect();
        left.sort_by(|one, other| order(one).cmp(&order(other)));
        let mut record = ResultsRecord::default();
        for finding in fresh {
            // The line was edited, but the result is about the same thing.
            match left.iter().position(|was| self.is_about_the_same(was, finding)) {
                Some(at) => pairs.push((left.remove(at), finding)),
                None => record.new.push(self.record(finding)),
            }
        }
        pairs.sort_by(|(_, one), (_, other)| order(one).cmp(&order(other)));
        for (was, finding) in pairs {
            match self.difference(was, finding) {
                Some(different) => record.different.push(different),
                None => record.unchanged += 1,
            }
        }
        for was in left {
            let accepted = head
                .iter()
                .filter(|finding| self.is_about_the_same(was, finding))
                .find_map(|finding| finding.accepted.as_ref());
            record.gone.push(ResultRecord {
                accepted: accepted.map(|accepted| format!("{} (until {})", accepted.because, accepted.until)),
                ..self.record(was)
            });
        }
        record
    }

    fn is_about_the_same(&self, was: &Finding, now: &Finding) -> bool {
        let things = was.on.zip(now.on);
        was.rule.id == now.rule.id && things.is_some_and(|(was, now)| (self.is_same_thing)(was, now))
    }

    fn difference(&self, was: &Finding, now: &Finding) -> Option<ResultRecord> {
        let mut message = was.message.clone();
        for (old, new) in self.renamed {
            message = message.replace(&format!("`{old}`"), &format!("`{new}`"));
        }
        let (is_other_level, is_other_message) = (was.level != now.level, message != now.message);
        (is_other_level || is_other_message).then(|| ResultRecord {
            level_before: is_other_level.then(|| was.level.word().to_owned()),
            message_before: is_other_message.then(|| was.message.clone()),
            ..self.record(now)
        })
    }

    fn record(&self, finding: &Finding) -> ResultRecord {
        let text = self.files.text(finding.place.file);
        let before = text.get(..finding.place.range.start as usize).unwrap_or_default();
        ResultRecord {
            rule: finding.rule.name().to_owned(),
            level: finding.level.word().to_owned(),
            message: finding.message.clone(),
            help: finding.help.clone(),
            file: self.files.path(finding.place.file).to_owned(),
            line: before.matches('\n').count() as u32 + 1,
            level_before: None,
            message_before: None,
            accepted: None,
        }
    }
}

fn order(finding: &Finding) -> (drysheath_text::Place, &str, &str) {
    (finding.place, finding.rule.name(), &finding.message)
}
