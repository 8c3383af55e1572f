//! For tests: a NOR flash stricter than the chip.
//!
//! A word is programmed once between two erasures, aligned, inside the chip, and so that it takes;
//! anything else is a panic. Power can be cut after a number of operations: a program counts one a word, an
//! erase one a quarter of a page, so both can be cut short in the middle.

use embedded_storage_async::nor_flash::{
    ErrorType, NorFlash, NorFlashError, NorFlashErrorKind, ReadNorFlash,
};
use std::vec;
use std::vec::Vec;

pub(crate) const WORD: usize = 4;
pub(crate) const PAGE: usize = 4096;
/// Bytes that the chip programs at once, on their own boundaries.
pub(crate) const PROGRAM: usize = 256;

/// Power is cut.
#[derive(Debug)]
pub(crate) struct Cut;

impl NorFlashError for Cut {
    fn kind(&self) -> NorFlashErrorKind {
        NorFlashErrorKind::Other
    }
}

#[derive(Clone)]
pub(crate) struct StrictFlash {
    pub(crate) bytes: Vec<u8>,
    pub(crate) is_programmed: Vec<bool>,
    /// Operations until the power is cut.
    pub(crate) left: Option<usize>,
    /// Operations done.
    pub(crate) done: usize,
    /// Reads, however many bytes each.
    pub(crate) reads: usize,
    /// Erasures of each page.
    pub(crate) erasures: Vec<usize>,
    /// Programs, each of at most [`PROGRAM`] bytes.
    pub(crate) programs: usize,
}

impl StrictFlash {
    pub(crate) fn new(pages: usize) -> Self {
        Self {
            bytes: vec![0xff; pages * PAGE],
            is_programmed: vec![false; pages * PAGE / WORD],
            left: None,
            done: 0,
            reads: 0,
            erasures: vec![0; pages],
            programs: 0,
        }
    }

    fn operation(&mut self) -> Result<(), Cut> {
        match &mut self.left {
            Some(0) => return Err(Cut),
            Some(left) => *left -= 1,
            None => {}
        }
        self.done += 1;
        Ok(())
    }
}

impl ErrorType for &mut StrictFlash {
    type Error = Cut;
}

impl ReadNorFlash for &mut StrictFlash {
    const READ_SIZE: usize = 1;

    async fn read(&mut self, offset: u32, bytes: &mut [u8]) -> Result<(), Cut> {
        if self.left == Some(0) {
            return Err(Cut);
        }
        self.reads += 1;
        bytes.copy_from_slice(&self.bytes[offset as usize..][..bytes.len()]);
        Ok(())
    }

    fn capacity(&self) -> usize {
        self.bytes.len()
    }
}

impl NorFlash for &mut StrictFlash {
    const WRITE_SIZE: usize = WORD;
    const ERASE_SIZE: usize = PAGE;

    async fn erase(&mut self, from: u32, to: u32) -> Result<(), Cut> {
        let (from, to) = (from as usize, to as usize);
        assert!(from.is_multiple_of(PAGE) && to.is_multiple_of(PAGE) && from < to);
        for quarter in (from..to).step_by(PAGE / 4) {
            self.operation()?;
            self.bytes[quarter..quarter + PAGE / 4].fill(0xff);
            self.is_programmed[quarter / WORD..(quarter + PAGE / 4) / WORD].fill(false);
        }
        for page in from / PAGE..to / PAGE {
            self.erasures[page] += 1;
        }
        Ok(())
    }

    async fn write(&mut self, offset: u32, bytes: &[u8]) -> Result<(), Cut> {
        let offset = offset as usize;
        assert!(offset.is_multiple_of(WORD) && bytes.len().is_multiple_of(WORD));
        self.programs += (offset + bytes.len()).div_ceil(PROGRAM) - offset / PROGRAM;
        for (at, word) in bytes.chunks(WORD).enumerate() {
            let at = offset + at * WORD;
            self.operation()?;
            assert!(!self.is_programmed[at / WORD], "programmed twice at {at:#x}");
            self.is_programmed[at / WORD] = true;
            for (at, byte) in (at..).zip(word) {
                // Programming turns ones into zeros and nothing else.
                self.bytes[at] &= byte;
            }
            assert!(self.bytes[at..at + WORD] == *word, "programmed over damage at {at:#x}");
        }
        Ok(())
    }
}
