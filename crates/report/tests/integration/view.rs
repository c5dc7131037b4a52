use std::sync::Arc;

use drysheath_fixture::{analysis, snapshot_unlinted};
use drysheath_report::OfficeView;
use drysheath_workspace::{Analysis, Texts};

/// An office in a repository of its own, with all that is computed of it.
pub(crate) struct Computed {
    pub(crate) analysis: Arc<Analysis>,
    pub(crate) texts: Texts,
}

impl Computed {
    pub(crate) fn new(text: &str) -> Self {
        let snapshot = snapshot_unlinted(&[("elm", text)]);
        let analysis = analysis(&snapshot, "elm");
        let texts = snapshot.texts(
            [analysis.file],
            &std::iter::once((analysis.file, Arc::clone(&analysis.text))).collect(),
        );
        Self { analysis, texts }
    }

    /// Computes it with all that is planned.
    pub(crate) fn plan(&mut self) {
        let analysis = Arc::get_mut(&mut self.analysis).expect("it is kept by nobody else");
        analysis.plan();
    }

    pub(crate) fn view(&self) -> OfficeView<'_> {
        OfficeView::of(&self.analysis, &self.texts)
    }
}
