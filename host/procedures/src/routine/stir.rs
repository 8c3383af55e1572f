//! One water at rest and in motion: what the difference of the two pH says about the junction.
//!
//! A healthy junction hardly minds whether the water moves. One that is clogged, or stands in a water
//! far from its filling solution, does, and then every pH in that water is uncertain by it. Offset
//! and slope of the calibration are in both readings and drop out of their difference.

use heapless::Deque;

use super::judgement::Judgement;
use super::limits;
use rillmark_metrology::decision::{Decision, DecisionError, Tolerance, decide};
use rillmark_metrology::reference::ionic_strength::residual_junction;
use rillmark_metrology::signal::settle::{POTENTIAL, Window};
use rillmark_proto::reading::{Flags, Reading};
use rillmark_proto::record::verification::Verdict;
use rillmark_proto::reference::nernst;
use rillmark_proto::units::{Celsius, MicrosiemensPerCm};

/// Blocks of [`BLOCK_MS`] that the mean of a restless reading is taken over: a minute.
const BLOCKS: usize = 5;
/// Length of a block in ms. Readings within it go together, those of different blocks hardly do.
const BLOCK_MS: u64 = 12_000;
/// Half of Student's two-sided 95 % factor for four degrees of freedom (2.776; recalled, not checked),
/// so that twice the standard uncertainty from five blocks covers 95 %.
const FEW_BLOCKS: f64 = 1.388;

/// The least patience in ms, for which there is a mean of all blocks.
pub const LEAST_PATIENCE_MS: u64 = (BLOCKS as u64 + 1) * BLOCK_MS;

/// What is kept of a reading, or of a block of them.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
struct Kept {
    ph: f64,
    temperature_c: f64,
}

/// The readings of a block so far.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
struct Block {
    began_ms: u64,
    sum: Kept,
    count: u32,
}

/// The pH of the water, still or stirred.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Rest {
    /// Mean pH.
    pub ph: f64,
    /// Standard uncertainty of that mean beside another one of the same electrode. At rest it is the
    /// scatter, not divided by the number of readings, since readings of a few seconds go together;
    /// else it comes from the scatter of blocks.
    pub u_ph: f64,
    /// Mean temperature in °C.
    pub temperature_c: f64,
    /// From the first reading to the last in ms.
    pub waited_ms: u64,
    /// True when the pH had come to rest; false when the mean of a minute was taken as it was.
    pub settled: bool,
    /// Start of the probe, and the middle of the readings in ms since then.
    at: (u32, u64),
}

/// What a reading led to.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Heard {
    /// Not at rest yet.
    Waiting,
    /// At rest, or restless beyond patience.
    Rest(Rest),
    /// It cannot be used; the next one may be.
    Unusable(Judgement),
    /// The probe has no pH calibration in force.
    NotCalibrated,
}

/// Listens until the pH has come to rest, for a while at most.
#[derive(Clone, Debug)]
pub struct Listener {
    patience_ms: u64,
    window: Window<Kept>,
    began: Option<(u32, u64)>,
    block: Block,
    blocks: Deque<Kept, BLOCKS>,
}

impl Listener {
    /// Has heard nothing. Beyond `patience_ms`, or [`LEAST_PATIENCE_MS`] where that is longer, a
    /// restless pH is taken as it is.
    pub const fn new(patience_ms: u64) -> Self {
        Self {
            patience_ms,
            window: Window::new(POTENTIAL),
            began: None,
            block: Block { began_ms: 0, sum: Kept { ph: 0.0, temperature_c: 0.0 }, count: 0 },
            blocks: Deque::new(),
        }
    }

    /// Takes a reading.
    pub fn reading(&mut self, reading: &Reading) -> Heard {
        let blocking = Flags::ADC_SILENT
            .with(Flags::THERMOMETER_OPEN)
            .with(Flags::THERMOMETER_SHORT)
            .with(Flags::POTENTIAL_OVER_RANGE);
        let flags = reading.flags.0 & blocking.0;
        if flags != 0 {
            return Heard::Unusable(Judgement::ReadingFlagged { flags });
        }
        let Some(potential) = reading.raw.potential() else {
            return Heard::Unusable(Judgement::SignalMissing {});
        };
        let Some(temperature_c) = reading.computed.temperature_c.map(f64::from) else {
            return Heard::Unusable(Judgement::TemperatureMissing {});
        };
        let Some(ph) = reading.computed.ph.map(f64::from) else {
            return Heard::NotCalibrated;
        };
        let kept = Kept { ph, temperature_c };
        // On its way behind cold or clogged glass.
        if reading.flags.has(Flags::NOT_SETTLED) {
            return Heard::Waiting;
        }
        let (boot, ms) = (reading.time.boot, reading.time.ms);
        let began = match self.began {
            Some((of, began)) if of == boot && began <= ms => began,
            // The first reading, or the probe was restarted.
            _ => {
                self.window.clear();
                self.blocks.clear();
                self.block = Block { began_ms: ms, ..Block::default() };
                self.began = Some((boot, ms));
                ms
            }
        };
        self.window.push(boot, ms, potential.get(), kept);
        self.add_to_block(ms, kept);
        let waited_ms = ms - began;
        if self.window.verdict().settled {
            return Heard::Rest(self.at_rest(boot, ms, waited_ms));
        }
        if self.blocks.is_full() && waited_ms >= self.patience_ms {
            return Heard::Rest(self.restless(boot, ms, waited_ms));
        }
        Heard::Waiting
    }

    fn add_to_block(&mut self, ms: u64, kept: Kept) {
        if ms.saturating_sub(self.block.began_ms) >= BLOCK_MS {
            let Block { sum, count, .. } = self.block;
            if self.blocks.is_full() {
                self.blocks.pop_front();
            }
            let count = f64::from(count);
            let mean = Kept { ph: sum.ph / count, temperature_c: sum.temperature_c / count };
            // There is room: a full deque has just lost its front. A block holds its first reading.
            let _ = self.blocks.push_back(mean);
            self.block = Block { began_ms: ms, ..Block::default() };
        }
        self.block.sum.ph += kept.ph;
        self.block.sum.temperature_c += kept.temperature_c;
        self.block.count += 1;
    }

    fn at_rest(&self, boot: u32, ms: u64, waited_ms: u64) -> Rest {
        let count = self.window.entries().len() as f64;
        let mean = |of: fn(&Kept) -> f64| {
            self.window.entries().map(|entry| of(&entry.with)).sum::<f64>() / count
        };
        let temperature_c = mean(|kept| kept.temperature_c);
        let mv_per_ph = nernst::millivolts_per_ph(Celsius::new(temperature_c));
        Rest {
            ph: mean(|kept| kept.ph),
            u_ph: self.window.verdict().scatter / mv_per_ph,
            temperature_c,
            waited_ms,
            settled: true,
            at: (boot, ms - self.window.span_ms() / 2),
        }
    }

    fn restless(&self, boot: u32, ms: u64, waited_ms: u64) -> Rest {
        let count = BLOCKS as f64;
        let mean = |of: fn(&Kept) -> f64| self.blocks.iter().map(of).sum::<f64>() / count;
        let ph = mean(|kept| kept.ph);
        let squares: f64 = self.blocks.iter().map(|kept| (kept.ph - ph) * (kept.ph - ph)).sum();
        Rest {
            ph,
            u_ph: FEW_BLOCKS * libm::sqrt(squares / (count - 1.0) / count),
            temperature_c: mean(|kept| kept.temperature_c),
            waited_ms,
            settled: false,
            at: (boot, ms - BLOCKS as u64 * BLOCK_MS / 2),
        }
    }
}

/// The stirred water beside the still one.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Comparison {
    /// pH stirred minus pH still.
    pub difference_ph: f64,
    /// Standard uncertainty of that difference.
    pub u_difference_ph: f64,
    /// Whether the difference lies within what a healthy junction shows.
    pub decision: Decision,
    /// Standard uncertainty in pH that the junction gives a pH in this water: the usual one of such
    /// a water, and with a difference that is not surely within the limit, that difference too, as
    /// the half width of a rectangular distribution.
    pub u_junction_ph: f64,
    /// The largest standard uncertainty of a pH that did not come to rest; `None` when all did.
    pub restless_u_ph: Option<f64>,
}

/// Why the readings cannot be compared.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum ComparisonError {
    /// The probe was restarted in between, so that nobody knows how long that was.
    Restarted,
    /// The readings do not lie in their order in time.
    OutOfOrder,
    /// The numbers are not finite.
    Unusable(DecisionError),
}

/// Compares the stirred water with the still water before and after it.
///
/// What the electrode moves by meanwhile is taken as a straight line between the two still
/// readings, uncertain by half of it as a rectangular distribution. `specific_conductance` is the
/// water's at 25 °C, where it is known.
///
/// # Errors
/// [`ComparisonError`] when the probe was restarted among the three, when they are not in order, or
/// a number is not finite.
pub fn compare(
    before: &Rest,
    stirred: &Rest,
    after: &Rest,
    specific_conductance: Option<MicrosiemensPerCm>,
) -> Result<Comparison, ComparisonError> {
    let [first, middle, last] = [before, stirred, after].map(|rest| rest.at);
    if first.0 != middle.0 || first.0 != last.0 {
        return Err(ComparisonError::Restarted);
    }
    if !(first.1 < middle.1 && middle.1 < last.1) {
        return Err(ComparisonError::OutOfOrder);
    }
    let part = (middle.1 - first.1) as f64 / (last.1 - first.1) as f64;
    let moved = after.ph - before.ph;
    let rectangular = |half_width: f64| libm::fabs(half_width) / libm::sqrt(3.0);
    let difference_ph = stirred.ph - (before.ph + part * moved);
    let u_difference_ph =
        [stirred.u_ph, (1.0 - part) * before.u_ph, part * after.u_ph, rectangular(0.5 * moved)]
            .into_iter()
            .fold(0.0, libm::hypot);
    let limit = limits::STIR_PH.value;
    let decision = Tolerance::between(-limit, limit)
        .and_then(|tolerance| decide(difference_ph, u_difference_ph, &tolerance))
        .map_err(ComparisonError::Unusable)?;
    let usual = residual_junction(specific_conductance).value;
    let u_junction_ph = match decision.verdict {
        Verdict::Pass => usual,
        Verdict::Fail | Verdict::CannotTell => libm::hypot(usual, rectangular(difference_ph)),
    };
    let restless_u_ph = [before, stirred, after]
        .into_iter()
        .filter(|rest| !rest.settled)
        .map(|rest| rest.u_ph)
        .reduce(libm::fmax);
    Ok(Comparison { difference_ph, u_difference_ph, decision, u_junction_ph, restless_u_ph })
}

impl Comparison {
    /// What is to be said about it: the verdict, and that the pH did not come to rest.
    pub fn judgements(&self) -> impl Iterator<Item = Judgement> {
        let restless = self.restless_u_ph.map(|u_ph| Judgement::StirRestless { u_ph });
        core::iter::once(self.verdict()).chain(restless)
    }

    const fn verdict(&self) -> Judgement {
        let Self { difference_ph, u_junction_ph: u_ph, decision, .. } = *self;
        let limit_ph = limits::STIR_PH.value;
        let expanded_ph = decision.expanded_uncertainty;
        match decision.verdict {
            Verdict::Pass => Judgement::StirAlike { difference_ph, expanded_ph, limit_ph },
            Verdict::Fail => Judgement::StirDiffers { difference_ph, expanded_ph, limit_ph, u_ph },
            Verdict::CannotTell => {
                Judgement::StirUnclear { difference_ph, expanded_ph, limit_ph, u_ph }
            }
        }
    }
}

#[cfg(test)]
#[path = "stir_tests.rs"]
mod tests;
