//! `rillmark virtual` in a process of its own, driven by its control lines.

use std::io::{BufRead, BufReader, Write};
use std::process::{Child, ChildStdin, ChildStdout, Command, Stdio};

use serde_json::Value;

use crate::binary::rillmark;

/// A virtual probe in another process. It ends with this value.
pub struct VirtualProcess {
    child: Child,
    orders: ChildStdin,
    replies: BufReader<ChildStdout>,
    /// Where it serves, as `--port` takes it.
    pub port: String,
}

impl VirtualProcess {
    /// Starts `rillmark virtual --json` with these further arguments.
    ///
    /// # Panics
    /// When it does not start or does not say where it serves.
    pub fn start(arguments: &[&str]) -> Self {
        let mut command = rillmark();
        command.args(["--json", "virtual"]).args(arguments);
        Self::serve(command)
    }

    /// Starts a program that serves a probe and understands the same control lines.
    ///
    /// # Panics
    /// When it does not start or does not say where it serves.
    pub fn serve(mut command: Command) -> Self {
        let mut child = command
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .spawn()
            .expect("the program that serves starts");
        let orders = child.stdin.take().expect("its input is a pipe");
        let mut replies = BufReader::new(child.stdout.take().expect("its output is a pipe"));
        let first = json_line(&mut replies);
        let port = first["serving"].as_str().expect("it says where it serves").to_owned();
        Self { child, orders, replies, port }
    }

    /// Says one control line and returns its reply.
    ///
    /// # Panics
    /// When the process is gone or the line is not carried out.
    pub fn order(&mut self, line: &str) -> Value {
        writeln!(self.orders, "{line}").expect("the virtual probe reads its orders");
        let reply = json_line(&mut self.replies);
        assert_eq!(reply["ok"], true, "'{line}' was not carried out: {reply}");
        reply
    }
}

impl Drop for VirtualProcess {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

fn json_line(from: &mut impl BufRead) -> Value {
    let mut line = String::new();
    from.read_line(&mut line).expect("the virtual probe answers");
    serde_json::from_str(&line).unwrap_or_else(|_| panic!("not JSON: {line:?}"))
}
