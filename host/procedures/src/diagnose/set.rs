//! Small sets of things that number themselves from 0.

use core::marker::PhantomData;

/// Something of which there are at most 32, each with a number of its own.
pub trait Member: Copy + 'static {
    /// All of them, in the order of their numbers.
    const ALL: &'static [Self];

    /// Its number, its place in [`Self::ALL`].
    fn number(self) -> u32;
}

/// A set of members.
pub struct Set<T>(u32, PhantomData<T>);

impl<T: Member> Set<T> {
    /// The empty set.
    pub const EMPTY: Self = Self(0, PhantomData);

    /// The set of these.
    pub fn of(members: &[T]) -> Self {
        members.iter().copied().collect()
    }

    /// The same with this one.
    #[must_use]
    pub fn with(self, member: T) -> Self {
        Self(self.0 | 1 << member.number(), PhantomData)
    }

    /// True when this one is in it.
    pub fn has(self, member: T) -> bool {
        self.0 & 1 << member.number() != 0
    }

    /// True when every member of the other set is in it.
    pub fn holds(self, other: Self) -> bool {
        other.0 & !self.0 == 0
    }

    /// Members of either.
    #[must_use]
    pub fn or(self, other: Self) -> Self {
        Self(self.0 | other.0, PhantomData)
    }

    /// Members of both.
    #[must_use]
    pub fn and(self, other: Self) -> Self {
        Self(self.0 & other.0, PhantomData)
    }

    /// Members that are not in the other.
    #[must_use]
    pub fn without(self, other: Self) -> Self {
        Self(self.0 & !other.0, PhantomData)
    }

    /// How many.
    pub fn len(self) -> usize {
        self.0.count_ones() as usize
    }

    /// True when there are none.
    pub fn is_empty(self) -> bool {
        self.0 == 0
    }

    /// Its members in the order of their numbers.
    pub fn iter(self) -> impl Iterator<Item = T> {
        T::ALL.iter().copied().filter(move |member| self.has(*member))
    }
}

impl<T: Member> FromIterator<T> for Set<T> {
    fn from_iter<I: IntoIterator<Item = T>>(members: I) -> Self {
        members.into_iter().fold(Self::EMPTY, Self::with)
    }
}

// Derives would ask the same of `T`, which is only a mark here.
impl<T> Clone for Set<T> {
    fn clone(&self) -> Self {
        *self
    }
}

impl<T> Copy for Set<T> {}

impl<T> PartialEq for Set<T> {
    fn eq(&self, other: &Self) -> bool {
        self.0 == other.0
    }
}

impl<T> Eq for Set<T> {}

impl<T: Member> Default for Set<T> {
    fn default() -> Self {
        Self::EMPTY
    }
}

impl<T: Member + core::fmt::Debug> core::fmt::Debug for Set<T> {
    fn fmt(&self, f: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
        f.debug_set().entries(self.iter()).finish()
    }
}
