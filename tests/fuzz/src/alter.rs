//! Alters valid inputs, so that most of what comes out is nearly valid.

mod bytes;
mod frames;
mod text;

use crate::random::Random;

/// What a target's inputs are, and so how they are altered.
#[derive(Clone, Copy, Debug)]
pub enum Alter {
    /// Bytes without a checksum.
    Bytes,
    /// Frames: mostly what is inside, under a checksum that is right again.
    Frames,
    /// Text of these words.
    Text(&'static [&'static str]),
}

/// The most bytes of an input; what is longer shows nothing more.
const MOST: usize = 16 << 10;

impl Alter {
    /// One of the seeds, altered.
    #[must_use]
    pub fn altered(self, seeds: &[Vec<u8>], random: &mut Random) -> Vec<u8> {
        let mut input = random.one_of(seeds).clone();
        // One in ten stays as it is: what is valid has to be taken.
        for _ in 0..random.below(5).max(random.below(2)) {
            let other = random.one_of(seeds);
            match self {
                Self::Bytes => bytes::alter(&mut input, other, random),
                Self::Frames => frames::alter(&mut input, other, random),
                Self::Text(words) => text::alter(&mut input, other, words, random),
            }
            input.truncate(MOST);
        }
        input
    }
}
