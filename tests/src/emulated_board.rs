//! The board's image in the emulator, in a process of its own, behind a pseudo-terminal.

use std::process::Command;

use crate::source_tree::root;
use crate::terminal_bridge::TerminalBridge;
use crate::virtual_process::VirtualProcess;

/// An emulated board. It ends with this value.
pub struct EmulatedBoard {
    /// To be spoken to like a virtual probe, its port being the pseudo-terminal.
    pub probe: VirtualProcess,
    _bridge: TerminalBridge,
}

impl EmulatedBoard {
    /// Switches a board on whose flash holds nothing but the image; `seed` is that of the bench.
    ///
    /// # Panics
    /// When the emulator does not run: `tests/emulator` needs its packages, the image and the models.
    pub fn start(seed: u64) -> Self {
        let mut command = Command::new("node");
        command.arg(root().join("tests/emulator/serve.js")).args(["--seed", &seed.to_string()]);
        let mut probe = VirtualProcess::serve(command);
        let address = probe.port.strip_prefix("tcp:").expect("it serves on TCP");
        let bridge = TerminalBridge::open(address);
        probe.port.clone_from(&bridge.path);
        Self { probe, _bridge: bridge }
    }
}
