/// How much of a long output is written.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Extent {
    /// Limited to what a reader has time for or a host accepts; the rest is counted.
    Brief,
    /// Every row, without a limit.
    Full,
}
