//! What the pages of a map look like from outside, before anything is written to them.
//!
//! The map fills its pages one after the other, round and round: some that are closed, one that is being
//! filled, some that are blank. It takes marks at their word, and erases pages for it; a mark that was
//! damaged would have it erase what is alive. So the order of the marks is looked at first, and whatever
//! neither the map nor a power cut leaves is not touched.

use core::ops::Range;

use embedded_storage_async::nor_flash::NorFlash;
use heapless::Vec;

use crate::constants::STORE_MAX_PAGES;

/// What a map's region looks like.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Layout {
    pub(super) kind: Kind,
    /// Pages to erase before the map is used: a power cut left them half erased, half marked or copied
    /// elsewhere, or a few bytes of a blank page were damaged. Nothing alive is in them.
    pub(super) erase: Vec<u32, MOST_ERASED>,
    /// Something was damaged that no power cut explains.
    pub(super) is_damaged: bool,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Kind {
    /// Erased throughout.
    Blank,
    /// As the very first write leaves it when it is cut short: a mark and a few bytes.
    Begun,
    /// As the map or a power cut leaves it.
    Whole,
    /// The same, but with marks that the map does not make: a mark whose writing was cut short, or
    /// somebody else's bytes.
    Doubtful,
    /// None of these: not ours, or damaged.
    Foreign,
}

/// A store whose first write was cut short, again and again perhaps, has no more bytes than this.
const BEGUN_BYTES: u32 = 256;
/// More bytes than these in a page without a mark are not damage to a blank page.
const DIRT_BYTES: u32 = 256;
/// Pages erased before a map is used, at the most.
const MOST_ERASED: usize = 2;

/// Looks at a region of at most [`STORE_MAX_PAGES`] pages without changing it.
///
/// # Errors
/// The flash's.
pub(super) async fn layout<S: NorFlash>(
    flash: &mut S,
    region: Range<u32>,
) -> Result<Layout, S::Error> {
    let mut pages = Vec::<Page, STORE_MAX_PAGES>::new();
    for address in region.clone().step_by(S::ERASE_SIZE) {
        if pages.push(look(flash, address).await?).is_err() {
            break;
        }
    }
    let mut layout = judge(&pages, word::<S>() as u32);
    for page in &mut layout.erase {
        *page = region.start + *page * S::ERASE_SIZE as u32;
    }
    Ok(layout)
}

/// Bytes of the mark at either end of a page.
pub(super) const fn word<S: NorFlash>() -> usize {
    if S::WRITE_SIZE > S::READ_SIZE { S::WRITE_SIZE } else { S::READ_SIZE }
}

/// What one page looks like.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
struct Page {
    /// Marked at its start, as every page is that is used.
    start: bool,
    /// Marked at its end, as a page is that is full.
    end: bool,
    /// Its marks are exactly those that the map makes.
    is_exact: bool,
    /// Bytes up to the last one that is not erased.
    len: u32,
    /// Bytes that are not erased.
    count: u32,
}

impl Page {
    const fn is_blank(&self) -> bool {
        self.count == 0
    }
    const fn is_closed(&self) -> bool {
        self.start && self.end
    }
    const fn is_partial(&self) -> bool {
        self.start && !self.end
    }
    /// As a page looks while it is erased, or with a damaged mark.
    const fn is_unmarked(&self) -> bool {
        !self.start && !self.is_blank()
    }
}

/// The pages' numbers stand in `erase`.
fn judge(pages: &[Page], word: u32) -> Layout {
    let is_exact = pages.iter().all(|page| page.is_exact);
    let found = ring(pages, word).filter(|(erase, _)| is_exact || erase.is_empty());
    let Some((erase, is_damaged)) = found else {
        return Layout { kind: Kind::Foreign, erase: Vec::new(), is_damaged: true };
    };
    let is_used = |at: usize| !erase.contains(&(at as u32)) && !pages[at].is_blank();
    let kind = match (0..pages.len()).rfind(|at| is_used(*at)) {
        None => Kind::Blank,
        Some(_) if !is_exact => Kind::Doubtful,
        Some(0) if pages[0].is_partial() && pages[0].len <= BEGUN_BYTES => Kind::Begun,
        Some(_) => Kind::Whole,
    };
    Layout { kind, erase, is_damaged }
}

/// Which pages are to be erased, and whether one of them was damaged; `None` when the pages do not stand
/// as the map fills them.
fn ring(pages: &[Page], word: u32) -> Option<(Vec<u32, MOST_ERASED>, bool)> {
    let count = pages.len();
    let closed = pages.iter().filter(|page| page.is_closed()).count();
    let mut partial = (0..count).filter(|at| pages[*at].is_partial());
    let one = |page: usize| (Vec::from_iter([page as u32]), false);
    match (partial.next(), partial.next(), partial.next()) {
        // The page was closed, and the next one not marked, or with a mark cut short; or the page that was
        // copied to is erased, since copying was itself cut short, to be copied to again.
        (None, ..) => {
            let after = |at: &usize| pages[(at + count - 1) % count].is_closed() || closed == 0;
            let next = (0..count).find(|at| !pages[*at].is_closed() && after(at))?;
            let mut others = (1..count).map(|further| &pages[(next + further) % count]);
            let is_ring = others.by_ref().take(count - closed - 1).all(Page::is_blank)
                && others.all(Page::is_closed);
            let is_cut = closed + 1 == count || pages[next].len <= word;
            match pages[next].is_blank() {
                _ if !is_ring => None,
                true => Some((Vec::new(), false)),
                false => is_cut.then(|| one(next)),
            }
        }
        (Some(partial), None, _) => {
            let after = |further: usize| (partial + further) % count;
            let lead = (1..count).take_while(|further| !pages[after(*further)].is_closed()).count();
            if !(lead + 1..count).all(|further| pages[after(further)].is_closed()) {
                return None;
            }
            let next = after(1);
            // The page whose items have just been copied is erased.
            if lead == 1 && pages[next].is_unmarked() {
                return Some(one(next));
            }
            let mut dirty = Vec::new();
            for page in (1..=lead).map(after).filter(|at| !pages[*at].is_blank()) {
                if pages[page].end || pages[page].count > DIRT_BYTES {
                    return None;
                }
                dirty.push(page as u32).ok()?;
            }
            let is_damaged = !dirty.is_empty();
            Some((dirty, is_damaged))
        }
        // The same, and its end went first.
        (Some(first), Some(second), None) if count > 2 && closed + 2 == count => {
            let is_next = |one: usize, other: usize| (one + 1) % count == other;
            let pairs = [(first, second), (second, first)];
            pairs
                .into_iter()
                .find(|(one, other)| is_next(*one, *other))
                .map(|(_, erased)| one(erased))
        }
        _ => None,
    }
}

async fn look<S: NorFlash>(flash: &mut S, address: u32) -> Result<Page, S::Error> {
    /// A multiple of every word size that the map allows.
    const CHUNK: usize = 64;
    // The map writes whole words of zeros, and looks at one unit of reading at either end.
    let (word, unit) = (word::<S>().min(CHUNK), S::READ_SIZE.min(CHUNK));
    let is_zero = |bytes: &[u8]| bytes.iter().all(|byte| *byte == 0);
    let mut chunk = [0; CHUNK];
    let mut page = Page { is_exact: true, ..Page::default() };
    for offset in (0..S::ERASE_SIZE).step_by(CHUNK) {
        let len = CHUNK.min(S::ERASE_SIZE - offset);
        let chunk = &mut chunk[..len];
        flash.read(address + offset as u32, chunk).await?;
        if let Some(last) = chunk.iter().rposition(|byte| *byte != 0xff) {
            page.len = (offset + last + 1) as u32;
            page.count += chunk.iter().filter(|byte| **byte != 0xff).count() as u32;
        }
        if offset == 0 {
            page.start = is_marker(&chunk[..unit.min(len)]);
            page.is_exact &= !page.start || is_zero(&chunk[..word.min(len)]);
        }
        if offset + len == S::ERASE_SIZE {
            page.end = is_marker(&chunk[len - unit.min(len)..]);
            let is_closed = page.start && page.end;
            page.is_exact &= !is_closed || is_zero(&chunk[len - word.min(len)..]);
        }
    }
    Ok(page)
}

/// The map's own test: four bits are enough, for a write may have been cut short.
fn is_marker(word: &[u8]) -> bool {
    word.iter().map(|byte| byte.count_zeros()).sum::<u32>() >= 4
}

#[cfg(test)]
#[path = "layout_tests.rs"]
mod tests;
