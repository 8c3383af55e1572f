//! How a probe on USB makes itself known, so that a host finds it unasked.

/// USB vendor id of our boards.
///
/// The pair 0x1209:0x0001 is reserved by pid.codes for private testing: whoever sells or gives
/// away boards needs a pair of their own, here and in `hardware-notes/70-rillmark.rules`.
pub const VENDOR: u16 = 0x1209;
/// USB product id of our boards; see [`VENDOR`].
pub const PRODUCT: u16 = 0x0001;
/// USB manufacturer string of our boards.
pub const MANUFACTURER_NAME: &str = "Rillmark project";
/// How the USB product string of every board begins that a host opens unasked: it tells them from
/// whoever else tests with the same pair of ids.
pub const PRODUCT_NAME_BEGINS: &str = "Rillmark";
/// USB product string of our boards. Their USB serial is the board's id.
pub const PRODUCT_NAME: &str = "Rillmark probe";

const _: () = assert!(begins(PRODUCT_NAME.as_bytes(), PRODUCT_NAME_BEGINS.as_bytes()));

const fn begins(text: &[u8], with: &[u8]) -> bool {
    match (text, with) {
        (_, []) => true,
        ([a, text @ ..], [b, with @ ..]) => *a == *b && begins(text, with),
        ([], _) => false,
    }
}
