//! Whether as many readings are told to be gone as are gone, where they are.

use rillmark::session::entry::Entry;
use rillmark::session::reader::{Item, items};
use rillmark::session::replay::{Replayed, Summary};

use super::truth::Original;

/// Readings that are gone, one behind the other and of one run and start.
struct Stretch {
    run: usize,
    len: u64,
    /// Readings of the same run and start stand before and behind it, and in the file next to each other.
    is_between: bool,
}

impl Original {
    /// How many readings are not handed out any more.
    ///
    /// # Errors
    /// When that is not said in this size: between others by their running numbers, at a beginning or an end of
    /// a run by what its end counted, and without that end by a run that is cut short or bytes that nobody can
    /// read.
    pub(super) fn loss(
        &self,
        bytes: &[u8],
        handed: &[Replayed],
        now: &Summary,
    ) -> Result<usize, String> {
        let then = &self.summary;
        let stretches = self.stretches(handed);
        let lost: u64 = stretches.iter().map(|it| it.len).sum();
        let more = |of: fn(&Summary) -> u64| of(now).saturating_sub(of(then));
        let between: u64 = stretches.iter().filter(|it| it.is_between).map(|it| it.len).sum();
        let missing = more(|it| it.missing_readings);
        if between > missing {
            return Err(format!("{between} readings are gone, and {missing} are missing"));
        }
        let ends = ends(bytes);
        let is_ended =
            |run: usize| self.run_ends.get(run - 1).is_some_and(|end| ends.contains(end));
        // What stands elsewhere is counted under another end.
        let is_in_order = handed.windows(2).all(|pair| {
            let number = |of: &Replayed| (of.reading.time.boot, of.reading.running);
            number(&pair[0]) < number(&pair[1])
        });
        let is_counted = |it: &Stretch| is_in_order && is_ended(it.run);
        let counted: u64 = stretches.iter().filter(|it| is_counted(it)).map(|it| it.len).sum();
        let told = more(|it| it.lost_readings) + missing;
        if counted > told {
            return Err(format!("{counted} readings are gone under an end that tells {told}"));
        }
        let unread = more(|it| it.damaged_bytes + it.torn_bytes);
        let is_open = more(|it| it.cut_short) > 0 || now.end.is_none() || unread > 0;
        if stretches.iter().any(|it| !it.is_between && !is_counted(it)) && !is_open {
            return Err(
                "readings are gone with their end, and no run is cut short, no byte unread"
                    .to_owned(),
            );
        }
        Ok(usize::try_from(lost).unwrap_or(usize::MAX))
    }

    fn stretches(&self, handed: &[Replayed]) -> Vec<Stretch> {
        let place =
            |at: usize| handed.iter().position(|it| it.reading == self.taken[at].replayed.reading);
        let is_handed = |at: usize| place(at).is_some();
        let of = |at: usize| (self.taken[at].run, self.taken[at].replayed.reading.time.boot);
        let (mut stretches, mut at) = (Vec::new(), 0);
        while at < self.taken.len() {
            let begin = at;
            while at < self.taken.len() && !is_handed(at) && of(at) == of(begin) {
                at += 1;
            }
            if at == begin {
                at += 1;
                continue;
            }
            let is_behind_one = begin > 0 && of(begin - 1) == of(begin);
            let is_before_one = at < self.taken.len() && of(at) == of(begin);
            let is_between = is_behind_one
                && is_before_one
                && place(begin - 1).map(|place| place + 1) == place(at);
            stretches.push(Stretch { run: of(begin).0, len: (at - begin) as u64, is_between });
        }
        stretches
    }
}

/// The ends that these bytes hold.
pub(super) fn ends(bytes: &[u8]) -> Vec<Entry> {
    let entries = items(bytes).map_while(Result::ok).filter_map(|(_, item)| match item {
        Item::Entry(entry) if matches!(*entry, Entry::End { .. }) => Some(*entry),
        _ => None,
    });
    entries.collect()
}
