/// A number and what it counts, as in "1 error" and "2 errors".
pub fn several(number: usize, noun: &str) -> String {
    if number == 1 {
        format!("1 {noun}")
    } else {
        format!("{number} {noun}s")
    }
}
