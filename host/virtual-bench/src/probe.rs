//! A virtual probe: the real firmware on the simulated board, and the hands of a person beside it.

use std::cell::RefCell;
use std::path::PathBuf;
use std::rc::Rc;

use rillmark_firmware::service::{self, Identity};
use rillmark_proto::identity::BoardId;
use rillmark_proto::wire::start::Start;

use crate::board::{self, Receiver, Sender};
use crate::build::Loads;
use crate::chips::flash::{CAPACITY, Flash, Wear};
use crate::error::BenchError;
use crate::executor::Executor;
use crate::faults::Faults;
use crate::random::Random;
use crate::time::{Clock, NS_PER_MS};
use crate::truth::Truth;
use crate::water::{Beaker, Water};
use crate::world::{Handle, World};

/// How long a power cycle leaves the board without power, in ms.
const POWER_OFF_MS: u64 = 1_000;

/// What a bench is built from.
#[derive(Clone, Debug, Default)]
pub struct Setup {
    /// Equal seeds give equal bytes.
    pub seed: u64,
    /// The file behind the flash; `None` keeps it in memory alone.
    pub flash: Option<PathBuf>,
    /// The board's id; `None` takes one that belongs to the seed.
    pub board: Option<BoardId>,
    /// The true parameters; `None` takes those that belong to the seed.
    pub truth: Option<Truth>,
    /// What the clock chip keeps, in seconds since 1970-01-01 UTC; `None` is a chip that lost its
    /// time.
    pub clock_unix_s: Option<i64>,
    /// Faults from the start on.
    pub faults: Faults,
}

/// The probe with its bench.
pub struct VirtualProbe {
    handle: Handle,
    flash: Flash,
    identity: Identity,
    firmware: Executor,
}

impl VirtualProbe {
    /// Builds the bench and switches the probe on, its sensors in air at 20 °C.
    ///
    /// # Errors
    /// [`BenchError`] when the flash file cannot be used.
    pub fn new(setup: Setup) -> Result<Self, BenchError> {
        let Setup { seed, flash, board, truth, clock_unix_s, faults } = setup;
        let truth = truth.unwrap_or_else(|| Truth::seeded(seed));
        let clock = Clock::new();
        let flash = Flash::open(flash.as_deref(), clock.clone())?;
        let world = World::new(seed, truth, clock_unix_s, faults)?;
        let handle = Handle { clock, world: Rc::new(RefCell::new(world)) };
        let board = board.unwrap_or_else(|| BoardId(Random::new(seed, 4).bits().to_be_bytes()));
        let identity = Identity { board, firmware: [0, 1, 0], start: Start::POWER_ON };
        let firmware = start(&handle, &flash, identity);
        Ok(Self { handle, flash, identity, firmware })
    }

    /// The board's id.
    pub fn board(&self) -> BoardId {
        self.identity.board
    }

    /// The true parameters, without what the faults make of them.
    pub fn truth(&self) -> Truth {
        self.handle.world.borrow().front.sound.clone()
    }

    /// What the sensors stand in.
    pub fn beaker(&self) -> Beaker {
        self.handle.world.borrow().front.beaker
    }

    /// The water at this moment.
    pub fn water(&self) -> Water {
        self.handle.world.borrow().front.sensors.water(self.handle.clock.now())
    }

    /// What the reference thermometer beside the sensors says at this moment, in °C, read to 0.01 K.
    pub fn reference_c(&self) -> f64 {
        self.handle.world.borrow().reference_c(self.handle.clock.now())
    }

    /// Everything that is in the flash.
    pub fn flash_image(&self) -> Vec<u8> {
        self.flash.image()
    }

    /// How much the flash was used.
    pub fn flash_wear(&self) -> Wear {
        self.flash.wear()
    }

    /// True while the clock chip pulls its alarm pin.
    pub fn alarm(&self) -> bool {
        self.handle.world.borrow_mut().clock_chip.alarm(self.handle.clock.now())
    }

    /// Milliseconds of simulated time since the bench was built; power cycles do not stop it.
    pub fn now_ms(&self) -> u64 {
        self.handle.clock.now() / NS_PER_MS
    }

    /// Lets simulated time pass.
    pub fn run_for_ms(&mut self, ms: u64) {
        let until = self.handle.clock.now().saturating_add(ms.saturating_mul(NS_PER_MS));
        self.firmware.run(&self.handle.clock, until, || false);
    }

    /// Lets simulated time pass until the host has bytes to receive, at most `limit_ms`; true when
    /// it has.
    pub fn run_until_output(&mut self, limit_ms: u64) -> bool {
        let world = Rc::clone(&self.handle.world);
        let any = move || !world.borrow().line.to_host.is_empty();
        if any() {
            return true;
        }
        let until = self.handle.clock.now().saturating_add(limit_ms.saturating_mul(NS_PER_MS));
        self.firmware.run(&self.handle.clock, until, any)
    }

    /// Bytes from the host to the probe; lost while the cable is pulled.
    pub fn send(&mut self, bytes: &[u8]) {
        let world = &mut *self.handle.world.borrow_mut();
        let (dropped, damaged) =
            (world.front.faults.dropped_bytes, world.front.faults.damaged_bytes);
        if world.line.plugged {
            for &byte in bytes {
                if let Some(byte) = world.line.carry(byte, dropped, damaged) {
                    world.line.to_probe.push_back(byte);
                }
            }
        }
    }

    /// Bytes from the probe that have arrived; 0 when there are none.
    pub fn receive(&mut self, into: &mut [u8]) -> usize {
        let line = &mut self.handle.world.borrow_mut().line;
        let count = into.len().min(line.to_host.len());
        for (to, from) in into.iter_mut().zip(line.to_host.drain(..count)) {
            *to = from;
        }
        count
    }

    /// Moves the sensors into a beaker, or into the wrong one while that fault is in force.
    ///
    /// # Errors
    /// [`BenchError::OutOfRange`] when the beaker's content has no value at its temperature.
    pub fn place(&mut self, beaker: Beaker) -> Result<(), BenchError> {
        let now = self.handle.clock.now();
        self.handle.world.borrow_mut().front.place(beaker, now)
    }

    /// Takes the sensors off and connects these in their place, until they are placed again.
    pub fn connect(&mut self, loads: Loads) {
        let now = self.handle.clock.now();
        self.handle.world.borrow_mut().front.connect(loads, now);
    }

    /// What is connected in place of the sensors.
    pub fn loads(&self) -> Option<Loads> {
        self.handle.world.borrow().front.loads
    }

    /// Starts or stops stirring.
    pub fn stir(&mut self, moving: bool) {
        let now = self.handle.clock.now();
        self.handle.world.borrow_mut().front.sensors.stir(moving, now);
    }

    /// True while the water is stirred.
    pub fn is_stirred(&self) -> bool {
        self.handle.world.borrow().front.sensors.is_stirred()
    }

    /// The faults in force.
    pub fn faults(&self) -> Faults {
        self.handle.world.borrow().front.faults.clone()
    }

    /// Changes the faults.
    pub fn set_faults(&mut self, faults: Faults) {
        let now = self.handle.clock.now();
        self.handle.world.borrow_mut().front.set_faults(faults, now);
    }

    /// Pulls the cable; the probe goes on from its battery. Bytes under way are lost.
    pub fn unplug(&mut self) {
        self.handle.world.borrow_mut().line.unplug();
    }

    /// Plugs the cable in.
    pub fn plug(&mut self) {
        self.handle.world.borrow_mut().line.plugged = true;
    }

    /// True while the cable is plugged in.
    pub fn is_plugged(&self) -> bool {
        self.handle.world.borrow().line.plugged
    }

    /// Takes the power away for a second of simulated time and gives it back. Flash and clock chip
    /// keep what they hold; whatever the firmware was doing is cut off.
    pub fn power_cycle(&mut self) {
        let clock = &self.handle.clock;
        self.firmware = Executor::new(std::future::pending());
        self.handle.world.borrow_mut().power_off(clock.now());
        clock.advance_to(clock.now() + POWER_OFF_MS * NS_PER_MS);
        self.firmware = start(&self.handle, &self.flash, self.identity);
    }
}

/// The firmware on a board that starts now.
fn start(handle: &Handle, flash: &Flash, identity: Identity) -> Executor {
    let parts = board::parts(handle);
    let (receiver, sender) =
        (Receiver { handle: handle.clone() }, Sender { handle: handle.clone() });
    let flash = flash.clone();
    Executor::new(async move {
        service::run(identity, parts, flash, 0..CAPACITY as u32, receiver, sender).await;
    })
}
