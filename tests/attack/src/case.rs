//! One case: its numbers, its folder, and the binary that is attacked.

use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

use rillmark_fuzz::random::Random;
use rillmark_tests::virtual_process::VirtualProcess;

/// A case on its way.
pub(crate) struct Case<'a> {
    /// Everything random in it comes from this number.
    pub(crate) seed: u64,
    pub(crate) random: Random,
    /// For whatever it writes; kept when something is found.
    pub(crate) folder: &'a Path,
    /// A fault that is planted before anything is judged: the judgement has to see it.
    pub(crate) plant: Option<&'static str>,
    pub(crate) binary: &'a Path,
}

impl Case<'_> {
    /// Whether this fault is planted.
    pub(crate) fn is_planted(&self, fault: &str) -> bool {
        self.plant == Some(fault)
    }

    pub(crate) fn path(&self, name: &str) -> PathBuf {
        self.folder.join(name)
    }

    /// The binary, in the case's folder, with nobody who answers.
    pub(crate) fn rillmark(&self, arguments: &[&str]) -> Command {
        let mut command = Command::new(self.binary);
        command.args(arguments).current_dir(self.folder).stdin(Stdio::null());
        command
    }

    /// A virtual probe in a process of its own.
    pub(crate) fn probe(&self, speed: &str, more: &[&str]) -> VirtualProcess {
        let mut command = self.rillmark(&["--json", "virtual", "--tcp", "127.0.0.1:0", "--speed"]);
        command.arg(speed).args(more).stderr(Stdio::null());
        VirtualProcess::serve(command)
    }

    /// True once in `times`.
    pub(crate) fn once_in(&mut self, times: usize) -> bool {
        self.random.below(times) == 0
    }
}
