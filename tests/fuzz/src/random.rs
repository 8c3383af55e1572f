//! Numbers that look random and come again from their seed.

/// SplitMix64 (Steele, Lea and Flood, OOPSLA 2014; recalled, not checked): good enough to choose what to
/// alter, and a state of one word, so that every case has a seed of its own.
#[derive(Clone, Debug)]
pub struct Random(u64);

impl Random {
    /// The sequence of this seed.
    pub const fn new(seed: u64) -> Self {
        Self(seed)
    }

    /// The next 64 bits.
    pub fn bits(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    /// A number below this one; 0 below 0.
    pub fn below(&mut self, end: usize) -> usize {
        if end == 0 { 0 } else { (self.bits() % end as u64) as usize }
    }

    /// One of these.
    ///
    /// # Panics
    /// Of none.
    pub fn one_of<'a, T>(&mut self, all: &'a [T]) -> &'a T {
        &all[self.below(all.len())]
    }
}
