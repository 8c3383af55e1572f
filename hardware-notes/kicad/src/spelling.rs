//! How KiCad's files spell text, lengths and identities.

use sha2::{Digest, Sha256};

/// Text in quotation marks.
pub(crate) fn quoted(text: &str) -> String {
    format!("\"{}\"", text.replace('\\', "\\\\").replace('"', "\\\""))
}

/// A length in mm, to a tenth of a micrometre.
pub(crate) fn mm(length: f64) -> String {
    let text = format!("{length:.4}");
    let text = text.trim_end_matches('0').trim_end_matches('.');
    if text == "-0" { "0".to_owned() } else { text.to_owned() }
}

/// An identity that is the same whenever the files are made: a UUID of version 8 (RFC 9562) from the
/// SHA-256 of what it stands for.
pub(crate) fn identity(of: &str) -> String {
    let digest = Sha256::digest(of.as_bytes());
    let mut bytes = [0; 16];
    bytes.copy_from_slice(&digest[..16]);
    bytes[6] = bytes[6] & 0x0f | 0x80;
    bytes[8] = bytes[8] & 0x3f | 0x80;
    let hex: String = bytes.iter().map(|byte| format!("{byte:02x}")).collect();
    format!("{}-{}-{}-{}-{}", &hex[..8], &hex[8..12], &hex[12..16], &hex[16..20], &hex[20..])
}

/// The identity of a part's symbol, which its footprint refers to.
pub(crate) fn symbol_identity(part: &str) -> String {
    identity(&format!("symbol {part}"))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lengths_have_no_zeros_at_their_ends() {
        let written = [(2.54, "2.54"), (-0.00001, "0"), (10.0, "10"), (-1.27, "-1.27"), (0.0, "0")];
        for (length, text) in written {
            assert_eq!(mm(length), text);
        }
    }

    #[test]
    fn an_identity_is_that_of_its_text() {
        assert_eq!(identity("a"), identity("a"));
        assert_ne!(identity("a"), identity("b"));
        let shape: Vec<usize> = identity("a").split('-').map(str::len).collect();
        assert_eq!(shape, [8, 4, 4, 4, 12]);
    }

    #[test]
    fn quotation_marks_in_a_text_do_not_end_it() {
        assert_eq!(quoted(r#"a"b\"#), r#""a\"b\\""#);
    }
}
