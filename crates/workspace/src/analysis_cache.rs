use std::collections::VecDeque;
use std::sync::{Arc, Mutex, MutexGuard, OnceLock, PoisonError};

use drysheath_text::FileId;
use rustc_hash::FxHashMap;

use crate::analysis::Analysis;
use crate::version::FileVersion;

/// Number of analyses kept; of other files only the results are kept. An editor asks about the files that it shows.
const KEPT: usize = 12;
/// Number of outdated analyses that may wait to be dropped.
const FORGOTTEN: usize = 4;

/// The most recently used analyses, shared by all states of a workspace.
#[derive(Default)]
pub(crate) struct AnalysisCache {
    state: Mutex<CacheState>,
}

#[derive(Default)]
struct CacheState {
    slots: VecDeque<Arc<Slot>>,
    /// The current versions of files that have changed. An answer for an older state must not reinsert an outdated
    /// analysis.
    newest: FxHashMap<FileId, Arc<FileVersion>>,
    /// Slots of outdated versions, dropped when there is time.
    forgotten: VecDeque<Arc<Slot>>,
}

/// The slot of an analysis. The first thread to ask computes it, others wait.
pub(crate) struct Slot {
    file: FileId,
    version: Arc<FileVersion>,
    pub analysis: OnceLock<Option<Arc<Analysis>>>,
}

impl AnalysisCache {
    /// The slot for a version of a file. The slot of an outdated version is not kept.
    pub fn slot(&self, file: FileId, version: &Arc<FileVersion>) -> Arc<Slot> {
        let CacheState { slots, newest, .. } = &mut *self.lock();
        let is_wanted = |slot: &Arc<Slot>| slot.file == file && Arc::ptr_eq(&slot.version, version);
        let known = slots.iter().position(is_wanted).and_then(|at| slots.remove(at));
        let slot = known.unwrap_or_else(|| {
            Arc::new(Slot {
                file,
                version: Arc::clone(version),
                analysis: OnceLock::new(),
            })
        });
        if newest.get(&file).is_none_or(|newest| Arc::ptr_eq(newest, version)) {
            slots.push_front(Arc::clone(&slot));
            slots.truncate(KEPT);
        }
        slot
    }

    /// The analysis of a version of a file, if it has been computed.
    pub fn get(&self, file: FileId, version: &Arc<FileVersion>) -> Option<Arc<Analysis>> {
        let state = self.lock();
        let mut slots = state.slots.iter();
        let slot = slots.find(|slot| slot.file == file && Arc::ptr_eq(&slot.version, version))?;
        slot.analysis.get().cloned().flatten()
    }

    /// The latest analysis of any version of a file still in memory, to reuse what has not changed.
    pub fn before(&self, file: FileId) -> Option<Arc<Analysis>> {
        let state = self.lock();
        let all = state.slots.iter().chain(state.forgotten.iter().rev());
        let made = all
            .filter(|slot| slot.file == file)
            .filter_map(|slot| slot.analysis.get());
        made.flatten().next().cloned()
    }

    /// A cache for modified texts of the same files, which can reuse these analyses.
    pub fn beside(&self) -> Self {
        let forgotten = self.lock().slots.iter().rev().cloned().collect();
        Self {
            state: Mutex::new(CacheState {
                forgotten,
                ..CacheState::default()
            }),
        }
    }

    /// Replaces the analysis in a slot.
    pub fn replace(&self, old: &Arc<Slot>, analysis: Option<Arc<Analysis>>) {
        let slots = &mut self.lock().slots;
        let Some(at) = slots.iter().position(|slot| Arc::ptr_eq(slot, old)) else {
            return;
        };
        slots.remove(at);
        if analysis.is_some() {
            slots.push_front(Arc::new(Slot {
                file: old.file,
                version: Arc::clone(&old.version),
                analysis: OnceLock::from(analysis),
            }));
        }
    }

    /// Removes the analyses of versions of a file older than this one. Dropping a large analysis takes a tenth of the
    /// time of computing one, so it is left to [`AnalysisCache::sweep`] unless too many are waiting.
    pub fn forget(&self, file: FileId, newest: &Arc<FileVersion>) {
        let CacheState {
            slots,
            newest: all,
            forgotten,
        } = &mut *self.lock();
        all.insert(file, Arc::clone(newest));
        while let Some(at) = slots.iter().position(|slot| slot.file == file) {
            forgotten.extend(slots.remove(at));
        }
        forgotten.drain(..forgotten.len().saturating_sub(FORGOTTEN));
    }

    /// Drops the outdated analyses.
    pub fn sweep(&self) {
        let forgotten = std::mem::take(&mut self.lock().forgotten);
        drop(forgotten);
    }

    fn lock(&self) -> MutexGuard<'_, CacheState> {
        self.state.lock().unwrap_or_else(PoisonError::into_inner)
    }
}
