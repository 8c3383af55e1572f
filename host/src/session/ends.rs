//! Of many things of a file the first and the last ones, so that no file takes much memory.

use std::ops::Deref;

/// How many are held of either end.
const EACH: usize = 50;

/// The first and the last of many, in their order, and how many came between.
#[derive(Clone, Debug, PartialEq)]
pub struct Ends<T> {
    held: Vec<T>,
    left_out: u64,
}

impl<T> Ends<T> {
    /// Takes the next one.
    pub fn push(&mut self, next: T) {
        if self.held.len() == 2 * EACH {
            self.held.remove(EACH);
            self.left_out += 1;
        }
        self.held.push(next);
    }

    /// How many are not held.
    #[must_use]
    pub const fn left_out(&self) -> u64 {
        self.left_out
    }

    /// How many came.
    #[must_use]
    pub fn count(&self) -> u64 {
        self.held.len() as u64 + self.left_out
    }

    /// The first ones; and the last ones, before which some may have been left out.
    #[must_use]
    pub fn both(&self) -> (&[T], &[T]) {
        self.held.split_at(EACH.min(self.held.len()))
    }
}

impl<T> Default for Ends<T> {
    fn default() -> Self {
        Self { held: Vec::new(), left_out: 0 }
    }
}

impl<T> Deref for Ends<T> {
    type Target = [T];

    fn deref(&self) -> &[T] {
        &self.held
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_first_and_the_last_are_held_and_the_others_counted() {
        let mut ends = Ends::default();
        for (next, count) in (0..1_000_u64).zip(1..) {
            ends.push(next);
            assert_eq!(ends.count(), count);
            assert_eq!(ends.len() as u64 + ends.left_out(), count);
        }
        let (first, last) = ends.both();
        assert_eq!(first, (0..50).collect::<Vec<_>>());
        assert_eq!(last, (950..1_000).collect::<Vec<_>>());
        assert_eq!(ends.left_out(), 900);
    }
}
