/// Formats a number with its noun: "1 error", "2 errors".
pub fn several(number: usize, noun: &str) -> String {
    if number == 1 {
        format!("1 {noun}")
    } else {
        format!("{number} {noun}s")
    }
}
