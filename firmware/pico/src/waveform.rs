//! The excitation as a sequence of levels on three pins, counted in cycles of a PIO state machine.
//!
//! A period is [`PERIOD_CYCLES`] long whatever the frequency: the divider of the state machine's clock
//! makes the frequency. Each gate is open for the centre 25–75 % of its half period.

/// Bit of the drive in [`Step::levels`].
pub const DRIVE: u8 = 0b001;
/// Bit of the gate of the positive half period.
pub const GATE_PLUS: u8 = 0b010;
/// Bit of the gate of the negative half period.
pub const GATE_MINUS: u8 = 0b100;

/// Levels that are held for some cycles.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Step {
    /// [`DRIVE`], [`GATE_PLUS`] and [`GATE_MINUS`].
    pub levels: u8,
    /// How long, in cycles: one to write them and up to 31 of delay.
    pub cycles: u8,
}

const fn step(levels: u8, cycles: u8) -> Step {
    Step { levels, cycles }
}

/// Cycles in one period: 32 a quarter of which 16 stand before a gate and half of its 32 behind.
pub const PERIOD_CYCLES: u32 = 128;

/// The first half period, of half length, so that the blocking capacitors start on their symmetric
/// orbit. Nothing is sampled in it.
pub const FIRST: Step = step(DRIVE, 32);

/// One period, repeated for as long as the drive runs.
pub const PERIOD: [Step; 6] = [
    step(0, 16),
    step(GATE_MINUS, 32),
    step(0, 16),
    step(DRIVE, 16),
    step(DRIVE | GATE_PLUS, 32),
    step(DRIVE, 16),
];

/// What divides the system clock for this frequency, in 1/256 and rounded to nearest.
///
/// A divider of 16 bits and 8 bits behind the point: from 16 Hz (at 133 MHz) to 1/256 of what a
/// divider of 1 would make. Up to 8 kHz at 125 MHz the frequency is right to 1.6·10⁻⁵ and an edge
/// comes up to one system clock (8 ns) early.
pub const fn divider_256(system_hz: u32, frequency_hz: u32) -> u32 {
    /// 1 and 65536, the ends of the divider.
    const ENDS: [u64; 2] = [256, 65_536 * 256];
    let cycles_hz = frequency_hz as u64 * PERIOD_CYCLES as u64;
    if cycles_hz == 0 {
        return ENDS[1] as u32;
    }
    let divider = (system_hz as u64 * 256 + cycles_hz / 2) / cycles_hz;
    if divider < ENDS[0] {
        ENDS[0] as u32
    } else if divider > ENDS[1] {
        ENDS[1] as u32
    } else {
        divider as u32
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The levels cycle by cycle.
    fn cycles(steps: &[Step]) -> impl Iterator<Item = u8> {
        steps.iter().flat_map(|step| core::iter::repeat_n(step.levels, step.cycles.into()))
    }

    #[test]
    fn gates_are_open_for_the_centre_half_of_their_half_period() {
        let half = PERIOD_CYCLES as usize / 2;
        assert_eq!(cycles(&PERIOD).count(), 2 * half);
        for (at, levels) in cycles(&PERIOD).enumerate() {
            let is_positive = at >= half;
            let is_centre = (half / 4..half * 3 / 4).contains(&(at % half));
            assert_eq!(levels & DRIVE != 0, is_positive, "cycle {at}");
            assert_eq!(levels & GATE_PLUS != 0, is_positive && is_centre, "cycle {at}");
            assert_eq!(levels & GATE_MINUS != 0, !is_positive && is_centre, "cycle {at}");
        }
    }

    #[test]
    fn the_first_half_period_is_of_half_length_and_unsampled() {
        assert_eq!(u32::from(FIRST.cycles), PERIOD_CYCLES / 4);
        assert_eq!(FIRST.levels, DRIVE);
    }

    #[test]
    fn every_frequency_of_the_front_end_is_hit() {
        // The front end's frequencies, at the Pico's 125 MHz.
        for hz in [220, 2_000, 2_030, 4_000, 8_000] {
            let divider = f64::from(divider_256(125_000_000, hz)) / 256.0;
            let made = 125e6 / divider / f64::from(PERIOD_CYCLES);
            let off = (made / f64::from(hz) - 1.0).abs();
            assert!(off < 1.6e-5, "{hz} Hz is off by {off}");
        }
    }

    #[test]
    fn what_cannot_be_made_is_made_as_near_as_can_be() {
        assert_eq!(divider_256(125_000_000, 0), 65_536 * 256);
        assert_eq!(divider_256(125_000_000, 1), 65_536 * 256);
        assert_eq!(divider_256(125_000_000, u32::MAX), 256);
    }
}
