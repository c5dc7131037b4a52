use drysheath_office::ThingId;

/// Which things hang together.
pub(super) struct Groups {
    parents: Vec<u32>,
}

impl Groups {
    /// Every thing by itself.
    pub fn new(things: usize) -> Self {
        Self {
            parents: (0..things as u32).collect(),
        }
    }

    /// Joins the groups of two things. Says whether they were two.
    pub fn join(&mut self, one: ThingId, other: ThingId) -> bool {
        let (one, other) = (self.first(one), self.first(other));
        if let Some(parent) = self.parents.get_mut(one.0.max(other.0) as usize) {
            *parent = one.0.min(other.0);
        }
        one != other
    }

    /// The first thing of the group that a thing is in.
    pub fn first(&mut self, thing: ThingId) -> ThingId {
        let mut at = thing.0;
        while let Some(parent) = self.parents.get(at as usize).copied().filter(|parent| *parent != at) {
            // Halve the way for whoever comes next.
            let grandparent = self.parents.get(parent as usize).copied().unwrap_or(parent);
            if let Some(slot) = self.parents.get_mut(at as usize) {
                *slot = grandparent;
            }
            at = grandparent;
        }
        ThingId(at)
    }
}

#[cfg(test)]
mod tests {
    use drysheath_office::ThingId;

    use super::Groups;

    #[test]
    fn what_is_joined_has_one_first() {
        let mut groups = Groups::new(5);
        let join = |groups: &mut Groups, one, other| groups.join(ThingId(one), ThingId(other));
        assert!(join(&mut groups, 3, 4));
        assert!(join(&mut groups, 1, 3));
        assert!(!join(&mut groups, 4, 1));
        assert_eq!(groups.first(ThingId(4)), ThingId(1));
        assert_eq!(groups.first(ThingId(2)), ThingId(2));
    }
}
