//! What can go wrong on the bench itself (as opposed to in the simulated probe).

use std::io;
use std::path::PathBuf;

use rillmark_proto::reference::OutOfRange;

/// The bench cannot do what it was asked.
#[derive(Debug, thiserror::Error)]
pub enum BenchError {
    /// The flash file cannot be opened, read or written.
    #[error("cannot use the flash file {}: {cause}", path.display())]
    FlashFile {
        /// The file.
        path: PathBuf,
        /// What the system said.
        cause: io::Error,
    },
    /// Another process uses the flash file.
    #[error("the flash file {} is in use by another virtual bench; end that one or name another file", path.display())]
    FlashBusy {
        /// The file.
        path: PathBuf,
    },
    /// The file is not a flash image of this chip.
    #[error("{} is not a flash image of the virtual bench: {found} bytes instead of {expected}", path.display())]
    ForeignFlash {
        /// The file.
        path: PathBuf,
        /// Its length in bytes.
        found: u64,
        /// The length of an image in bytes.
        expected: u64,
    },
    /// No solution has that name.
    #[error("no buffer, standard or other content is named {name}; `reference list` names them")]
    UnknownContent {
        /// The name.
        name: String,
    },
    /// The solution has no published value at that temperature, or the number is not physical.
    #[error("{content} cannot stand in the beaker: {cause}")]
    OutOfRange {
        /// The content.
        content: String,
        /// The number and its limits.
        cause: OutOfRange,
    },
}
