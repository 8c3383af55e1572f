//! The chips, the network and the water without the firmware, for whatever runs the firmware
//! elsewhere: an emulator of the board tells it what its pins and its bus do, and when.
//!
//! Moments are nanoseconds since the bench was built, and never go back.

use rillmark_firmware::constants::ADC_ADDRESS;

use crate::build::Loads;
use crate::error::BenchError;
use crate::faults::Faults;
use crate::front_end::{Drive, Pin};
use crate::truth::Truth;
use crate::water::{Beaker, Water};
use crate::world::World;

/// A bench that waits to be told.
#[derive(Debug)]
pub struct BareBench {
    world: World,
    /// The converter's register as it was when its first byte was read.
    latched: [u8; 2],
}

impl BareBench {
    /// A bench whose sensors hang in air at 20 °C, with the true parameters that belong to the seed.
    /// `clock_unix_s` is what the clock chip keeps, in seconds since 1970-01-01 UTC; `None` is a chip
    /// that lost its time.
    ///
    /// # Panics
    /// Never: air at 20 °C can be placed.
    pub fn new(seed: u64, clock_unix_s: Option<i64>) -> Self {
        let world = World::new(seed, Truth::seeded(seed), clock_unix_s, Faults::default());
        Self { world: world.expect("air has no limits of its own"), latched: [0; 2] }
    }

    /// True when a chip on the bus acknowledges this address.
    pub fn answers(&self, address: u8) -> bool {
        self.world.answers(address)
    }

    /// The bytes of one write to a chip, which takes effect now.
    pub fn write(&mut self, address: u8, bytes: &[u8], now_ns: u64) {
        self.world.write(address, bytes, now_ns);
    }

    /// One byte of a read from a chip, counted from 0 within that read.
    pub fn read(&mut self, address: u8, index: usize, now_ns: u64) -> u8 {
        if address == ADC_ADDRESS {
            if index.is_multiple_of(2) {
                self.world.read(address, &mut self.latched, now_ns);
            }
            return self.latched[index % 2];
        }
        let mut byte = [0];
        self.world.read(address, &mut byte, now_ns);
        byte[0]
    }

    /// A pin of the front end is driven.
    pub fn set_pin(&mut self, pin: Pin, high: bool, now_ns: u64) {
        self.world.front.set_pin(pin, high, now_ns);
    }

    /// The excitation changes.
    pub fn set_drive(&mut self, drive: Drive, now_ns: u64) {
        self.world.front.set_drive(drive, now_ns);
    }

    /// True while the clock chip pulls its alarm pin low.
    pub fn alarm(&mut self, now_ns: u64) -> bool {
        self.world.clock_chip.alarm(now_ns)
    }

    /// The board's power goes. The clock chip runs on from its battery.
    pub fn power_off(&mut self, now_ns: u64) {
        self.world.power_off(now_ns);
    }

    /// Moves the sensors into a beaker.
    ///
    /// # Errors
    /// [`BenchError::OutOfRange`] when the beaker's content has no value at its temperature.
    pub fn place(&mut self, beaker: Beaker, now_ns: u64) -> Result<(), BenchError> {
        self.world.front.place(beaker, now_ns)
    }

    /// Connects loads in place of sensors, until the sensors are placed again.
    pub fn connect(&mut self, loads: Loads, now_ns: u64) {
        self.world.front.connect(loads, now_ns);
    }

    /// Starts or stops stirring.
    pub fn stir(&mut self, moving: bool, now_ns: u64) {
        self.world.front.sensors.stir(moving, now_ns);
    }

    /// Changes the faults.
    pub fn set_faults(&mut self, faults: Faults, now_ns: u64) {
        self.world.front.set_faults(faults, now_ns);
    }

    /// The faults in force.
    pub fn faults(&self) -> &Faults {
        &self.world.front.faults
    }

    /// The true parameters, without what the faults make of them.
    pub fn truth(&self) -> Truth {
        self.world.front.sound.clone()
    }

    /// What the sensors stand in.
    pub fn beaker(&self) -> Beaker {
        self.world.front.beaker
    }

    /// The water at this moment.
    pub fn water(&self, now_ns: u64) -> Water {
        self.world.front.sensors.water(now_ns)
    }

    /// What the reference thermometer beside the sensors says, in °C, read to 0.01 K.
    pub fn reference_c(&self, now_ns: u64) -> f64 {
        self.world.reference_c(now_ns)
    }
}
