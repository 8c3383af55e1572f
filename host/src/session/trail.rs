//! Where a file stands among its parts, and what is missing, doubled or out of place in it.

use std::collections::{BTreeMap, BTreeSet};

use rillmark_proto::identity::{BoardId, ShortId};
use rillmark_proto::reading::Reading;

use super::entry::{Entry, Header, HeaderReason, Mark};
use super::recent::{Came, Recent};
use super::replay::Summary;

/// The most runs that are known again when they stand in the file twice.
const MOST_RUNS: usize = 10_000;

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

/// By what a run that stands in the file twice is known: board, start and time of its beginning.
type RunKey = (BoardId, u32, u64, i64);

/// A run that was read.
#[derive(Clone, Copy, Debug, Default)]
struct Run {
    first_mark: Option<Mark>,
    /// Start and number of its newest reading.
    newest: Option<(u32, u32)>,
}

/// How a reading follows the one before it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Step {
    /// Readings are missing before it.
    pub(super) is_gap: bool,
}

/// Follows a file from its beginning.
#[derive(Debug, Default)]
pub(super) struct Trail {
    under: Under,
    /// The beginning of the run is there too.
    began: bool,
    /// The board of the first header, and that of the last one.
    first_board: Option<BoardId>,
    board: Option<BoardId>,
    last: Option<(u32, u32)>,
    /// The last reading that came behind newer ones.
    behind: Option<u32>,
    /// The start of the last reading of the run.
    boot: Option<u32>,
    /// Headers since the last beginning, and readings since they were last as many as was told.
    headers: u32,
    doubtful: u64,
    /// A gap was recorded since the last reading.
    gap: bool,
    /// A mark may have been lost since the last one.
    lost_mark: bool,
    /// The reading that the last mark was written for, when it is the next one: start and ms.
    marked: Option<(u32, u64)>,
    /// Readings since the last beginning or end, doubles apart.
    counted: u64,
    recent: Recent,
    /// Records that headers of the run have in force, or that were fetched in it.
    known: BTreeSet<ShortId>,
    /// The runs so far, and which of them this is.
    runs: BTreeMap<RunKey, Run>,
    run: Option<RunKey>,
    /// A run with the same beginning, until the first mark says whether it is this one.
    alike: Option<Run>,
    /// What the file holds of this run already: up to this reading.
    repeated: Option<(u32, u32)>,
}

impl Trail {
    /// Takes an entry.
    pub(super) fn entry(&mut self, entry: &Entry, summary: &mut Summary) {
        match entry {
            Entry::Header(header) if header.reason == HeaderReason::Began => {
                summary.cut_short += u64::from(self.is_open());
                summary.parts += 1;
                (self.under, self.began) = (Under::Header, true);
                self.headers = 1;
                self.run_anew();
                self.header(header);
                self.begin(header);
                summary.end = None;
                return;
            }
            // Of a file that was put behind another: nothing of that one stands above it.
            Entry::Opening { .. } => {
                summary.cut_short += u64::from(self.is_open());
                summary.gaps += u64::from(self.gap);
                (self.under, self.began) = (Under::Nothing, false);
                (self.gap, self.lost_mark, self.headers) = (false, false, 0);
                self.run_anew();
                summary.end = None;
                return;
            }
            _ => self.stray(summary),
        }
        match entry {
            Entry::Header(header) => {
                (self.under, self.headers) = (Under::Header, self.headers.saturating_add(1));
                self.header(header);
            }
            Entry::Record { id, .. } => {
                self.known.insert(id.short());
            }
            Entry::Mark(mark) => {
                self.headers_told(mark.headers, summary);
                (self.lost_mark, self.marked) = (false, Some((mark.boot, mark.probe_ms)));
                self.first_mark(mark, summary);
            }
            Entry::GapBegan { .. } => self.gap = true,
            Entry::End { reason, headers, readings, line_damaged_bytes, .. } => {
                self.headers_told(*headers, summary);
                let add = |to: &mut u64, more: u64| *to = to.saturating_add(more);
                add(&mut summary.lost_readings, readings.saturating_sub(self.counted));
                add(&mut summary.uncounted_readings, self.counted.saturating_sub(*readings));
                add(&mut summary.line_damaged_bytes, *line_damaged_bytes);
                (self.under, self.began, self.counted) = (Under::End, false, 0);
                summary.end = Some(*reason);
            }
            _ => {}
        }
    }

    /// What was known of the run before says nothing about the next.
    fn run_anew(&mut self) {
        (self.counted, self.doubtful, self.recent) = (0, 0, Recent::default());
        (self.boot, self.marked, self.run) = (None, None, None);
        (self.alike, self.repeated) = (None, None);
        self.known.clear();
    }

    fn header(&mut self, header: &Header) {
        if self.board.is_some_and(|board| board != header.board) {
            (self.last, self.behind, self.boot) = (None, None, None);
            self.recent = Recent::default();
        }
        self.board = Some(header.board);
        self.first_board.get_or_insert(header.board);
        self.known.extend(header.in_force.iter().map(|id| id.short()));
    }

    fn begin(&mut self, header: &Header) {
        let key = (header.board, header.boot, header.at.monotonic_ms, header.at.utc_ms);
        self.alike = self.runs.get(&key).copied();
        if self.alike.is_none() && self.runs.len() < MOST_RUNS {
            self.runs.insert(key, Run::default());
        }
        self.run = Some(key);
    }

    /// A run that begins as another one does and has the same first mark is that one.
    fn first_mark(&mut self, mark: &Mark, summary: &mut Summary) {
        let Some(run) = self.run else { return };
        if let Some(alike) = self.alike.take() {
            if alike.first_mark == Some(*mark) {
                self.repeated = alike.newest;
                summary.repeated_runs += 1;
            } else {
                self.run = None;
            }
        } else if let Some(run) = self.runs.get_mut(&run) {
            run.first_mark.get_or_insert(*mark);
        }
    }

    /// Takes a reading; none for one that came before.
    pub(super) fn reading(&mut self, reading: &Reading, summary: &mut Summary) -> Option<Step> {
        self.stray(summary);
        if self.alike.take().is_some() {
            self.run = None;
        }
        match self.recent.take(reading) {
            Came::First => {}
            Came::Again => {
                summary.duplicates += 1;
                return None;
            }
            Came::Otherwise => summary.contradictions += 1,
        }
        self.counted += 1;
        let (boot, running) = (reading.time.boot, reading.running);
        // One that does not stand before its reading is not where it was written.
        // One that goes back in its run, or is of another start, has one of its own.
        let is_back =
            self.last.is_some_and(|(last_boot, last)| last_boot != boot || running <= last);
        let is_out_of_place = self.boot.is_some() && is_back;
        let marked = self.marked.take();
        let is_marked = marked == Some((boot, reading.time.ms));
        self.lost_mark |= (marked.is_some() || is_out_of_place) && !is_marked;
        let gap = std::mem::take(&mut self.gap);
        if self.repeated.is_some_and(|newest| (boot, running) <= newest) {
            summary.duplicates += 1;
            return None;
        }
        if let Some(run) = self.run.and_then(|run| self.runs.get_mut(&run)) {
            run.newest = run.newest.max(Some((boot, running)));
        }
        let is_first = self.last.is_none();
        let is_gap = gap | self.steps(boot, running, summary);
        // Where readings are missing there is a mark, unless it is gone with them.
        self.lost_mark |= is_gap && !is_first && !is_marked;
        summary.restarts += u64::from(self.boot.replace(boot).is_some_and(|last| last != boot));
        summary.gaps += u64::from(is_gap);
        summary.readings += 1;
        match self.under {
            Under::Header => {
                self.doubtful += 1;
                summary.other_board += u64::from(self.board != self.first_board);
                let used = reading.calibrations;
                let mut used = [used.ph, used.conductivity, used.temperature].into_iter().flatten();
                let is_unknown = used.any(|short| !self.known.contains(&short));
                summary.not_in_force += u64::from(is_unknown);
            }
            Under::Nothing | Under::End => summary.without_header += 1,
        }
        Some(Step { is_gap })
    }

    /// Whether readings are missing before this one by its number.
    fn steps(&mut self, boot: u32, running: u32, summary: &mut Summary) -> bool {
        let follows = |before: u32| before.checked_add(1) == Some(running);
        match self.last {
            // One that comes late says nothing about those that come after it.
            Some((last_boot, last))
                if last_boot == boot && running <= last && self.boot.is_some() =>
            {
                !self.behind.replace(running).is_some_and(follows)
            }
            Some((last_boot, last)) => {
                (self.last, self.behind) = (Some((boot, running)), None);
                if last_boot == boot && running > last {
                    summary.missing_readings += u64::from(running - last - 1);
                }
                last_boot != boot || !follows(last)
            }
            None => {
                (self.last, self.behind) = (Some((boot, running)), None);
                false
            }
        }
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

/// Counts the parts of a file that are of one log file and one board: what was learnt of the probe's starts in
/// one says nothing about those of another.
#[derive(Debug, Default)]
pub(super) struct Stretches {
    board: Option<BoardId>,
    number: u32,
}

impl Stretches {
    /// Takes an entry; true when another stretch begins with it.
    pub(super) fn take(&mut self, entry: &Entry) -> bool {
        let is_other = match entry {
            Entry::Opening { .. } => {
                self.board = None;
                true
            }
            Entry::Header(header) => {
                self.board.replace(header.board).is_some_and(|board| board != header.board)
            }
            _ => false,
        };
        self.number = self.number.saturating_add(u32::from(is_other));
        is_other
    }

    /// Its number in the file.
    pub(super) const fn number(&self) -> u32 {
        self.number
    }
}
