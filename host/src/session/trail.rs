//! Where a file stands among its parts, and what is missing, doubled or out of place in it.

use rillmark_proto::reading::Reading;

use super::entry::{Entry, HeaderReason};
use super::recent::{Came, Recent};
use super::replay::Summary;

/// What an entry or a reading stands under.
#[derive(Debug, Default, PartialEq, Eq)]
enum Under {
    /// Nothing: the header is not there.
    #[default]
    Nothing,
    /// A header.
    Header,
    /// An end, which only a header that begins may follow.
    End,
}

/// Follows a file from its beginning.
#[derive(Debug, Default)]
pub(super) struct Trail {
    under: Under,
    /// The beginning of the run is there too.
    began: bool,
    last: Option<(u32, u32)>,
    /// Headers since the last beginning, and readings since they were last as many as was told.
    headers: u32,
    doubtful: u64,
    /// A gap was recorded since the last reading.
    gap: bool,
    /// A mark may have been lost since the last one.
    lost_mark: bool,
    /// The reading that the last mark was written for, when it is the next one: start and ms.
    marked: Option<(u32, u64)>,
    /// Readings since the last beginning or end, and those of them that came again.
    counted: u64,
    again: u64,
    recent: Recent,
}

impl Trail {
    /// Takes an entry.
    pub(super) fn entry(&mut self, entry: &Entry, summary: &mut Summary) {
        match entry {
            Entry::Header(header) if header.reason == HeaderReason::Began => {
                summary.cut_short += u64::from(self.is_open());
                summary.parts += 1;
                (self.under, self.began, self.counted, self.again) = (Under::Header, true, 0, 0);
                (self.headers, self.doubtful) = (1, 0);
                summary.end = None;
                return;
            }
            // Of a file that was put behind another.
            Entry::Opening { .. } if self.under == Under::End => self.under = Under::Nothing,
            _ => self.stray(summary),
        }
        match entry {
            Entry::Header(_) => {
                (self.under, self.headers) = (Under::Header, self.headers.saturating_add(1));
            }
            Entry::Mark(mark) => {
                self.headers_told(mark.headers, summary);
                (self.lost_mark, self.marked) = (false, Some((mark.boot, mark.probe_ms)));
            }
            Entry::GapBegan { .. } => self.gap = true,
            Entry::End { reason, headers, readings, line_damaged_bytes, .. } => {
                self.headers_told(*headers, summary);
                let held = self.counted.saturating_add(self.again);
                let add = |to: &mut u64, more: u64| *to = to.saturating_add(more);
                add(&mut summary.lost_readings, readings.saturating_sub(held));
                add(&mut summary.uncounted_readings, self.counted.saturating_sub(*readings));
                add(&mut summary.line_damaged_bytes, *line_damaged_bytes);
                (self.under, self.began, self.counted, self.again) = (Under::End, false, 0, 0);
                summary.end = Some(*reason);
            }
            _ => {}
        }
    }

    /// Takes a reading; false for one that came before.
    pub(super) fn reading(&mut self, reading: &Reading, summary: &mut Summary) -> bool {
        self.stray(summary);
        match self.recent.take(reading) {
            Came::First => {}
            Came::Again => {
                summary.duplicates += 1;
                self.again += 1;
                return false;
            }
            Came::Otherwise => summary.contradictions += 1,
        }
        let (boot, running) = (reading.time.boot, reading.running);
        // One that does not stand before its reading is not where it was written.
        self.lost_mark |= self.marked.take().is_some_and(|of| of != (boot, reading.time.ms));
        let gap = std::mem::take(&mut self.gap);
        let step = match self.last {
            Some((last_boot, last)) if last_boot == boot => {
                let step = i64::from(running) - i64::from(last);
                summary.missing_readings += u64::try_from(step - 1).unwrap_or(0);
                step != 1
            }
            Some(_) => true,
            None => false,
        };
        summary.gaps += u64::from(gap || step);
        summary.readings += 1;
        match self.under {
            Under::Header => self.doubtful += 1,
            Under::Nothing | Under::End => summary.without_header += 1,
        }
        self.counted += 1;
        self.last = Some((boot, running));
        true
    }

    /// So many headers were written; where there are others, one is gone or of another file.
    fn headers_told(&mut self, headers: u32, summary: &mut Summary) {
        if self.under == Under::Header && headers != self.headers {
            summary.without_header += self.doubtful;
            self.under = Under::Nothing;
        }
        (self.headers, self.doubtful) = (headers, 0);
    }

    /// Bytes that nobody can read: a mark may have been among them.
    pub(super) const fn unread(&mut self) {
        self.lost_mark = true;
    }

    /// Whether the clock may have been set before the last reading, unseen.
    pub(super) const fn may_lack_a_mark(&self) -> bool {
        self.lost_mark
    }

    /// Anything but the beginning of another part.
    pub(super) fn stray(&mut self, summary: &mut Summary) {
        if self.under == Under::End {
            summary.behind_end += 1;
            summary.end = None;
        }
    }

    /// The file is over.
    pub(super) fn over(self, summary: &mut Summary) {
        summary.gaps += u64::from(self.gap);
        summary.cut_short += u64::from(self.is_open());
    }

    /// A run that began has not ended.
    fn is_open(&self) -> bool {
        self.began && self.under == Under::Header
    }
}
