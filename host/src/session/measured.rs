//! What was measured of a board before it was logged, as a session keeps it.

use rillmark_metrology::front_end::BoardLimits;
use rillmark_proto::identity::BoardId;

/// The lines of one file.
#[derive(Clone, Debug, PartialEq)]
pub struct Measured {
    /// What the file was called, without its folders.
    pub file: String,
    /// Board and lines, as such a file has them: text, since a later release may know more of them.
    pub lines: String,
    /// What they say, and of which board; `None` while nobody has read them, and where nobody can.
    pub limits: Option<(BoardId, BoardLimits)>,
}
