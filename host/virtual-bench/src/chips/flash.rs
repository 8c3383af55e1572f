//! A NOR flash with a file behind it, stricter than a real chip: a word is written once between
//! two erasures, and everything is aligned.
//!
//! A write reaches the file before it is reported done, so a killed process loses nothing that it
//! was told is stored.

use std::cell::RefCell;
use std::fs::{File, OpenOptions, TryLockError};
use std::io::{Read, Seek, SeekFrom, Write};
use std::path::{Path, PathBuf};
use std::rc::Rc;

use embedded_storage_async::nor_flash::{
    ErrorType, NorFlash, NorFlashError, NorFlashErrorKind, ReadNorFlash,
};

use crate::error::BenchError;
use crate::time::{Clock, NS_PER_MS};

/// Bytes of the store's flash: 16 sectors.
pub const CAPACITY: usize = 16 * SECTOR;
/// Bytes of a sector, the smallest part that is erased.
pub const SECTOR: usize = 4_096;
/// Bytes of a word, the smallest part that is written.
pub const WORD: usize = 4;
/// Bytes of a page, which is programmed in one go.
const PAGE: usize = 256;
/// Time to erase a sector, in ns (45 ms typical of the chip class by data sheet).
const ERASE_NS: u64 = 45 * NS_PER_MS;
/// Time to program a page, in ns (0.4 ms typical of the chip class by data sheet).
const PROGRAM_NS: u64 = 400_000;

/// What the flash refused.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum FlashError {
    /// The address or length is not on a boundary.
    NotAligned,
    /// The range ends outside the chip.
    OutOfBounds,
    /// The word at this address was written since its last erasure.
    WrittenTwice(u32),
    /// The file behind the flash could not be written.
    File,
}

impl NorFlashError for FlashError {
    fn kind(&self) -> NorFlashErrorKind {
        match self {
            Self::NotAligned => NorFlashErrorKind::NotAligned,
            Self::OutOfBounds => NorFlashErrorKind::OutOfBounds,
            Self::WrittenTwice(_) | Self::File => NorFlashErrorKind::Other,
        }
    }
}

#[derive(Debug)]
struct Array {
    bytes: Vec<u8>,
    /// Which words were written since their erasure.
    written: Vec<bool>,
    file: Option<File>,
    erasures: u64,
    programmed: u64,
}

/// The chip; clones are handles to the same one.
#[derive(Clone, Debug)]
pub(crate) struct Flash {
    array: Rc<RefCell<Array>>,
    clock: Clock,
}

/// How much the flash was used since the bench was built.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Wear {
    /// Sectors erased.
    pub erasures: u64,
    /// Bytes programmed.
    pub programmed: u64,
}

impl Flash {
    /// An erased chip, or the one that the file holds; the file is made when it does not exist.
    pub(crate) fn open(path: Option<&Path>, clock: Clock) -> Result<Self, BenchError> {
        let (bytes, file) = match path {
            Some(path) => {
                let (bytes, file) = open_file(path)?;
                (bytes, Some(file))
            }
            None => (vec![0xFF; CAPACITY], None),
        };
        // What a file holds beside 0xFF was written; a word of 0xFF may be written (again).
        let written =
            bytes.chunks(WORD).map(|word| word.iter().any(|&byte| byte != 0xFF)).collect();
        let array = Array { bytes, written, file, erasures: 0, programmed: 0 };
        Ok(Self { array: Rc::new(RefCell::new(array)), clock })
    }

    /// The whole content.
    pub(crate) fn image(&self) -> Vec<u8> {
        self.array.borrow().bytes.clone()
    }

    pub(crate) fn wear(&self) -> Wear {
        let array = self.array.borrow();
        Wear { erasures: array.erasures, programmed: array.programmed }
    }
}

fn open_file(path: &Path) -> Result<(Vec<u8>, File), BenchError> {
    let failed = |cause| BenchError::FlashFile { path: PathBuf::from(path), cause };
    let mut file = OpenOptions::new()
        .read(true)
        .write(true)
        .create(true)
        .truncate(false)
        .open(path)
        .map_err(failed)?;
    match file.try_lock() {
        Ok(()) => {}
        Err(TryLockError::WouldBlock) => {
            return Err(BenchError::FlashBusy { path: PathBuf::from(path) });
        }
        Err(TryLockError::Error(cause)) => return Err(failed(cause)),
    }
    let found = file.metadata().map_err(failed)?.len();
    if found == 0 {
        let bytes = vec![0xFF; CAPACITY];
        file.write_all(&bytes).map_err(failed)?;
        return Ok((bytes, file));
    }
    let expected = CAPACITY as u64;
    if found != expected {
        return Err(BenchError::ForeignFlash { path: PathBuf::from(path), found, expected });
    }
    let mut bytes = Vec::with_capacity(CAPACITY);
    file.read_to_end(&mut bytes).map_err(failed)?;
    Ok((bytes, file))
}

impl Array {
    /// The range as indices, when it lies on boundaries of `unit` inside the chip.
    fn range(from: u32, length: usize, unit: usize) -> Result<std::ops::Range<usize>, FlashError> {
        let from = from as usize;
        let to = from.checked_add(length).ok_or(FlashError::OutOfBounds)?;
        if !from.is_multiple_of(unit) || !length.is_multiple_of(unit) {
            return Err(FlashError::NotAligned);
        }
        if to > CAPACITY { Err(FlashError::OutOfBounds) } else { Ok(from..to) }
    }

    fn program(&mut self, offset: u32, bytes: &[u8]) -> Result<(), FlashError> {
        let range = Self::range(offset, bytes.len(), WORD)?;
        let words = range.start / WORD..range.end / WORD;
        if let Some(word) = words.clone().find(|&word| self.written[word]) {
            return Err(FlashError::WrittenTwice((word * WORD) as u32));
        }
        self.keep_in_file(range.start, bytes)?;
        self.bytes[range].copy_from_slice(bytes);
        self.written[words].fill(true);
        self.programmed += bytes.len() as u64;
        Ok(())
    }

    fn erase(&mut self, from: u32, to: u32) -> Result<(), FlashError> {
        let length = to.checked_sub(from).ok_or(FlashError::OutOfBounds)?;
        let range = Self::range(from, length as usize, SECTOR)?;
        self.keep_in_file(range.start, &vec![0xFF; range.len()])?;
        self.erasures += (range.len() / SECTOR) as u64;
        self.written[range.start / WORD..range.end / WORD].fill(false);
        self.bytes[range].fill(0xFF);
        Ok(())
    }

    fn keep_in_file(&mut self, at: usize, bytes: &[u8]) -> Result<(), FlashError> {
        let Some(file) = &mut self.file else {
            return Ok(());
        };
        file.seek(SeekFrom::Start(at as u64))
            .and_then(|_| file.write_all(bytes))
            .map_err(|_| FlashError::File)
    }
}

impl ErrorType for Flash {
    type Error = FlashError;
}

impl ReadNorFlash for Flash {
    const READ_SIZE: usize = 1;

    async fn read(&mut self, offset: u32, bytes: &mut [u8]) -> Result<(), FlashError> {
        let range = Array::range(offset, bytes.len(), Self::READ_SIZE)?;
        bytes.copy_from_slice(&self.array.borrow().bytes[range]);
        Ok(())
    }

    fn capacity(&self) -> usize {
        CAPACITY
    }
}

impl NorFlash for Flash {
    const WRITE_SIZE: usize = WORD;
    const ERASE_SIZE: usize = SECTOR;

    async fn erase(&mut self, from: u32, to: u32) -> Result<(), FlashError> {
        self.array.borrow_mut().erase(from, to)?;
        let sectors = ((to - from) as usize / SECTOR) as u64;
        self.clock.sleep(ERASE_NS * sectors).await;
        Ok(())
    }

    async fn write(&mut self, offset: u32, bytes: &[u8]) -> Result<(), FlashError> {
        self.array.borrow_mut().program(offset, bytes)?;
        self.clock.sleep(PROGRAM_NS * bytes.len().div_ceil(PAGE) as u64).await;
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::{Array, CAPACITY, Flash, FlashError, SECTOR};
    use crate::error::BenchError;
    use crate::time::Clock;

    fn flash(path: Option<&std::path::Path>) -> Result<Flash, BenchError> {
        Flash::open(path, Clock::new())
    }

    #[test]
    fn strict_about_boundaries_and_writing_twice() {
        let flash = flash(None).unwrap();
        let mut array = flash.array.borrow_mut();
        assert_eq!(array.program(2, &[0; 4]), Err(FlashError::NotAligned));
        assert_eq!(array.program(0, &[0; 3]), Err(FlashError::NotAligned));
        assert_eq!(array.program(CAPACITY as u32, &[0; 4]), Err(FlashError::OutOfBounds));
        assert_eq!(array.erase(0, 100), Err(FlashError::NotAligned));
        assert_eq!(array.erase(SECTOR as u32, 0), Err(FlashError::OutOfBounds));
        assert_eq!(Array::range(u32::MAX, 1, 1), Err(FlashError::OutOfBounds));
        array.program(8, &[0xFF; 4]).unwrap();
        assert_eq!(array.program(4, &[1; 8]), Err(FlashError::WrittenTwice(8)));
        assert_eq!(array.bytes[4..12], [0xFF; 8], "nothing of a refused write is done");
        array.erase(0, SECTOR as u32).unwrap();
        array.program(4, &[1; 8]).unwrap();
        assert_eq!(array.bytes[4..12], [1; 8]);
    }

    #[test]
    fn the_file_holds_every_write_at_once_and_is_taken_up_again() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("probe.flash");
        let first = flash(Some(&path)).unwrap();
        first.array.borrow_mut().program(SECTOR as u32, &[7; 8]).unwrap();
        assert_eq!(std::fs::read(&path).unwrap(), first.image());
        assert!(matches!(flash(Some(&path)), Err(BenchError::FlashBusy { .. })));
        let image = first.image();
        drop(first);
        let again = flash(Some(&path)).unwrap();
        assert_eq!(again.image(), image);
        let twice = again.array.borrow_mut().program(SECTOR as u32, &[0; 4]);
        assert_eq!(twice, Err(FlashError::WrittenTwice(SECTOR as u32)));
    }

    #[test]
    fn a_foreign_file_is_left_alone() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("letter.txt");
        std::fs::write(&path, "Dear lake").unwrap();
        assert!(matches!(flash(Some(&path)), Err(BenchError::ForeignFlash { found: 9, .. })));
        assert_eq!(std::fs::read_to_string(&path).unwrap(), "Dear lake");
    }
}
