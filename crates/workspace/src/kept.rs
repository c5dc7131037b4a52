use std::collections::VecDeque;
use std::sync::{Arc, Mutex, OnceLock, PoisonError};

use drysheath_text::FileId;

use crate::analysis::Analysis;
use crate::version::FileVersion;

/// Analyses that are kept whole; of other files their results are kept. An editor asks about what it shows.
const KEPT: usize = 12;

/// The analyses that were asked for last, shared by all states of a workspace.
#[derive(Default)]
pub(crate) struct Kept {
    slots: Mutex<VecDeque<Arc<Slot>>>,
}

/// The place of one analysis. Whoever asks first makes it, and others wait for that.
pub(crate) struct Slot {
    file: FileId,
    version: Arc<FileVersion>,
    pub analysis: OnceLock<Option<Arc<Analysis>>>,
}

impl Kept {
    /// The place for the analysis of a version of a file.
    pub fn slot(&self, file: FileId, version: &Arc<FileVersion>) -> Arc<Slot> {
        let mut slots = self.slots.lock().unwrap_or_else(PoisonError::into_inner);
        let is_wanted = |slot: &Arc<Slot>| slot.file == file && Arc::ptr_eq(&slot.version, version);
        let known = slots.iter().position(is_wanted).and_then(|at| slots.remove(at));
        let slot = known.unwrap_or_else(|| {
            Arc::new(Slot {
                file,
                version: Arc::clone(version),
                analysis: OnceLock::new(),
            })
        });
        slots.push_front(Arc::clone(&slot));
        slots.truncate(KEPT);
        slot
    }

    /// The analysis of a version of a file, if it has been made.
    pub fn get(&self, file: FileId, version: &Arc<FileVersion>) -> Option<Arc<Analysis>> {
        let slots = self.slots.lock().unwrap_or_else(PoisonError::into_inner);
        let mut slots = slots.iter();
        let slot = slots.find(|slot| slot.file == file && Arc::ptr_eq(&slot.version, version))?;
        slot.analysis.get().cloned().flatten()
    }

    /// Puts an analysis in place of the one that a slot has.
    pub fn replace(&self, old: &Arc<Slot>, analysis: Option<Arc<Analysis>>) {
        let mut slots = self.slots.lock().unwrap_or_else(PoisonError::into_inner);
        slots.retain(|slot| !Arc::ptr_eq(slot, old));
        if analysis.is_some() {
            slots.push_front(Arc::new(Slot {
                file: old.file,
                version: Arc::clone(&old.version),
                analysis: OnceLock::from(analysis),
            }));
        }
    }

    /// Forgets the analyses of older versions of a file.
    pub fn forget(&self, file: FileId) {
        let mut slots = self.slots.lock().unwrap_or_else(PoisonError::into_inner);
        slots.retain(|slot| slot.file != file);
    }
}
