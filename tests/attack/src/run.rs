//! Runs a command to its end or the end of its time.

use std::io::{Read, Write};
use std::process::{Child, Command, Stdio};
use std::thread::{self, JoinHandle};
use std::time::{Duration, Instant};

use rillmark::foreign::is_plain;

use crate::outcome::{Outcome, Wrong};

/// How a command ended and what it said.
#[derive(Clone, Debug, Default)]
pub(crate) struct Ran {
    /// The exit code; `None` when a signal ended it.
    pub(crate) code: Option<i32>,
    pub(crate) out: String,
    pub(crate) err: String,
    /// It had to be killed.
    pub(crate) hung: bool,
    /// It was interrupted, as a person does.
    pub(crate) interrupted: bool,
}

/// Runs it for `limit` at most; `typed` is what a person types.
///
/// # Panics
/// When it does not start.
pub(crate) fn run(command: &mut Command, typed: &str, limit: Duration) -> Ran {
    run_until(command, typed, limit, limit)
}

/// The same; a person interrupts it after a while.
///
/// # Panics
/// When it does not start.
pub(crate) fn run_until(
    command: &mut Command,
    typed: &str,
    interrupt: Duration,
    limit: Duration,
) -> Ran {
    let mut child = command
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .expect("the binary starts");
    // One that asks nothing may have ended already.
    let _ = child.stdin.take().expect("a pipe").write_all(typed.as_bytes());
    let out = drain(child.stdout.take().expect("a pipe"));
    let err = drain(child.stderr.take().expect("a pipe"));
    let (mut code, mut interrupted) = (child.wait_for(interrupt), false);
    if code.is_none() && interrupt < limit {
        interrupted = true;
        end_on_purpose(&child);
        code = child.wait_for(limit - interrupt);
    }
    let hung = code.is_none();
    if hung {
        let _ = (child.kill(), child.wait());
    }
    let code = code.flatten();
    let text = |from: JoinHandle<Vec<u8>>| {
        String::from_utf8_lossy(&from.join().unwrap_or_default()).into_owned()
    };
    Ran { code, out: text(out), err: text(err), hung, interrupted }
}

/// As Ctrl-C does.
pub(crate) fn end_on_purpose(child: &Child) {
    let interrupt = format!("kill -INT {}", child.id());
    let _ = Command::new("sh").args(["-c", &interrupt]).status();
}

trait WaitFor {
    /// Its exit code when it ended; `None` when it did not in so long.
    fn wait_for(&mut self, limit: Duration) -> Option<Option<i32>>;
}

impl WaitFor for Child {
    fn wait_for(&mut self, limit: Duration) -> Option<Option<i32>> {
        let until = Instant::now() + limit;
        loop {
            if let Ok(Some(status)) = self.try_wait() {
                return Some(status.code());
            }
            if Instant::now() >= until {
                return None;
            }
            thread::sleep(Duration::from_millis(2));
        }
    }
}

/// Waits for its end; kills it when its time is over. Its exit code, and whether it hung.
pub(crate) fn wait(child: &mut Child, limit: Duration) -> (Option<i32>, bool) {
    let ended = child.wait_for(limit);
    if ended.is_none() {
        let _ = (child.kill(), child.wait());
    }
    (ended.flatten(), ended.is_none())
}

fn drain(mut from: impl Read + Send + 'static) -> JoinHandle<Vec<u8>> {
    thread::spawn(move || {
        let mut bytes = Vec::new();
        let _ = from.read_to_end(&mut bytes);
        bytes
    })
}

impl Ran {
    /// What holds for every command whatever it meets: it ends, without a panic, and a terminal obeys
    /// nothing of what it says.
    pub(crate) fn judge(&self, what: &str, outcome: &mut Outcome) {
        if self.hung {
            outcome.find(Wrong::Hung, what);
        } else if self.code.is_none() && !self.interrupted
            || self.code == Some(101)
            || self.err.contains("panicked")
        {
            outcome.find(Wrong::Panic, format!("{what}: {:?} {}", self.code, self.err));
        }
        for text in [&self.out, &self.err] {
            if let Some(obeyed) = text.chars().find(|c| *c != '\n' && !is_plain(*c)) {
                outcome.find(Wrong::Silent, format!("{what}: a raw {obeyed:?} is printed"));
            }
        }
        let said = self.err.trim();
        if self.code.is_some_and(|code| code != 0) && said.is_empty() {
            outcome.find(Wrong::Silent, format!("{what}: ends with {:?} and no word", self.code));
        }
    }

    /// The last JSON object on standard output.
    pub(crate) fn last(&self) -> serde_json::Value {
        let last = self.out.lines().last().unwrap_or_default();
        serde_json::from_str(last).unwrap_or_default()
    }
}
