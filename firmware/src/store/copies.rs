//! Three copies of one number, written one after the other: what they say together.

/// Numbers of the three copies in the order in which they are written; 0 when there is none.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Copies(pub(super) [u32; 3]);

impl Copies {
    /// The newest.
    pub(super) fn newest(self) -> u32 {
        self.0.into_iter().max().unwrap_or(0)
    }

    /// True when they are not what a power cut between two of them leaves: the first ones of the newest
    /// number, the others of the one before.
    pub(super) fn contradict(self) -> bool {
        let [first, second, third] = self.0;
        first < second || second < third || first - third > 1
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_power_cut_leaves_no_contradiction_and_anything_else_is_one() {
        for number in [0, 1, 7, u32::MAX - 2] {
            let (old, new) = (number, number + 1);
            let cuts = [[old; 3], [new, old, old], [new, new, old], [new; 3]];
            // Every way in which each copy is one of the last three.
            let numbers = [old.saturating_sub(1), old, new];
            for at in 0..27 {
                let copies = [numbers[at / 9], numbers[at / 3 % 3], numbers[at % 3]];
                let shifted = copies.map(|copy| copy + 1);
                let is_cut = cuts.contains(&copies) || cuts.contains(&shifted);
                assert_eq!(Copies(copies).contradict(), !is_cut, "{copies:?}");
                assert_eq!(Copies(copies).newest(), *copies.iter().max().unwrap());
            }
        }
    }
}
