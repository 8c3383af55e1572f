//! A probe that speaks enough of the protocol to be believed, and then lies.

mod told;
mod tongue;

use std::net::TcpListener;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering::SeqCst};
use std::thread::{self, JoinHandle};
use std::time::Duration;

use rillmark_proto::identity::{BoardId, RecordId};
use rillmark_proto::reading::Reading;
use rillmark_proto::record::Record;
use rillmark_proto::record::fitted::Fitted;

use self::tongue::Tongue;

/// What it does.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Lie {
    /// The truth, to see that the rest is no harm of ours.
    None,
    /// Nothing is ever said.
    Silent,
    /// The line ends at once, or after some frames.
    Leaves,
    /// Bytes without end.
    Noise,
    /// Readings without end, unasked.
    Flood,
    /// Other records than those that were asked for.
    OtherRecord,
    /// As many records as there can be, and a store without end.
    Endless,
    /// Readings that contradict each other, with the same number.
    Contradictions,
    /// Text that a terminal obeys.
    Text,
    /// Numbers that are none, or without sense.
    Numbers,
    /// Answers to other questions, refusals, other starts.
    Nonsense,
    /// Whole frames of any content.
    Frames,
}

impl Lie {
    pub(crate) const ALL: [Self; 12] = [
        Self::None,
        Self::Silent,
        Self::Leaves,
        Self::Noise,
        Self::Flood,
        Self::OtherRecord,
        Self::Endless,
        Self::Contradictions,
        Self::Text,
        Self::Numbers,
        Self::Nonsense,
        Self::Frames,
    ];
}

/// What it tells where it does not lie.
#[derive(Clone, Debug)]
pub(crate) struct Story {
    pub(crate) board: BoardId,
    pub(crate) records: Vec<(RecordId, Record)>,
    pub(crate) fitted: Fitted,
    pub(crate) readings: Vec<Reading>,
}

/// The server; it ends with this value.
#[derive(Debug)]
pub(crate) struct Liar {
    pub(crate) port: String,
    ended: Arc<AtomicBool>,
    thread: Option<JoinHandle<()>>,
}

impl Liar {
    pub(crate) fn start(lie: Lie, story: Story, seed: u64) -> Self {
        let listener = TcpListener::bind("127.0.0.1:0").expect("a free port");
        listener.set_nonblocking(true).expect("TCP can do it");
        let port = format!("tcp:{}", listener.local_addr().expect("it is bound"));
        let ended = Arc::new(AtomicBool::new(false));
        let until = Arc::clone(&ended);
        let mut tongue = Tongue::new(lie, story, seed);
        let thread = thread::spawn(move || {
            while !until.load(SeqCst) {
                match listener.accept() {
                    Ok((stream, _)) => tongue.speak(stream, &until),
                    Err(_) => thread::sleep(Duration::from_millis(1)),
                }
            }
        });
        Self { port, ended, thread: Some(thread) }
    }
}

impl Drop for Liar {
    fn drop(&mut self) {
        self.ended.store(true, SeqCst);
        if let Some(thread) = self.thread.take() {
            let _ = thread.join();
        }
    }
}
