//! Columns of the layout. They are wide enough for typical offices, so that neighbouring lines share columns although
//! each is formatted by itself; each width names the texts it was chosen for. Longer texts move on by [`STEP`].

/// Blanks per nesting level, and for a continued run.
pub(super) const INDENT: u32 = 4;
/// Distance between stops after the first.
const STEP: u32 = 8;
/// From a field's name to its value: `wants-filtered`.
pub(super) const NAME: u32 = 16;
/// From the name of a named field to its `{`: `s1`, `branch2`.
pub(super) const NAMED: u32 = 8;
/// Width of a thing's kind and name, or a run's medium and first end: `pressure-sensor ps-c1201-4`, `wire d1 contact
/// humidity`.
pub(super) const HEAD: u32 = 28;
/// Width of a further end of a run, or a thing's part: `-> c1201 pair 1200`, `: field-pressure`.
pub(super) const LINK: u32 = 20;
/// Width of a field among others on a line: `underground 12.25 km,`, `working -43 V .. -54 V,`.
pub(super) const FIELD: u32 = 24;
/// Width of a size or length after `with`: `22 awg,`, `1.5 A,`; with a step, `1-1/2 in pipe,`.
pub(super) const SIZE: u32 = 8;
/// Column of a trailing comment.
const COMMENT: u32 = 40;

/// First stop, for a cell that starts at `start` and is `width` wide, that leaves a blank after `column`.
pub(super) fn stop(start: u32, width: u32, column: u32) -> u32 {
    let first = start + width;
    first + (column + 1).saturating_sub(first).next_multiple_of(STEP)
}

/// Column of a comment after text that ends at `column`, with at least two blanks between.
pub(super) fn comment(column: u32) -> u32 {
    stop(0, COMMENT, column + 1)
}
