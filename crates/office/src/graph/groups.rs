/// Numbers that hang together. Each group goes by the lowest of its numbers.
#[derive(Debug)]
pub struct Groups(Vec<u32>);

impl Groups {
    /// Every number below `count` by itself.
    pub fn new(count: u32) -> Self {
        Self((0..count).collect())
    }

    /// Joins the groups of two numbers. Says whether they were two.
    pub fn join(&mut self, one: u32, other: u32) -> bool {
        let (one, other) = (self.first(one), self.first(other));
        if let Some(parent) = self.0.get_mut(one.max(other) as usize) {
            *parent = one.min(other);
        }
        one != other
    }

    /// The first of the group that a number is in.
    pub fn first(&mut self, mut number: u32) -> u32 {
        while let Some(parent) = self.0.get(number as usize).copied().filter(|parent| *parent != number) {
            // Halve the way for whoever comes next.
            let grandparent = self.0.get(parent as usize).copied().unwrap_or(parent);
            if let Some(slot) = self.0.get_mut(number as usize) {
                *slot = grandparent;
            }
            number = grandparent;
        }
        number
    }
}

#[cfg(test)]
mod tests {
    use super::Groups;

    #[test]
    fn what_is_joined_has_one_first() {
        let mut groups = Groups::new(5);
        assert!(groups.join(3, 4));
        assert!(groups.join(1, 3));
        assert!(!groups.join(4, 1));
        assert_eq!((groups.first(4), groups.first(2)), (1, 2));
    }
}
