/// How much of something long is written.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Extent {
    /// What whoever reads it has time for, or whatever reads it has room for; what is left out is counted.
    Brief,
    /// Everything.
    Full,
}
