//! The analog front end: power, switches, drive, and the averages that come out of it.
//!
//! `hardware-notes` draws the circuit. Between measurements the front end *rests*: drive floating,
//! cell open, range switch on the thermometer, so that nothing but the electrode touches the water. While
//! the cell is closed its pin keeps the reference electrode open, which else would take of the drive.

pub mod cell;
pub mod electrode;
pub mod settling;
pub mod taps;
pub mod thermometer;

use core::convert::Infallible;

use embedded_hal::digital::{OutputPin, PinState};
use embedded_hal_async::delay::DelayNs;
use embedded_hal_async::i2c::I2c;
use rillmark_proto::reading::{Flags, Range};

use crate::adc::{self, AdcError, Input, Sum};
use crate::constants::{
    AGAIN_MOST, ALIVE_US, AVERAGE_US, CONVERSION_LATE_US, CONVERSION_LONGEST_US,
    CONVERSION_PERIOD_US, CONVERSIONS_PER_AVERAGE, HALF_CONVERSIONS, QUIET_US, STILL_LONGEST_US,
    WAIT_CELL_US, WAIT_PH_US, WAIT_POWER_US, WAIT_RANGE_US, WAIT_TAP_US,
};
use crate::parts::{Condition, Excitation, Parts, Uptime};
use cell::Cell;
use settling::{Settling, Step};
use taps::Taps;
use thermometer::Thermometer;

/// Where the range switch stands: the bits of its two pins, high then low.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Load {
    Cell(Range),
    Thermometer,
}

impl Load {
    const fn pins(self) -> (bool, bool) {
        match self {
            Self::Cell(Range::Ohm1k) => (false, false),
            Self::Cell(Range::Ohm10k) => (false, true),
            Self::Cell(Range::Ohm100k) => (true, false),
            Self::Thermometer => (true, true),
        }
    }
}

/// Where the tap switch stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Tap {
    /// Hot end of the range resistor.
    H,
    /// Top of the cell or thermometer.
    A,
    /// Bottom of the cell or thermometer.
    B,
}

impl Tap {
    const fn pins(self) -> (bool, bool) {
        match self {
            Self::H => (false, false),
            Self::A => (false, true),
            Self::B => (true, false),
        }
    }
}

/// The taps of a load in the order in which they are read, each with its conversions: about the same
/// middle, so that a drive which grows or shrinks evenly takes nothing from their ratio.
pub const ORDER: [(Tap, u32); 5] = [
    (Tap::B, HALF_CONVERSIONS),
    (Tap::A, HALF_CONVERSIONS),
    (Tap::H, CONVERSIONS_PER_AVERAGE),
    (Tap::A, HALF_CONVERSIONS),
    (Tap::B, HALF_CONVERSIONS),
];

/// What is done when the electrode's input has not come to rest.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Patience {
    /// Another average is taken, until it has or [`STILL_LONGEST_US`] have passed.
    Await,
    /// It is read as it is.
    Take,
}

/// What the electrode reads.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Potential {
    /// The potential in nV; `None` when it left the converter's range.
    pub nv: Option<i32>,
    /// False when the input was perhaps still on its way.
    pub has_settled: bool,
}

/// The front end with the bus and the time that it needs.
#[derive(Debug)]
pub struct FrontEnd<I, P, X, U, D> {
    parts: Parts<I, P, X, U, D>,
    /// Since when the sensor power is on.
    powered_us: Option<u64>,
    /// When the last drive ended, since the power is on.
    driven_us: Option<u64>,
    settling: Settling,
    /// The range that the cell was on last.
    range: Range,
    condition: Condition,
}

fn set<P: OutputPin<Error = Infallible>>(pin: &mut P, high: bool) {
    let Ok(()) = pin.set_state(PinState::from(high));
}

impl<I, P, X, U, D> FrontEnd<I, P, X, U, D>
where
    I: I2c,
    P: OutputPin<Error = Infallible>,
    X: Excitation,
    U: Uptime,
    D: DelayNs,
{
    /// Takes over the parts, with the power off and everything at rest.
    pub fn new(parts: Parts<I, P, X, U, D>) -> Self {
        let mut this = Self {
            parts,
            powered_us: None,
            driven_us: None,
            settling: Settling::default(),
            range: Range::Ohm10k,
            condition: Condition::default(),
        };
        this.power_off();
        this
    }

    /// The bus that the converter shares with the clock chip.
    pub fn bus(&mut self) -> &mut I {
        &mut self.parts.i2c
    }

    /// The time now in µs since the start.
    pub fn now_us(&self) -> u64 {
        self.parts.uptime.now_us()
    }

    /// What is told to the board's watchdog and lamp from now on.
    pub fn set_condition(&mut self, condition: Condition) {
        self.condition = condition;
    }

    /// Tells the board's watchdog that the work goes on.
    pub fn alive(&self) {
        self.parts.uptime.alive(self.condition);
    }

    /// Waits until this time since the start; not at all when it has passed. Tells the board's
    /// watchdog all the while that the work goes on.
    pub async fn until(&mut self, deadline_us: u64) {
        loop {
            self.alive();
            let left = deadline_us.saturating_sub(self.now_us());
            match u32::try_from(left.min(ALIVE_US)) {
                Ok(0) | Err(_) => return,
                Ok(us) => self.parts.delay.delay_us(us).await,
            }
        }
    }

    /// The same before conversions: the board is quiet for the last [`QUIET_US`] at the least, and stays so until
    /// [`Self::set_converting`] says otherwise.
    async fn quiet_until(&mut self, deadline_us: u64) {
        let least_us = if self.condition.is_converting { 0 } else { QUIET_US };
        let deadline_us = deadline_us.max(self.now_us() + least_us);
        self.until(deadline_us - least_us).await;
        self.set_converting(true);
        self.until(deadline_us).await;
    }

    async fn wait(&mut self, us: u64) {
        self.until(self.now_us() + us).await;
    }

    /// Switches the sensor power on, at rest, unless it is on already. The first measurement waits
    /// until everything has settled.
    pub fn power_on(&mut self) {
        if self.powered_us.is_none() {
            self.rest();
            set(&mut self.parts.pins.power_not, false);
            let now = self.now_us();
            self.powered_us = Some(now);
            self.driven_us = None;
            self.settling.disturb(now, Step::Power);
        }
    }

    /// True when the sensor power is on, settled or not.
    pub fn is_powered(&self) -> bool {
        self.powered_us.is_some()
    }

    /// From when on the power has been on for long enough, in µs since the start; 0 while it is off.
    pub fn settled_us(&self) -> u64 {
        self.powered_us.map_or(0, |since| since + WAIT_POWER_US)
    }

    /// Switches the sensor power off, at rest.
    pub fn power_off(&mut self) {
        self.rest();
        set(&mut self.parts.pins.power_not, true);
        self.powered_us = None;
    }

    fn rest(&mut self) {
        self.parts.excitation.float();
        // The cell's low pin joins the reference to mid: no capacitor is left at the cell by then.
        self.set_load(Load::Thermometer);
        set(&mut self.parts.pins.cell, false);
        self.set_tap(Tap::H);
    }

    fn set_load(&mut self, load: Load) {
        let (high, low) = load.pins();
        set(&mut self.parts.pins.range_high, high);
        set(&mut self.parts.pins.range_low, low);
    }

    fn set_tap(&mut self, tap: Tap) {
        let (high, low) = tap.pins();
        set(&mut self.parts.pins.tap_high, high);
        set(&mut self.parts.pins.tap_low, low);
    }

    /// Waits until the power has been on for long enough, switching it on if need be.
    async fn powered(&mut self) {
        self.power_on();
        self.until(self.settled_us()).await;
    }

    /// Waits until a sample is due, with the power on, and is quiet by then.
    pub async fn due(&mut self, due_us: u64) {
        self.power_on();
        self.quiet_until(due_us.max(self.settled_us())).await;
    }

    /// Tells the board from now on whether conversions are timed.
    fn set_converting(&mut self, is_converting: bool) {
        self.condition.is_converting = is_converting;
        self.alive();
    }

    /// Takes so many conversions, one every 2 ms of the board's own clock from this time on: deadlines are
    /// absolute, so the whole is as long as it should be, without drift.
    async fn convert(
        &mut self,
        input: Input,
        from_us: u64,
        conversions: u32,
    ) -> Result<Sum, AdcError> {
        let mut sum = Sum::default();
        let mut deadline = from_us;
        for _ in 0..conversions {
            adc::start(&mut self.parts.i2c, input).await?;
            let done = self.now_us() + CONVERSION_LONGEST_US;
            deadline += CONVERSION_PERIOD_US;
            if done > deadline + CONVERSION_LATE_US {
                return Err(AdcError::Late);
            }
            self.until(deadline.max(done)).await;
            sum.add(adc::read(&mut self.parts.i2c).await?);
        }
        Ok(sum)
    }

    /// Drives the load at this frequency and averages the taps in their [`ORDER`]. The drive goes on.
    async fn taps(&mut self, frequency_hz: u32) -> Result<Taps, AdcError> {
        self.parts.excitation.start(frequency_hz);
        self.set_converting(true);
        let taps = self.taps_in_order().await;
        self.set_converting(false);
        taps
    }

    async fn taps_in_order(&mut self) -> Result<Taps, AdcError> {
        let mut read = [[Sum::default(); 2]; ORDER.len()];
        // The halves of a tap stand where mains cancel: see `HALF_CONVERSIONS`.
        let mut from_us = self.now_us() + WAIT_RANGE_US;
        for ([first, second], (tap, conversions)) in read.iter_mut().zip(ORDER) {
            self.set_tap(tap);
            self.until(from_us).await;
            for (sum, count) in [(first, conversions / 2), (second, conversions.div_ceil(2))] {
                *sum = self.convert(Input::Holds, from_us, count).await?;
                from_us += u64::from(count) * CONVERSION_PERIOD_US;
            }
            adc::verify(&mut self.parts.i2c, Input::Holds).await?;
            from_us += WAIT_TAP_US;
        }
        Ok(Taps::of(read))
    }

    /// Reads the electrode potential over so many averages of 100 ms (five at most), with the drive floating
    /// and the cell open.
    ///
    /// # Errors
    /// The converter's.
    pub async fn potential(
        &mut self,
        averages: usize,
        patience: Patience,
    ) -> Result<Potential, AdcError> {
        self.powered().await;
        // What stands before the reading falls into the wait where there is one.
        let lead = self.settling.missing(self.now_us()).saturating_sub(averages);
        let driven = self.driven_us.map_or(0, |us| us + WAIT_PH_US - lead as u64 * AVERAGE_US);
        self.quiet_until(driven).await;
        let potential = self.settled_potential(lead, averages, patience).await;
        self.set_converting(false);
        potential
    }

    async fn settled_potential(
        &mut self,
        lead: usize,
        averages: usize,
        patience: Patience,
    ) -> Result<Potential, AdcError> {
        let began_us = self.now_us();
        let mut from_us = began_us;
        let mut left = lead + averages;
        loop {
            let average = self.convert(Input::Electrode, from_us, CONVERSIONS_PER_AVERAGE).await?;
            from_us += AVERAGE_US;
            self.settling.push(average);
            left = left.saturating_sub(1);
            let awaited = patience == Patience::Await
                && self.settling.is_open(from_us)
                && !self.settling.is_out_of_range()
                && from_us < began_us + STILL_LONGEST_US;
            if left == 0 && !awaited {
                break;
            }
        }
        adc::verify(&mut self.parts.i2c, Input::Electrode).await?;
        Ok(Potential {
            nv: electrode::potential_nv(&self.settling.last(averages)),
            has_settled: !self.settling.is_open(began_us),
        })
    }

    /// Reads the thermometer, once more when a contact came or went meanwhile.
    ///
    /// # Errors
    /// The converter's.
    pub async fn thermometer(&mut self) -> Result<Thermometer, AdcError> {
        self.powered().await;
        self.set_load(Load::Thermometer);
        let mut taps = self.taps(thermometer::FREQUENCY_HZ).await;
        if taps.is_ok_and(|taps| taps.has_changed) {
            taps = self.taps(thermometer::FREQUENCY_HZ).await;
        }
        self.parts.excitation.park();
        self.rested_from_drive(Step::Thermometer);
        Ok(Thermometer::of(&taps?))
    }

    /// Reads the cell on the range that suits it.
    ///
    /// # Errors
    /// The converter's.
    pub async fn cell(&mut self) -> Result<Cell, AdcError> {
        self.powered().await;
        self.parts.excitation.park();
        // Opens the reference too, before anything is at the cell.
        set(&mut self.parts.pins.cell, true);
        self.set_load(Load::Cell(self.range));
        self.wait(WAIT_CELL_US).await;
        let cell = self.driven_cell().await;
        self.parts.excitation.park();
        self.wait(WAIT_CELL_US).await;
        self.rested_from_drive(Step::Cell);
        cell
    }

    /// A drive is over, which may be on the electrode's way.
    fn rested_from_drive(&mut self, step: Step) {
        self.rest();
        let now = self.now_us();
        self.driven_us = Some(now);
        self.settling.disturb(now, step);
    }

    /// Finds the range, then measures at its frequencies, and once more at the one where the drive or the load
    /// changed meanwhile, while there is time for it.
    async fn driven_cell(&mut self) -> Result<Cell, AdcError> {
        let mut first = self.taps(cell::frequencies(self.range)[0]).await?;
        // The farthest way is from one end to the other; with hysteresis nothing swings.
        let mut again = AGAIN_MOST;
        while again > 0 {
            let Some(ohm) = first.load_ohm(cell::resistor_ohm(self.range)) else { break };
            let next = cell::next_range(self.range, ohm);
            if next == self.range {
                break;
            }
            again -= 1;
            self.range = next;
            self.parts.excitation.park();
            self.set_load(Load::Cell(next));
            first = self.taps(cell::frequencies(next)[0]).await?;
        }
        let frequencies = cell::frequencies(self.range);
        let mut taps = heapless::Vec::<Taps, 3>::from_array([first]);
        for frequency in &frequencies[1..] {
            let further = self.taps(*frequency).await?;
            // Three frequencies at most, the capacity.
            let _ = taps.push(further);
        }
        let mut is_uneven = cell::is_uneven(&taps);
        if let (Some(at), true) = (cell::odd(&taps), again > 0) {
            let before = core::mem::replace(&mut taps[at], self.taps(frequencies[at]).await?);
            is_uneven = match taps[..] {
                // Twice the same is water that changes evenly.
                [only] => cell::is_uneven(&[only]) && cell::is_uneven(&[before, only]),
                _ => cell::is_uneven(&taps),
            };
        }
        let mut cell = Cell::of(self.range, &taps);
        if is_uneven && cell.flags == Flags::NONE {
            cell.flags = Flags::CELL_CHANGED;
        }
        Ok(cell)
    }
}
