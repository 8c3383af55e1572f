//! The flash behind a guard that lets nothing be written until the store is known to be ours.
//!
//! The map underneath repairs what an interrupted write or erase leaves behind, and erases pages for
//! it. That is right for its own pages and wrong for anything else, so the guard stays shut until
//! the pages have been looked at.

use core::ops::Range;

use embedded_storage_async::nor_flash::{
    ErrorType, NorFlash, NorFlashError, NorFlashErrorKind, ReadNorFlash,
};

use crate::constants::STORE_MAX_PAGES;

/// A flash that can be shut against writing, and that knows where the last item ends.
#[derive(Debug)]
pub struct Guarded<S> {
    flash: S,
    open: bool,
    /// End of what was written last, apart from the mark that closes a page.
    end: Option<u32>,
}

/// An error of the flash, or of its guard.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum GuardError<E> {
    /// The flash reported it.
    Flash(E),
    /// A write or an erase was stopped.
    Shut,
}

impl<E: NorFlashError> NorFlashError for GuardError<E> {
    fn kind(&self) -> NorFlashErrorKind {
        match self {
            Self::Flash(error) => error.kind(),
            Self::Shut => NorFlashErrorKind::Other,
        }
    }
}

impl<S: NorFlash> Guarded<S> {
    /// A flash that is shut.
    pub const fn shut(flash: S) -> Self {
        Self { flash, open: false, end: None }
    }

    /// Lets writes through from now on, or no longer.
    pub fn set_open(&mut self, open: bool) {
        self.open = open;
    }

    /// Bytes that are still free in the page that was written last; `None` before anything was.
    pub fn room(&self) -> Option<u32> {
        let (end, page) = (self.end?, S::ERASE_SIZE as u32);
        Some(end.next_multiple_of(page).saturating_sub(Self::mark() + end))
    }

    /// Number of the page that was written last.
    pub fn page(&self) -> Option<u32> {
        Some(self.end? / S::ERASE_SIZE as u32)
    }

    /// Bytes of the mark at either end of a page.
    const fn mark() -> u32 {
        if S::WRITE_SIZE > S::READ_SIZE { S::WRITE_SIZE as u32 } else { S::READ_SIZE as u32 }
    }

    /// The flash itself.
    #[cfg(test)]
    pub(super) fn flash_mut(&mut self) -> &mut S {
        &mut self.flash
    }

    fn pass(&self) -> Result<(), GuardError<S::Error>> {
        if self.open { Ok(()) } else { Err(GuardError::Shut) }
    }
}

impl<S: NorFlash> ErrorType for Guarded<S> {
    type Error = GuardError<S::Error>;
}

impl<S: NorFlash> ReadNorFlash for Guarded<S> {
    const READ_SIZE: usize = S::READ_SIZE;

    async fn read(&mut self, offset: u32, bytes: &mut [u8]) -> Result<(), Self::Error> {
        self.flash.read(offset, bytes).await.map_err(GuardError::Flash)
    }

    fn capacity(&self) -> usize {
        self.flash.capacity()
    }
}

impl<S: NorFlash> NorFlash for Guarded<S> {
    const WRITE_SIZE: usize = S::WRITE_SIZE;
    const ERASE_SIZE: usize = S::ERASE_SIZE;

    async fn erase(&mut self, from: u32, to: u32) -> Result<(), Self::Error> {
        self.pass()?;
        self.flash.erase(from, to).await.map_err(GuardError::Flash)
    }

    async fn write(&mut self, offset: u32, bytes: &[u8]) -> Result<(), Self::Error> {
        self.pass()?;
        let is_closing = (offset + Self::mark()).is_multiple_of(S::ERASE_SIZE as u32);
        if !is_closing {
            self.end = Some(offset + bytes.len() as u32);
        }
        self.flash.write(offset, bytes).await.map_err(GuardError::Flash)
    }
}

/// What one page looks like from outside.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Page {
    /// Erased throughout.
    Blank,
    /// Marked at its start, not at its end: being filled.
    Partial,
    /// Marked at both ends: filled.
    Closed,
    /// Not marked at its start and yet not erased.
    Unmarked,
}

/// What the whole region looks like from outside.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Layout {
    /// Erased throughout.
    Blank,
    /// As the very first write leaves it when it is cut short: a mark and a few bytes.
    Begun,
    /// As the map leaves it.
    Whole,
    /// As the map would take it, but with marks that it does not make: a mark whose writing was cut
    /// short, or somebody else's bytes. Good for reading, not for repairing.
    Doubtful,
    /// As a power cut leaves it while the page at this address is being erased. Everything alive had
    /// been copied to another page before that erase began.
    EraseCutShort(u32),
    /// Neither: not ours, or damaged.
    Foreign,
}

/// A store whose first write was cut short, again and again perhaps, has no more bytes than this.
const BEGUN_BYTES: u32 = 256;

/// Looks at a region of at most [`STORE_MAX_PAGES`] pages without changing it.
///
/// # Errors
/// The flash's.
pub async fn layout<S: NorFlash>(flash: &mut S, region: Range<u32>) -> Result<Layout, S::Error> {
    let page_size = S::ERASE_SIZE as u32;
    let mut pages = heapless::Vec::<Page, STORE_MAX_PAGES>::new();
    let (mut is_exact, mut end) = (true, 0);
    for address in region.clone().step_by(S::ERASE_SIZE) {
        let look = look(flash, address).await?;
        is_exact &= look.is_exact;
        if look.len > 0 {
            end = address - region.start + look.len;
        }
        if pages.push(look.page).is_err() {
            break;
        }
    }
    if end == 0 {
        return Ok(Layout::Blank);
    }
    if is_exact && pages.first() == Some(&Page::Partial) && end <= BEGUN_BYTES {
        return Ok(Layout::Begun);
    }
    let mut unmarked = pages.iter().enumerate().filter(|(_, page)| **page == Page::Unmarked);
    let (first, second) = (unmarked.next(), unmarked.next());
    Ok(match (first, second) {
        (None, _) if is_exact => Layout::Whole,
        (None, _) => Layout::Doubtful,
        (Some((index, _)), None) if is_exact => {
            let previous = pages[(index + pages.len() - 1) % pages.len()];
            let next = pages[(index + 1) % pages.len()];
            // Either the page whose items have just been copied to the one before it, or the copy
            // that is thrown away because copying was itself cut short.
            if previous == Page::Partial || next == Page::Closed {
                Layout::EraseCutShort(region.start + index as u32 * page_size)
            } else {
                Layout::Foreign
            }
        }
        (Some(_), _) => Layout::Foreign,
    })
}

struct Look {
    page: Page,
    /// Its marks, if it has any, are exactly those that the map makes.
    is_exact: bool,
    /// Bytes up to the last one that is not erased.
    len: u32,
}

async fn look<S: NorFlash>(flash: &mut S, address: u32) -> Result<Look, S::Error> {
    /// A multiple of every word size that the map allows.
    const CHUNK: usize = 64;
    // The map writes whole words of zeros, and looks at one unit of reading at either end.
    let (word, unit) = (S::WRITE_SIZE.max(S::READ_SIZE).min(CHUNK), S::READ_SIZE.min(CHUNK));
    let is_zero = |bytes: &[u8]| bytes.iter().all(|byte| *byte == 0);
    let mut chunk = [0; CHUNK];
    let (mut start, mut end, mut is_exact, mut used) = (false, false, true, 0);
    for offset in (0..S::ERASE_SIZE).step_by(CHUNK) {
        let len = CHUNK.min(S::ERASE_SIZE - offset);
        let chunk = &mut chunk[..len];
        flash.read(address + offset as u32, chunk).await?;
        if let Some(last) = chunk.iter().rposition(|byte| *byte != 0xff) {
            used = (offset + last + 1) as u32;
        }
        if offset == 0 {
            start = is_marker(&chunk[..unit.min(len)]);
            is_exact &= !start || is_zero(&chunk[..word.min(len)]);
        }
        if offset + len == S::ERASE_SIZE {
            end = is_marker(&chunk[len - unit.min(len)..]);
            is_exact &= !start || !end || is_zero(&chunk[len - word.min(len)..]);
        }
    }
    let page = match (used, start, end) {
        (0, ..) => Page::Blank,
        (_, true, true) => Page::Closed,
        (_, true, false) => Page::Partial,
        (_, false, _) => Page::Unmarked,
    };
    Ok(Look { page, is_exact, len: used })
}

/// The map's own test: four bits are enough, for a write may have been cut short.
fn is_marker(word: &[u8]) -> bool {
    word.iter().map(|byte| byte.count_zeros()).sum::<u32>() >= 4
}
