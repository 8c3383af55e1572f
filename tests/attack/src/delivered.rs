//! What a command got over one connection, and which readings of it a log has to hold.

use std::time::{Duration, Instant};

use rillmark_proto::wire::frame::DELIMITER;

use crate::truth::{Number, readings};

/// What came within so long before a log or its connection ended may not have been taken up yet. A log writes a
/// reading as soon as it is given the processor, which on two cores with ten processes of ours and others
/// beside them takes some 100 ms at times (seen); where the line is paced nothing is left to time.
pub(crate) const MOMENT: Duration = Duration::from_secs(1);

/// What arrived over one connection.
#[derive(Debug, Default)]
pub(crate) struct Delivered {
    pub(crate) bytes: Vec<u8>,
    /// Where what arrived at a moment ends.
    arrivals: Vec<(usize, Instant)>,
    /// How much had arrived when the command had the probe sample.
    sampling: Option<usize>,
    ended: Option<Instant>,
}

impl Delivered {
    /// These bytes were handed over.
    pub(crate) fn arrive(&mut self, bytes: &[u8]) {
        self.bytes.extend(bytes);
        self.arrivals.push((self.bytes.len(), Instant::now()));
    }

    /// The command has the probe sample from now on.
    pub(crate) fn sample(&mut self) {
        self.sampling.get_or_insert(self.bytes.len());
    }

    /// The connection is over.
    pub(crate) fn end(&mut self) {
        self.ended.get_or_insert_with(Instant::now);
    }

    /// What arrives now was asked for.
    pub(crate) const fn is_awaited(&self) -> bool {
        self.sampling.is_some()
    }

    /// Readings that came whole, and between frames, while the command had the probe sample, and when. Each
    /// once, in their order.
    pub(crate) fn awaited(&self) -> Vec<(Number, Instant)> {
        let Some(from) = self.sampling else { return Vec::new() };
        let mut awaited: Vec<(Number, Instant)> = Vec::new();
        let mut begin = 0;
        for (end, _) in self.bytes.iter().enumerate().filter(|(_, byte)| **byte == DELIMITER) {
            let segment = &self.bytes[begin..=end];
            let is_whole = begin >= from;
            begin = end + 1;
            let [(number, raw)] = &readings(segment)[..] else { continue };
            let arrival = self.arrivals.iter().find(|(until, _)| *until > end);
            let is_new = !awaited.iter().any(|(other, _)| other == number);
            if let Some((_, at)) = arrival.filter(|_| is_whole && is_new && raw == segment) {
                awaited.push((*number, *at));
            }
        }
        awaited
    }

    /// Those of them that a log has to hold which ended at this moment.
    pub(crate) fn owed(&self, until: Instant) -> impl Iterator<Item = Number> {
        let until = self.ended.map_or(until, |ended| ended.min(until));
        let awaited = self.awaited().into_iter();
        awaited.filter(move |(_, at)| *at + MOMENT <= until).map(|(number, _)| number)
    }
}
