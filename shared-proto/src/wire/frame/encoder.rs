//! From a body to the bytes of a frame, in one pass and without a second buffer.

use core::fmt;

use crc::Digest;
use postcard::ser_flavors::Flavor;
use serde::Serialize;

use super::stuffing::LONGEST_RUN_CODE;
use super::{CHECKSUM, DELIMITER, MAX_BODY};

/// Why a frame could not be made.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum EncodeError {
    /// The buffer is too small; [`super::MAX_FRAME`] bytes always suffice.
    BufferTooSmall {
        /// Bytes that were offered.
        offered: usize,
    },
    /// The body is longer than a frame carries.
    BodyTooLong {
        /// Most bytes of a body.
        max: usize,
    },
    /// The value has no encoding (a list that does not know its length).
    NotEncodable,
}

impl fmt::Display for EncodeError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::BufferTooSmall { offered } => write!(f, "frame does not fit {offered} bytes"),
            Self::BodyTooLong { max } => write!(f, "body is longer than {max} bytes"),
            Self::NotEncodable => f.write_str("the value has no encoding"),
        }
    }
}

impl core::error::Error for EncodeError {}

/// Writes one frame with this body to the front of `out`; returns its length.
///
/// # Errors
/// When the body is longer than [`MAX_BODY`] or the frame longer than `out`.
pub fn encode(kind: u8, version: u8, body: &[u8], out: &mut [u8]) -> Result<usize, EncodeError> {
    let mut encoder = Encoder::new(kind, version, out)?;
    encoder.body(body)?;
    encoder.finish()
}

/// Writes one frame whose body is this value in postcard's encoding; returns its length.
///
/// # Errors
/// When the body is longer than [`MAX_BODY`], the frame longer than `out`, or the value has no
/// encoding.
pub fn encode_body<T: Serialize + ?Sized>(
    kind: u8,
    version: u8,
    value: &T,
    out: &mut [u8],
) -> Result<usize, EncodeError> {
    let encoder = Encoder::new(kind, version, out)?;
    let mut serializer = postcard::Serializer { output: BodyFlavor { encoder, failed: None } };
    let written = value.serialize(&mut serializer);
    let BodyFlavor { encoder, failed } = serializer.output;
    match (written, failed) {
        (Ok(()), None) => encoder.finish(),
        (_, Some(error)) => Err(error),
        // A value that does not know its own length; no message has one.
        (Err(_), None) => Err(EncodeError::NotEncodable),
    }
}

struct Encoder<'a> {
    out: &'a mut [u8],
    /// Where the code byte of the run in progress stands.
    code_at: usize,
    /// Where the next byte goes.
    at: usize,
    digest: Digest<'static, u32>,
    body_len: usize,
}

impl<'a> Encoder<'a> {
    fn new(kind: u8, version: u8, out: &'a mut [u8]) -> Result<Self, EncodeError> {
        let mut encoder = Self { out, code_at: 0, at: 1, digest: CHECKSUM.digest(), body_len: 0 };
        encoder.checked(&[kind, version])?;
        Ok(encoder)
    }

    fn body(&mut self, bytes: &[u8]) -> Result<(), EncodeError> {
        if bytes.len() > MAX_BODY - self.body_len {
            return Err(EncodeError::BodyTooLong { max: MAX_BODY });
        }
        self.body_len += bytes.len();
        self.checked(bytes)
    }

    fn finish(mut self) -> Result<usize, EncodeError> {
        let crc = self.digest.clone().finalize().to_le_bytes();
        crc.iter().try_for_each(|byte| self.stuff(*byte))?;
        self.end_run()?;
        self.put(self.at - 1, DELIMITER)?;
        Ok(self.at)
    }

    fn checked(&mut self, bytes: &[u8]) -> Result<(), EncodeError> {
        self.digest.update(bytes);
        bytes.iter().try_for_each(|byte| self.stuff(*byte))
    }

    fn stuff(&mut self, byte: u8) -> Result<(), EncodeError> {
        // A run that reached its full length ends only when another byte follows, so that a
        // payload ending there gets no empty run.
        if self.at - self.code_at == usize::from(LONGEST_RUN_CODE) {
            self.end_run()?;
        }
        if byte == 0 {
            return self.end_run();
        }
        self.put(self.at, byte)?;
        self.at += 1;
        Ok(())
    }

    /// Writes the code byte of the run in progress and begins the next one.
    fn end_run(&mut self) -> Result<(), EncodeError> {
        // At most 255, see `stuff`.
        let code = (self.at - self.code_at) as u8;
        self.put(self.code_at, code)?;
        self.code_at = self.at;
        self.at += 1;
        Ok(())
    }

    fn put(&mut self, at: usize, byte: u8) -> Result<(), EncodeError> {
        let offered = self.out.len();
        *self.out.get_mut(at).ok_or(EncodeError::BufferTooSmall { offered })? = byte;
        Ok(())
    }
}

/// Lets postcard write a body straight into the frame, and keeps what went wrong.
struct BodyFlavor<'a> {
    encoder: Encoder<'a>,
    failed: Option<EncodeError>,
}

impl Flavor for BodyFlavor<'_> {
    type Output = ();

    fn try_push(&mut self, data: u8) -> postcard::Result<()> {
        self.try_extend(&[data])
    }

    fn try_extend(&mut self, data: &[u8]) -> postcard::Result<()> {
        self.encoder.body(data).map_err(|error| {
            self.failed = Some(error);
            postcard::Error::SerializeBufferFull
        })
    }

    fn finalize(self) -> postcard::Result<()> {
        Ok(())
    }
}
