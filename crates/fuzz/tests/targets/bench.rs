//! What targets have in common: the texts, as files of one repository.

use std::panic::RefUnwindSafe;
use std::sync::Arc;

use drysheath_fixture::{Case, Corpus, file, name, snapshot, snapshot_unlinted};
use drysheath_report::{Files, OfficeView};
use drysheath_rules::example;
use drysheath_text::FileId;
use drysheath_workspace::{Analysis, Snapshot, Texts};

/// The texts in a repository of their own.
pub(crate) struct Bench {
    pub corpus: Corpus,
    pub whole: Snapshot,
    texts: Texts,
}

/// What is kept in it is computed anew or not at all when it is asked again after a panic.
impl RefUnwindSafe for Bench {}

/// A changed text in the place of the one that it was drawn from.
pub(crate) struct Drawn<'b> {
    bench: &'b Bench,
    pub path: &'b str,
    pub text: Arc<str>,
    pub snapshot: Snapshot,
    pub analysis: Arc<Analysis>,
}

impl Bench {
    /// None of the files is linted.
    pub fn new() -> Self {
        let corpus = Corpus::default();
        let whole = snapshot_unlinted(corpus.files());
        Self::of(corpus, whole)
    }

    /// Every file is linted.
    pub fn linted() -> Self {
        let corpus = Corpus::default();
        let whole = snapshot(corpus.files());
        Self::of(corpus, whole)
    }

    fn of(corpus: Corpus, whole: Snapshot) -> Self {
        let texts = whole.texts(whole.numbered(), &std::iter::empty().collect());
        Self { corpus, whole, texts }
    }

    /// Draws a text and puts it into the place of that from which it was drawn.
    pub fn draw(&self, case: &Case) -> Drawn<'_> {
        let (path, text) = self.corpus.draw(case);
        self.put(path, &text)
    }

    /// A text in the place of that of a file.
    pub fn put<'b>(&'b self, path: &'b str, text: &str) -> Drawn<'b> {
        let text: Arc<str> = text.into();
        let file = file(&self.whole, path);
        let snapshot = self.whole.with_texts([(file, Arc::clone(&text))]);
        let analysis = snapshot.analysis(file).unwrap();
        Drawn {
            bench: self,
            path,
            text,
            snapshot,
            analysis,
        }
    }
}

impl Drawn<'_> {
    pub fn view(&self) -> OfficeView<'_> {
        OfficeView::of(&self.analysis, self)
    }

    /// The name of a file and what it says.
    pub fn file(&self, file: FileId) -> (String, Arc<str>) {
        let text = if file == self.analysis.file {
            Arc::clone(&self.text)
        } else {
            self.bench.texts.text(file).into()
        };
        (name(&self.snapshot, file), text)
    }

    /// An offset; an editor may be ahead of the text that it asks about, or between the bytes of a character.
    pub fn offset(&self, part: u16) -> u32 {
        ((self.text.len() + 3) as u64 * u64::from(part) / u64::from(u16::MAX)) as u32
    }
}

impl Files for Drawn<'_> {
    fn path(&self, file: FileId) -> &str {
        self.bench.texts.path(file)
    }

    fn path_from_root(&self, file: FileId) -> &str {
        self.bench.texts.path_from_root(file)
    }

    fn text(&self, file: FileId) -> &str {
        if file == self.analysis.file {
            &self.text
        } else {
            self.bench.texts.text(file)
        }
    }
}

pub(crate) const TODAY: drysheath_office::Date = example::TODAY;
