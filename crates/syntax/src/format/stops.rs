//! The columns of the table. They are wide enough for what offices say, so that neighbouring lines share columns without
//! looking at each other: each width names the text that it was made for. What is longer moves on by [`STEP`].

/// Blanks for each block around a line, and for a continued run.
pub(super) const INDENT: u32 = 4;
/// From one stop to the next, once the first does not suffice.
const STEP: u32 = 8;
/// A field's name, to its value: `wants-filtered`.
pub(super) const NAME: u32 = 16;
/// The name of a named field, to its `{`: `s1`, `branch2`.
pub(super) const NAMED: u32 = 8;
/// A thing's kind and name, or a run's medium and first end: `pressure-sensor ps-c1201-4`, `wire d1 contact humidity`.
pub(super) const HEAD: u32 = 28;
/// One further end of a run, or a thing's part: `-> c1201 pair 1200`, `: field-pressure`.
pub(super) const LINK: u32 = 20;
/// A field among others on a line: `underground 12.25 km,`, `working -43 V .. -54 V,`.
pub(super) const FIELD: u32 = 24;
/// A size or length after `with`: `22 awg,`, `1.5 A,`; with its step, `1-1/2 in pipe,`.
pub(super) const SIZE: u32 = 8;
/// A comment after something.
const COMMENT: u32 = 40;

/// The first stop of a cell that starts at `start` and is `width` wide which leaves a blank after `column`.
pub(super) fn stop(start: u32, width: u32, column: u32) -> u32 {
    let first = start + width;
    first + (column + 1).saturating_sub(first).next_multiple_of(STEP)
}

/// Where a comment starts after something that ends at `column`: two blanks at the least.
pub(super) fn comment(column: u32) -> u32 {
    stop(0, COMMENT, column + 1)
}
