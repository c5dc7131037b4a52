//! Three-way merge of two versions of a file and their common base, statement by statement.
//!
//! The order of statements has no meaning, so additions, changes and deletions of either side can be merged wherever
//! they are. A conflict is a statement that both sides have changed in the same lines, or that one side has changed and
//! the other deleted, or a thing that both have added and describe differently. Whether the merged office is correct is
//! checked by the linter.
//!
//! The result has the order and the layout of the first side. What only the second side has is inserted after the
//! statement that it follows there.

mod chunks;
mod identity;
mod pairing;

use std::borrow::Cow;
use std::collections::HashMap;

use diffy::MergeOptions;

use crate::lexer::BYTE_ORDER_MARK;
use crate::{LARGEST_TEXT, parse};
use chunks::{Chunk, chunks};
use pairing::paired;

/// Result of a merge.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Merged {
    /// The merged text, with both versions of each conflict between markers.
    pub text: Vec<u8>,
    /// The conflicts, in order.
    pub conflicts: Vec<Conflict>,
    /// Whether the texts were merged by lines because one of them could not be parsed.
    pub by_lines: bool,
}

/// A conflict that the user must resolve.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Conflict {
    /// Line of its first marker in the merged text, counted from 1.
    pub line: usize,
    /// First words of the statement. `None` for a merge by lines.
    pub statement: Option<String>,
    /// How the two sides disagree.
    pub conflict_kind: ConflictKind,
}

/// How two sides disagree about a statement.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ConflictKind {
    /// Both sides have changed it.
    BothChanged,
    /// The first side has deleted it, the second changed it.
    DeletedAndChanged,
    /// The first side has changed it, the second deleted it.
    ChangedAndDeleted,
    /// Both sides have added it, with different contents.
    BothAdded,
}

/// Merges `ours` and `theirs`, which both derive from `base`. Conflict markers have `marker` characters. Bytes that are
/// not UTF-8 are kept.
pub fn merge(base: &[u8], ours: &[u8], theirs: &[u8], marker: usize) -> Merged {
    let clean = |text: &[u8]| Merged {
        text: text.to_owned(),
        conflicts: Vec::new(),
        by_lines: false,
    };
    if ours == theirs || theirs == base {
        return clean(ours);
    }
    if ours == base {
        return clean(theirs);
    }
    by_statements(base, ours, theirs, marker).unwrap_or_else(|| by_lines(base, ours, theirs, marker))
}

/// Merges by statements. `None` if a text cannot be parsed.
fn by_statements(base: &[u8], ours: &[u8], theirs: &[u8], marker: usize) -> Option<Merged> {
    let ending = line_ending(base, ours, theirs);
    let read = |bytes| {
        let text = str::from_utf8(bytes).ok().filter(|text| text.len() <= LARGEST_TEXT)?;
        let text = text.strip_prefix(BYTE_ORDER_MARK).unwrap_or(text);
        // If the lines of each text end in the same way, line ends are normalized before the texts are compared.
        Some(match ending {
            Some(_) => Cow::Owned(text.replace("\r\n", "\n")),
            None => Cow::Borrowed(text),
        })
    };
    let (base, our_text, theirs) = (read(base)?, read(ours)?, read(theirs)?);
    let cut = |text| chunks(text, &parse(text));
    let (base, our, their) = (cut(&base)?, cut(&our_text)?, cut(&theirs)?);
    let mut merge = Merger::new(&our, marker, our_text.contains("\r\n"));
    merge.take_over(&base, &their);
    let mut merged = merge.written(ours.starts_with(BYTE_ORDER_MARK.to_string().as_bytes()));
    if ending == Some("\r\n") {
        merged.text = String::from_utf8(merged.text).ok()?.replace('\n', "\r\n").into_bytes();
    }
    Some(merged)
}

/// Line end of the result, if all lines of each text end in the same way: that of the side that has changed it. `None`
/// if a text mixes line ends.
fn line_ending(base: &[u8], ours: &[u8], theirs: &[u8]) -> Option<&'static str> {
    let of = |text: &[u8]| {
        let mut lines = text
            .split_inclusive(|byte| *byte == b'\n')
            .filter(|line| line.ends_with(b"\n"));
        match lines.clone().filter(|line| line.ends_with(b"\r\n")).count() {
            0 => Some("\n"),
            _ if lines.all(|line| line.ends_with(b"\r\n")) => Some("\r\n"),
            _ => None,
        }
    };
    let (base, ours, theirs) = (of(base)?, of(ours)?, of(theirs)?);
    Some(if ours == base { theirs } else { ours })
}

/// Merges any bytes by lines.
fn by_lines(base: &[u8], ours: &[u8], theirs: &[u8], marker: usize) -> Merged {
    let merged = MergeOptions::new()
        .set_conflict_marker_length(marker)
        .merge_bytes(base, ours, theirs);
    let (text, has_conflicts) = match merged {
        Ok(text) => (text, false),
        Err(text) => (text, true),
    };
    let opening = [vec![b'<'; marker], b" ".to_vec()].concat();
    let conflicts = text
        .split(|byte| *byte == b'\n')
        .enumerate()
        .filter(|(_, line)| has_conflicts && line.starts_with(&opening))
        .map(|(at, _)| Conflict {
            line: at + 1,
            statement: None,
            conflict_kind: ConflictKind::BothChanged,
        })
        .collect();
    Merged {
        text,
        conflicts,
        by_lines: true,
    }
}

/// A piece of the result.
#[derive(Clone)]
struct Slot {
    blank: String,
    text: String,
    /// Whether it is a comment that must not end up directly above a statement.
    stands_alone: bool,
    conflict: Option<(Option<String>, ConflictKind)>,
}

impl Slot {
    fn kept(chunk: &Chunk, text: &str) -> Self {
        Self {
            blank: chunk.blank.to_owned(),
            text: text.to_owned(),
            stands_alone: chunk.identity.is_none(),
            conflict: None,
        }
    }
}

struct Merger<'t, 'a> {
    ours: &'a [Chunk<'t>],
    marker: usize,
    ending: &'static str,
    /// What became of each of our pieces; `None` if the other side deleted it.
    slots: Vec<Option<Slot>>,
    /// Pieces inserted at the start, and then after each of our pieces.
    after: Vec<Vec<Slot>>,
}

impl<'t, 'a> Merger<'t, 'a> {
    fn new(ours: &'a [Chunk<'t>], marker: usize, has_carriage_returns: bool) -> Self {
        Self {
            ours,
            marker,
            ending: if has_carriage_returns { "\r\n" } else { "\n" },
            slots: ours.iter().map(|chunk| Some(Slot::kept(chunk, chunk.text))).collect(),
            after: vec![Vec::new(); ours.len() + 1],
        }
    }

    /// Merges the changes that the other side has made to `base`.
    fn take_over(&mut self, base: &[Chunk], theirs: &[Chunk]) {
        let to_ours = paired(base, self.ours);
        let to_theirs = paired(base, theirs);
        let mut is_added = vec![true; self.ours.len()];
        let mut from_theirs: Vec<Option<usize>> = vec![None; theirs.len()];
        for (at, (our, their)) in to_ours.iter().zip(&to_theirs).enumerate() {
            if let Some(added) = our.and_then(|our| is_added.get_mut(our)) {
                *added = false;
            }
            if let Some(from) = their.and_then(|their| from_theirs.get_mut(their)) {
                *from = Some(at);
            }
            if let (Some(was), Some(our), None) = (base.get(at), *our, *their) {
                self.deleted_by_them(was, our);
            }
        }
        let added = Added::new(self.ours, &is_added);
        // Our piece after which the next new piece of theirs is inserted.
        let mut anchor = None;
        for (their, from) in theirs.iter().zip(from_theirs) {
            let was = from.and_then(|at| base.get(at));
            let our = from.and_then(|at| to_ours.get(at).copied().flatten());
            let same = match (was, our) {
                (Some(was), Some(our)) => {
                    self.in_both(was, our, their);
                    Some(our)
                }
                (Some(was), None) if was.says_as(their) => continue,
                (Some(was), None) => {
                    let conflict =
                        self.conflict(their, Some(was.text), "", their.text, ConflictKind::DeletedAndChanged);
                    self.insert(&is_added, anchor, conflict);
                    continue;
                }
                (None, _) => added.same(their),
            };
            match same {
                Some(our) if was.is_none() => {
                    self.added_by_both(our, their);
                    anchor = Some(our);
                }
                Some(our) => anchor = Some(our),
                None => self.insert(&is_added, anchor, Slot::kept(their, their.text)),
            }
        }
    }

    fn deleted_by_them(&mut self, was: &Chunk, our: usize) {
        let Some(chunk) = self.ours.get(our) else { return };
        let now = (!was.says_as(chunk))
            .then(|| self.conflict(chunk, Some(was.text), chunk.text, "", ConflictKind::ChangedAndDeleted));
        self.set(our, now);
    }

    /// Merges a piece that all three texts have.
    fn in_both(&mut self, was: &Chunk, our: usize, their: &Chunk) {
        let Some(chunk) = self.ours.get(our) else { return };
        let only_layout = was.says_as(chunk);
        let now = if chunk.says_as(their) {
            // If one side has only changed the layout, that change is also merged.
            let text = if chunk.text == was.text { their.text } else { chunk.text };
            Slot::kept(chunk, text)
        } else if was.says_as(their) {
            return;
        } else if only_layout {
            Slot::kept(chunk, their.text)
        } else {
            match diffy::merge(was.text, chunk.text, their.text) {
                Ok(text) => Slot::kept(chunk, &text),
                Err(_) => self.conflict(chunk, Some(was.text), chunk.text, their.text, ConflictKind::BothChanged),
            }
        };
        self.set(our, Some(now));
    }

    fn added_by_both(&mut self, our: usize, their: &Chunk) {
        let Some(chunk) = self.ours.get(our).filter(|chunk| !chunk.says_as(their)) else {
            return;
        };
        let conflict = self.conflict(chunk, None, chunk.text, their.text, ConflictKind::BothAdded);
        self.set(our, Some(conflict));
    }

    fn set(&mut self, our: usize, slot: Option<Slot>) {
        if let Some(place) = self.slots.get_mut(our) {
            *place = slot;
        }
    }

    /// Inserts a piece after `anchor` and after our own additions there.
    fn insert(&mut self, is_added: &[bool], anchor: Option<usize>, slot: Slot) {
        let next = anchor.map_or(0, |our| our + 1);
        let ours = is_added.iter().skip(next).take_while(|added| **added).count();
        // If no piece of the base comes before it, it is inserted before our additions.
        let place = if anchor.is_none() { 0 } else { next + ours };
        if let Some(after) = self.after.get_mut(place) {
            after.push(slot);
        }
    }

    fn conflict(
        &self,
        chunk: &Chunk,
        base: Option<&str>,
        ours: &str,
        theirs: &str,
        conflict_kind: ConflictKind,
    ) -> Slot {
        let mut text = String::new();
        let marked = |text: &mut String, mark: char, name: &str| {
            text.extend(std::iter::repeat_n(mark, self.marker));
            if !name.is_empty() {
                text.push(' ');
                text.push_str(name);
            }
            text.push_str(self.ending);
        };
        marked(&mut text, '<', "ours");
        self.push_lines(&mut text, ours);
        if let Some(base) = base {
            // The label that a merge by lines uses too.
            marked(&mut text, '|', "original");
            self.push_lines(&mut text, base);
        }
        marked(&mut text, '=', "");
        self.push_lines(&mut text, theirs);
        marked(&mut text, '>', "theirs");
        Slot {
            blank: chunk.blank.to_owned(),
            text,
            stands_alone: false,
            conflict: Some((
                chunk.identity.as_ref().map(|identity| identity.shown.clone()),
                conflict_kind,
            )),
        }
    }

    /// Adds lines, and a line end if the last line has none.
    fn push_lines(&self, text: &mut String, lines: &str) {
        text.push_str(lines);
        if !lines.is_empty() && !lines.ends_with('\n') {
            text.push_str(self.ending);
        }
    }

    fn written(self, has_mark: bool) -> Merged {
        let mut text = if has_mark {
            BYTE_ORDER_MARK.to_string()
        } else {
            String::new()
        };
        let mut conflicts = Vec::new();
        let mut after_comment = false;
        let mut line = 1;
        let own = std::iter::once(None).chain(self.slots.iter().map(Option::as_ref));
        for slot in own
            .zip(&self.after)
            .flat_map(|(own, after)| own.into_iter().chain(after))
        {
            let start = text.len();
            if line > 1 && after_comment && slot.blank.is_empty() {
                text.push_str(self.ending);
            }
            text.push_str(&slot.blank);
            let marker_line = line + count_lines(text.get(start..).unwrap_or_default());
            if let Some((statement, conflict_kind)) = &slot.conflict {
                conflicts.push(Conflict {
                    line: marker_line,
                    statement: statement.clone(),
                    conflict_kind: *conflict_kind,
                });
            }
            self.push_lines(&mut text, &slot.text);
            line += count_lines(text.get(start..).unwrap_or_default());
            after_comment = slot.stands_alone;
        }
        Merged {
            text: text.into_bytes(),
            conflicts,
            by_lines: false,
        }
    }
}

fn count_lines(text: &str) -> usize {
    text.matches('\n').count()
}

/// Pieces that we have added, by contents and by identity.
struct Added<'p> {
    by_words: HashMap<&'p str, usize>,
    by_identity: HashMap<&'p str, usize>,
}

impl<'p> Added<'p> {
    fn new(ours: &'p [Chunk], is_added: &[bool]) -> Self {
        let mut added = Self {
            by_words: HashMap::new(),
            by_identity: HashMap::new(),
        };
        for (at, chunk) in ours.iter().enumerate() {
            if is_added.get(at).copied().unwrap_or(false) {
                added.by_words.insert(&chunk.said, at);
                if let Some(identity) = &chunk.identity {
                    added.by_identity.insert(&identity.own, at);
                }
            }
        }
        added
    }

    /// Our added piece that is the same as `their` new one, or conflicts with it.
    fn same(&self, their: &Chunk) -> Option<usize> {
        let by_identity = || self.by_identity.get(their.identity.as_ref()?.own.as_str());
        self.by_words.get(their.said.as_str()).or_else(by_identity).copied()
    }
}
