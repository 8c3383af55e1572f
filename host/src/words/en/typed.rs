//! What is said about text that a person types.

/// What the text is.
pub const LOT: &str = "the lot";
/// The same.
pub const NAME: &str = "the name";
/// The same.
pub const CERTIFICATE: &str = "the certificate's number";
/// The same.
pub const OPERATOR: &str = "--operator";
/// The same.
pub const LIMIT_SOURCE: &str = "--limit-source";
/// The same.
pub const NOTE: &str = "--note";
/// The same.
pub const SERIAL: &str = "the serial";
/// The same.
pub const REASON: &str = "the reason";

/// A character that nobody would see.
pub fn not_plain(what: &str, place: usize, c: char) -> String {
    format!(
        "{what} has a character that does not show (U+{:04X}, at place {place}); type it anew without.",
        u32::from(c)
    )
}
