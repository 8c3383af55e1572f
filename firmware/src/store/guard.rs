//! The flash behind a guard: nothing is written until the store is known to be ours, and never over
//! what is not blank.
//!
//! The map underneath repairs what an interrupted write or erase leaves behind, and erases pages for
//! it. That is right for its own pages and wrong for anything else, so the guard stays shut until
//! the pages have been looked at. And the map takes what follows a blank item header for blank: where
//! flash has turned to ones in between, or to zeros behind, it would write over it.

use embedded_storage_async::nor_flash::{
    ErrorType, NorFlash, NorFlashError, NorFlashErrorKind, ReadNorFlash,
};

use super::layout::word;

/// A flash that can be shut against writing, and that knows where the last item ends.
#[derive(Debug)]
pub struct Guarded<S> {
    flash: S,
    open: bool,
    /// End of what was written last, apart from the mark that closes a page.
    end: Option<u32>,
    /// The page behind whose last item everything was found to be blank.
    is_blank_behind: Option<u32>,
}

/// An error of the flash, or of its guard.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum GuardError<E> {
    /// The flash reported it.
    Flash(E),
    /// A write or an erase was stopped.
    Shut,
    /// A write to the page at this address was stopped: it is not blank from there to its end.
    NotBlank {
        /// Where the page begins.
        page: u32,
        /// Nothing in it is known to be in use: its very mark was to be written.
        is_unused: bool,
    },
}

impl<E: NorFlashError> NorFlashError for GuardError<E> {
    fn kind(&self) -> NorFlashErrorKind {
        match self {
            Self::Flash(error) => error.kind(),
            Self::Shut | Self::NotBlank { .. } => NorFlashErrorKind::Other,
        }
    }
}

impl<S: NorFlash> Guarded<S> {
    /// A flash that is shut.
    pub const fn shut(flash: S) -> Self {
        Self { flash, open: false, end: None, is_blank_behind: None }
    }

    /// Lets writes through from now on, or no longer.
    pub fn set_open(&mut self, open: bool) {
        self.open = open;
    }

    /// End of what was written last, apart from the mark that closes a page; forgotten then.
    pub fn take_end(&mut self) -> Option<u32> {
        self.end.take()
    }

    /// Writes the mark that closes a page.
    ///
    /// # Errors
    /// The flash's.
    pub async fn close(&mut self, page: u32) -> Result<(), GuardError<S::Error>> {
        /// The longest word that the map allows.
        const ZEROS: [u8; 32] = [0; 32];
        let word = word::<S>();
        self.write(page + (S::ERASE_SIZE - word) as u32, &ZEROS[..word]).await
    }

    /// The flash itself.
    #[cfg(test)]
    pub(super) fn flash_mut(&mut self) -> &mut S {
        &mut self.flash
    }

    fn pass(&self) -> Result<(), GuardError<S::Error>> {
        if self.open { Ok(()) } else { Err(GuardError::Shut) }
    }

    /// Makes sure that the page is blank from this address on. Looked at once a page.
    async fn is_blank_behind(&mut self, offset: u32) -> Result<(), GuardError<S::Error>> {
        const CHUNK: usize = 256;
        let page = offset / S::ERASE_SIZE as u32 * S::ERASE_SIZE as u32;
        if self.is_blank_behind == Some(page) {
            return Ok(());
        }
        let mut chunk = [0; CHUNK];
        for at in (offset..page + S::ERASE_SIZE as u32).step_by(CHUNK) {
            let len = CHUNK.min((page + S::ERASE_SIZE as u32 - at) as usize);
            self.read(at, &mut chunk[..len]).await?;
            if chunk[..len].iter().any(|byte| *byte != 0xff) {
                return Err(GuardError::NotBlank { page, is_unused: offset == page });
            }
        }
        self.is_blank_behind = Some(page);
        Ok(())
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
        let is_closing = (offset + word::<S>() as u32).is_multiple_of(S::ERASE_SIZE as u32);
        if !is_closing {
            self.is_blank_behind(offset).await?;
            self.end = Some(offset + bytes.len() as u32);
        }
        self.flash.write(offset, bytes).await.map_err(GuardError::Flash)
    }
}
