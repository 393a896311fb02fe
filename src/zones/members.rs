//! Which things belong to each group, in few flat lists. Knows not what is grouped.

use super::runs::narrow;

/// The members of each group, in their order.
#[derive(Debug)]
pub struct Members {
    /// Where the members of each group begin, and one past the last.
    starts: Vec<u32>,
    members: Vec<u32>,
}

impl Members {
    /// The members of so many groups, by the group of each.
    #[must_use]
    pub fn of(group_of: &[u32], groups: usize) -> Members {
        let mut starts = vec![0; groups + 1];
        for &group in group_of {
            starts[group as usize] += 1;
        }
        let mut sum = 0;
        for start in &mut starts {
            sum += *start;
            *start = sum;
        }
        // Each start is the end of its group now; filling from the back moves it down to
        // where the group begins.
        let mut members = vec![0; group_of.len()];
        for (member, &group) in group_of.iter().enumerate().rev() {
            let start = &mut starts[group as usize];
            *start -= 1;
            members[*start as usize] = narrow(member);
        }
        Members { starts, members }
    }

    /// The members of a group.
    #[must_use]
    pub fn of_group(&self, group: usize) -> &[u32] {
        &self.members[self.starts[group] as usize..self.starts[group + 1] as usize]
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn members_are_those_of_a_plain_loop(group_of in prop::collection::vec(0_u32..7, 0..40)) {
            let members = Members::of(&group_of, 7);
            for group in 0..7 {
                let plain: Vec<u32> = (0..narrow(group_of.len()))
                    .filter(|&member| group_of[member as usize] == group)
                    .collect();
                prop_assert_eq!(members.of_group(group as usize), &plain[..]);
            }
        }
    }
}
