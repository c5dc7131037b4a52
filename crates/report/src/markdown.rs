/// Text that a cell of a table in Markdown can hold.
pub(crate) fn escaped(text: &str) -> String {
    // A backslash in front of a bar would take the bar's own.
    text.replace("\\|", "\\\\|")
        .replace('|', "\\|")
        .replace(['\n', '\r'], " ")
        .replace('<', "&lt;")
}
