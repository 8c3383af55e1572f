//! From what was seen to what is likely wrong.
//!
//! Mistakes of wiring are tried one by one: what the firmware would find with each of them is worked
//! out, and those that look just like what was seen are named, all of them where several do. What is
//! left is a matter of degree and read from the rows: a resistor that is somewhat off, something in
//! series with the terminals or across them, a zero, a gain, a leak.

use heapless::Vec;

use super::loads::JOINED;
use super::predict::{FITTED, Ranges, Said, Wiring};
use super::{Cause, Loads, Mean, Quantity, Row, Seen, Step, Verdict};
use rillmark_metrology::front_end::conductance::range_for;
use rillmark_proto::circuit::{chips, parts};
use rillmark_proto::reading::{Flags, Range};

/// The most causes that are named.
pub const MAX_CAUSES: usize = 8;
/// A prediction fits when it is within this part: far more than parts and loads are off, far less than
/// the next resistor is away.
const FITS: f64 = 0.08;
/// A board without supply reads less than this in mV, whatever its source.
const DEAD_MV: f64 = 5.0;
/// In series with the input, in Ω.
const PROTECTION_OHM: f64 = parts::INPUT_PROTECTION.value;
/// Ratios of one range belong together within this part.
const TOGETHER: f64 = 0.03;

/// What the clock chip says.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Clock {
    /// It keeps time.
    Keeps,
    /// It answers and has lost its time, as every new one has.
    Lost,
    /// It does not answer.
    Silent,
}

/// What is likely wrong, likeliest first; nothing when every row passes. When rows fail and nothing is
/// named, no single mistake that is known looks so.
pub fn explain(
    loads: &Loads,
    seen: &[(Step, Seen)],
    rows: &[Row],
    clock: Clock,
) -> Vec<Cause, MAX_CAUSES> {
    let mut causes = Causes(Vec::new());
    let is_silent =
        !seen.is_empty() && seen.iter().all(|(_, seen)| seen.flags.has(Flags::ADC_SILENT));
    match (is_silent, clock) {
        (true, Clock::Silent) => causes.add(Cause::Bus),
        (true, _) => causes.add(Cause::Converter),
        (false, Clock::Silent) => causes.add(Cause::ClockChip),
        (false, _) => {}
    }
    if is_silent {
        return causes.0;
    }
    let all = Check { loads, seen, rows };
    if all.is_without_supply() {
        causes.add(Cause::Supply);
        return causes.0;
    }
    all.input(&mut causes);
    let before = causes.0.len();
    all.resistances(&mut causes);
    // What is wrong without the wire is wrong with it too.
    if causes.0.len() == before {
        all.reference(&mut causes);
    }
    if causes.0.is_empty() && rows.iter().any(|row| row.verdict == Verdict::Restless) {
        causes.add(Cause::Restless);
    }
    causes.0
}

struct Causes(Vec<Cause, MAX_CAUSES>);

impl Causes {
    /// Beyond the most, causes are many alike and no help. A resistor is named once, whatever it may be.
    fn add(&mut self, cause: Cause) {
        if let Cause::Resistor { place, .. } = cause {
            for known in &mut self.0 {
                if let Cause::Resistor { place: of, ohm } = known
                    && *of == place
                {
                    *ohm = None;
                    return;
                }
            }
        }
        let _ = self.0.push(cause);
    }
}

struct Check<'a> {
    loads: &'a Loads,
    seen: &'a [(Step, Seen)],
    rows: &'a [Row],
}

impl Check<'_> {
    fn at(&self, step: Step) -> Option<&Seen> {
        self.seen.iter().find(|(of, _)| *of == step).map(|(_, seen)| seen)
    }

    fn is_unsettled(&self, step: Step) -> bool {
        self.at(step).is_some_and(Seen::is_unsettled)
    }

    fn mv(&self, step: Step) -> Option<f64> {
        self.at(step)?.potential_mv.map(|mean| mean.value)
    }

    fn row(&self, step: Step, quantity: Quantity) -> Option<&Row> {
        self.rows.iter().find(|row| row.step == step && row.quantity == quantity)
    }

    fn is_wrong(&self, step: Step, quantity: Quantity) -> bool {
        let wrong = [Verdict::Off, Verdict::Missing];
        self.row(step, quantity).is_some_and(|row| wrong.contains(&row.verdict))
    }

    /// Neither a drive nor a potential anywhere.
    fn is_without_supply(&self) -> bool {
        let dead = |step| self.mv(step).is_some_and(|mv: f64| libm::fabs(mv) < DEAD_MV);
        let undriven = |seen: &Seen| seen.conductance_s.is_none() && seen.thermometer_ohm.is_none();
        libm::fabs(self.loads.source.value) > 2.0 * DEAD_MV
            && dead(Step::Source)
            && dead(Step::Reversed)
            && self.seen.iter().all(|(_, seen)| undriven(seen))
    }

    fn input(&self, causes: &mut Causes) {
        let zero = self.mv(Step::Bare);
        let Some(zero) = zero else {
            if !self.is_unsettled(Step::Bare) {
                causes.add(Cause::InputOpen);
            }
            return;
        };
        if let (Some(plus), Some(minus)) = (self.mv(Step::Source), self.mv(Step::Reversed)) {
            let twice = 2.0 * self.loads.source.value;
            let factor = (plus - minus) / twice;
            let limit = self.row(Step::Source, Quantity::Potential).map_or(0.0, |row| row.limit);
            let follows = |found: f64, mv: f64| libm::fabs(found - mv) <= limit;
            if follows(plus, self.loads.source.value) && libm::fabs(minus - zero) < DEAD_MV {
                causes.add(Cause::Mid { at_supply: false });
            } else if follows(minus, -self.loads.source.value) && libm::fabs(plus - zero) < DEAD_MV
            {
                causes.add(Cause::Mid { at_supply: true });
            } else if factor < -0.2 {
                causes.add(Cause::InputReversed);
            } else if factor < 0.2 {
                causes.add(Cause::InputDead);
            } else if libm::fabs(plus - minus - twice) > 2.0 * limit {
                causes.add(Cause::Gain { factor });
            }
        } else if [Step::Source, Step::Reversed]
            .into_iter()
            .all(|step| self.at(step).is_some() && !self.is_unsettled(step))
        {
            causes.add(Cause::InputDead);
        }
        let leak = self.leak(zero);
        if let Some(ampere) = leak {
            causes.add(Cause::Leak { ampere });
        }
        // A current that large shows over the input's own resistor already.
        let by_leak_mv = leak.flatten().map_or(0.0, |ampere| ampere * PROTECTION_OHM * 1e3);
        if let Some(row) = self.row(Step::Bare, Quantity::Potential)
            && row.verdict == Verdict::Off
            && libm::fabs(zero - by_leak_mv) > row.limit
        {
            causes.add(Cause::Zero { mv: zero });
        }
    }

    /// The current in A that flows into the input, where one shows behind a high resistance; within, `None`
    /// when the potential left the converter's range there.
    fn leak(&self, zero_mv: f64) -> Option<Option<f64>> {
        let membrane_ohm = self.loads.membrane?.value;
        let row = self.row(Step::Membrane, Quantity::Potential)?;
        match (row.verdict, self.mv(Step::Membrane)) {
            (Verdict::Off, Some(mv)) => {
                // A zero that is off is off through a resistance too.
                let moved_mv = mv - zero_mv;
                (libm::fabs(moved_mv) > row.limit).then(|| Some(moved_mv * 1e-3 / membrane_ohm))
            }
            (Verdict::Missing, _) => {
                let ampere = zero_mv * 1e-3 / PROTECTION_OHM;
                let is_enough = libm::fabs(ampere) * membrane_ohm > chips::ADC_ELECTRODE_V;
                let shows = self.is_wrong(Step::Bare, Quantity::Potential) && is_enough;
                Some(shows.then_some(ampere))
            }
            _ => None,
        }
    }

    fn resistances(&self, causes: &mut Causes) {
        let is_of_input = |row: &&Row| row.quantity == Quantity::Potential;
        let is_joined = |row: &Row| row.step == Step::Joined && row.quantity == Quantity::Cell;
        let is_right =
            |row: &Row| row.verdict == Verdict::Pass || is_of_input(&row) || is_joined(row);
        if self.rows.iter().all(is_right) {
            return;
        }
        if !self.fits(&Wiring::RIGHT) {
            let before = causes.0.len();
            mistakes(|cause, wiring| {
                if self.fits(&wiring) {
                    causes.add(cause);
                }
            });
            if causes.0.len() > before {
                return;
            }
        }
        self.degrees(causes);
        self.thermometer(causes);
    }

    /// Whether a wiring would look just like what was seen.
    fn fits(&self, wiring: &Wiring) -> bool {
        // A range is kept for as long as it will do, so each step begins where the one before ended:
        // on one of several ranges, where that went round in circles.
        let mut ranges = Ranges::ALL;
        let mut alone = self.seen.iter().filter(|(step, _)| *step != Step::Joined);
        alone.all(|(step, seen)| {
            let cell = step.cell_ohm(self.loads);
            let thermometer = self.loads.thermometer.value;
            let ends = ranges.each().map(|from| wiring.cell(from, cell, thermometer));
            let fitting = ends.filter(|(said, _)| fits_cell(*said, seen)).map(|(_, then)| then);
            ranges = fitting.fold(Ranges::NONE, Ranges::and);
            let said = wiring.thermometer(cell, thermometer);
            ranges != Ranges::NONE && fits_thermometer(said, seen, thermometer)
        })
    }

    fn cells(&self) -> impl Iterator<Item = (&Row, f64)> {
        let is_alone = |row: &&Row| row.quantity == Quantity::Cell && row.step != Step::Joined;
        let cells = self.rows.iter().filter(is_alone);
        cells.filter_map(|row| Some((row, row.found?)))
    }

    /// What is wrong by degrees at the cell's terminals.
    fn degrees(&self, causes: &mut Causes) {
        let across_s = self
            .row(Step::Bare, Quantity::OpenCell)
            .filter(|row| row.verdict == Verdict::Off)
            .and_then(|row| row.found)
            .filter(|siemens| *siemens > 0.0);
        if let Some(siemens) = across_s {
            causes.add(Cause::Across { ohm: 1.0 / siemens });
        }
        let beside = |ohm: f64| ohm / (1.0 + ohm * across_s.unwrap_or(0.0));
        let is_off =
            |(row, found): &(&Row, f64)| libm::fabs(found - beside(row.expected)) > row.limit;
        if !self.cells().any(|cell| is_off(&cell)) {
            return;
        }
        // The smallest resistor shows best what is in series.
        let smallest = self.cells().min_by(|a, b| a.0.expected.total_cmp(&b.0.expected));
        let series = smallest.map_or(0.0, |(row, found)| found - beside(row.expected));
        let explains = |(row, found): (&Row, f64)| {
            libm::fabs(found - beside(row.expected) - series) <= row.limit
        };
        if series > 0.0 && self.cells().all(explains) {
            causes.add(Cause::Series { ohm: series });
            return;
        }
        for (range, part) in [
            (Range::Ohm1k, &parts::RANGE_1K),
            (Range::Ohm10k, &parts::RANGE_10K),
            (Range::Ohm100k, &parts::RANGE_100K),
        ] {
            let of_range = || self.cells().filter(|(row, _)| *range_for(row.expected) == *part);
            let ratio = |(row, found): (&Row, f64)| found / beside(row.expected);
            let least = of_range().map(ratio).fold(f64::INFINITY, f64::min);
            let most = of_range().map(ratio).fold(0.0, f64::max);
            if of_range().any(|cell| is_off(&cell)) && most - least < TOGETHER * most {
                causes.add(Cause::RangeOff { range, factor: 0.5 * (least + most) });
            }
        }
    }

    /// What leads from the reference terminal to mid, where the same resistor reads right without it.
    fn reference(&self, causes: &mut Causes) {
        let pair = [Step::Cell(JOINED), Step::Joined].map(|step| self.row(step, Quantity::Cell));
        let [Some(alone), Some(joined)] = pair else { return };
        if alone.verdict != Verdict::Pass || !self.is_wrong(Step::Joined, Quantity::Cell) {
            return;
        }
        // Whoever forgot to change the resistor finds what was found before.
        let is_same = |row: &Row, ohm: f64| {
            row.found.is_some_and(|found| libm::fabs(ohm / found - 1.0) < TOGETHER)
        };
        let left = joined.found.and_then(|ohm| self.cells().find(|(row, _)| is_same(row, ohm)));
        if let Some((row, _)) = left {
            causes.add(Cause::LoadLeft { ohm: row.expected });
        }
        match joined.found.map(|ohm| 1.0 / ohm - 1.0 / joined.expected) {
            Some(siemens) if siemens > 0.0 => {
                causes.add(Cause::ReferencePath { ohm: Some(1.0 / siemens) });
            }
            None if self
                .at(Step::Joined)
                .is_some_and(|it| it.flags.has(Flags::CELL_OVER_RANGE)) =>
            {
                causes.add(Cause::ReferencePath { ohm: None });
            }
            // More than without it: another load, which was named, or a loose one.
            _ => {}
        }
    }

    fn thermometer(&self, causes: &mut Causes) {
        let Some(seen) = self.at(Step::Bare) else { return };
        if !self.is_wrong(Step::Bare, Quantity::Thermometer) {
            return;
        }
        causes.add(match seen.thermometer_ohm {
            Some(mean) => Cause::ReferenceOff { factor: mean.value / self.loads.thermometer.value },
            None if seen.flags.has(Flags::THERMOMETER_SHORT) => Cause::ThermometerShort,
            None => Cause::ThermometerOpen,
        });
    }
}

fn is_restless(mean: Mean) -> bool {
    mean.scatter > FITS * libm::fabs(mean.value)
}

fn is_near(mean: Mean, ohm: f64) -> bool {
    libm::fabs(mean.value / ohm - 1.0) < FITS
}

fn fits_cell(said: Said, seen: &Seen) -> bool {
    let is_open = seen.flags.has(Flags::CELL_OPEN);
    let is_short = seen.flags.has(Flags::CELL_OVER_RANGE);
    let resistance = seen.conductance_s.map(|mean| Mean { value: 1.0 / mean.value, ..mean });
    match said {
        Said::Open => is_open && !is_short && resistance.is_some(),
        Said::Dead => is_open && resistance.is_none(),
        Said::Short => is_short && !is_open,
        Said::Ohm(ohm) => {
            !is_open && !is_short && resistance.is_some_and(|mean| is_near(mean, ohm))
        }
        Said::Anything => seen.conductance_s.is_none_or(is_restless),
        Said::Round(ohms) => {
            let is_one_of = |mean| ohms.into_iter().any(|ohm| is_near(mean, ohm));
            seen.conductance_s.is_none_or(is_restless) || resistance.is_some_and(is_one_of)
        }
    }
}

fn fits_thermometer(said: Said, seen: &Seen, right: f64) -> bool {
    match said {
        Said::Open | Said::Dead => seen.flags.has(Flags::THERMOMETER_OPEN),
        Said::Short => seen.flags.has(Flags::THERMOMETER_SHORT),
        Said::Ohm(ohm) => seen.thermometer_ohm.is_some_and(|mean| is_near(mean, ohm)),
        // Anything, but not what is there, again and again.
        Said::Anything | Said::Round(_) => seen
            .thermometer_ohm
            .is_none_or(|mean| !is_near(mean, right) || mean.scatter > FITS * right),
    }
}

/// Every mistake of wiring that is known, with what it makes of the wiring, those first that need no
/// particular value or level (judgement).
fn mistakes(mut each: impl FnMut(Cause, Wiring)) {
    const RIGHT: Wiring = Wiring::RIGHT;
    each(Cause::Drive, Wiring { is_driven: false, ..RIGHT });
    each(Cause::Return, Wiring { is_closed: false, ..RIGHT });
    for (at, place) in FITTED.into_iter().enumerate() {
        let others = FITTED.map(|part| part.value).into_iter().chain([f64::INFINITY]);
        for ohm in others.filter(|ohm| *ohm != place.value) {
            let mut wiring = RIGHT;
            wiring.resistors[at] = ohm;
            each(Cause::Resistor { place, ohm: Some(ohm) }, wiring);
        }
        for (other_at, other) in FITTED.into_iter().enumerate().skip(at + 1) {
            let mut wiring = RIGHT;
            wiring.resistors.swap(at, other_at);
            each(Cause::Swapped { one: place, other }, wiring);
        }
    }
    let swapped = |asked: usize| (asked & 1) << 1 | asked >> 1;
    each(Cause::RangeLines, Wiring { positions: RIGHT.positions.map(swapped), ..RIGHT });
    each(Cause::TapLines, Wiring { taps: RIGHT.taps.map(swapped), ..RIGHT });
    for (is_low, level) in [(true, false), (true, true), (false, false), (false, true)] {
        let bit = if is_low { 0b01 } else { 0b10 };
        let stuck = |asked: usize| if level { asked | bit } else { asked & !bit };
        let wiring = Wiring { positions: RIGHT.positions.map(stuck), ..RIGHT };
        each(Cause::RangeLine { is_low, level }, wiring);
        each(Cause::TapLine { is_low, level }, Wiring { taps: RIGHT.taps.map(stuck), ..RIGHT });
    }
}
