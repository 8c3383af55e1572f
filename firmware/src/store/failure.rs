//! What can go wrong with the store, and what a host is told of it.

use rillmark_proto::wire::message::Refusal;
use sequential_storage::Error;

use super::guard::GuardError;

/// Why the store cannot be used.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Broken {
    /// Its content is damaged or not ours.
    Corrupt,
    /// The flash reported an error, or its region cannot hold a store.
    Fault,
}

/// Why one access failed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Failure {
    Full,
    /// The map wanted to repair something while the guard was shut.
    Shut,
    Broken(Broken),
}

impl<E> From<Error<GuardError<E>>> for Failure {
    fn from(error: Error<GuardError<E>>) -> Self {
        match error {
            Error::Storage { value: GuardError::Shut, .. } => Self::Shut,
            Error::Storage { value: GuardError::Flash(_), .. } => Self::Broken(Broken::Fault),
            Error::FullStorage | Error::ItemTooBig => Self::Full,
            // The rest are items that this module never wrote like that.
            _ => Self::Broken(Broken::Corrupt),
        }
    }
}

impl Broken {
    pub(super) const fn refusal(self) -> Refusal {
        match self {
            Self::Corrupt => Refusal::StoreCorrupt,
            Self::Fault => Refusal::StoreFault,
        }
    }
}

impl Failure {
    pub(super) fn refusal(self, bytes: usize) -> Refusal {
        match self {
            Self::Full => Refusal::StoreFull { needed: u32::try_from(bytes).unwrap_or(u32::MAX) },
            Self::Shut => Refusal::StoreCorrupt,
            Self::Broken(broken) => broken.refusal(),
        }
    }
}
