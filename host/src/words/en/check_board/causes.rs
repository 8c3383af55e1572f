//! What is likely wrong with a board, and what to look at.

use rillmark_net_list::{
    CELL, MID, NETLIST, Net, RANGE_HIGH, RANGE_LOW, REFERENCE_RETURN, TAP_HIGH, TAP_LOW,
};
use rillmark_procedures::board_check::Cause;
use rillmark_proto::circuit::parts::{
    BLOCKING_DRIVE, BLOCKING_RETURN, CELL_BOTTOM_PROTECTION, CELL_RETURN, CELL_TOP_PROTECTION,
    DRIVE_SERIES, DRIVE_TO_MID, ELECTRODE_FILTER, ELECTROMETER_PROTECTION, HOLD_MINUS_CAPACITOR,
    HOLD_PLUS_CAPACITOR, I2C_CLOCK_PULL_UP, I2C_DATA_PULL_UP, INPUT_PROTECTION, MID_FILTER,
    MID_LOWER, MID_UPPER, POWER_GATE, POWER_PULL_UP, REFERENCE_PROTECTION,
    THERMOMETER_BOTTOM_PROTECTION, THERMOMETER_REFERENCE, THERMOMETER_TOP_PROTECTION,
};

use super::numbers::{amperes, millivolts, ohms};

/// Above the causes.
pub fn causes(count: usize) -> &'static str {
    if count == 1 {
        "What is likely wrong:"
    } else {
        "What is likely wrong, the likeliest first; some of these may look just the same to the measurements:"
    }
}

fn line(is_low: bool) -> &'static str {
    if is_low { "low" } else { "high" }
}

fn level(level: bool) -> &'static str {
    if level { "high" } else { "low" }
}

/// The pins of a chip that are on these nets: `U3, pins 10 and 9`.
fn pins(chip: &str, nets: [Net; 2]) -> String {
    let [one, other] = nets.map(|net| pin(chip, net));
    format!("{chip}, pins {one} and {other}")
}

/// The pin of a chip that is on a net.
fn pin(chip: &str, net: Net) -> u8 {
    NETLIST.pins_of(chip).find(|pin| pin.net == Some(net)).map_or(0, |pin| pin.number)
}

/// What is wrong.
pub fn cause(cause: &Cause) -> String {
    match *cause {
        Cause::Bus => "Neither converter nor clock chip answers: the I2C bus itself.".to_owned(),
        Cause::Converter => {
            "The converter (U6) does not answer at its address, though the bus works.".to_owned()
        }
        Cause::ClockChip => "The clock chip (U7) does not answer, though the bus works.".to_owned(),
        Cause::Supply => {
            "Nothing follows, neither drive nor pH input: the front end has no switched supply."
                .to_owned()
        }
        Cause::Drive => {
            "No drive is found: none reaches the range resistors, or the holds lose it (gates swapped, a hold \
             capacitor missing, a drive that is too large: all of them look the same)."
                .to_owned()
        }
        Cause::Return => "The cell's return to mid is open.".to_owned(),
        Cause::Resistor { place, ohm: Some(ohm) } if ohm.is_finite() => {
            format!("{} looks like {} instead of {place}.", place.designator, ohms(ohm))
        }
        Cause::Resistor { place, ohm: Some(_) } => {
            format!("{} ({place}) is missing, or its joint is open.", place.designator)
        }
        Cause::Resistor { place, ohm: None } => {
            format!("{} ({place}) has another value, or is missing.", place.designator)
        }
        Cause::Swapped { one, other } => format!(
            "{} and {} ({one} and {other}) are in each other's place.",
            one.designator, other.designator
        ),
        Cause::RangeLine { is_low, level: of } => format!(
            "The {} control line of the range switch (U3) does not get through: always {}.",
            line(is_low),
            level(of)
        ),
        Cause::RangeLines => {
            "The two control lines of the range switch (U3) are swapped.".to_owned()
        }
        Cause::TapLines => {
            "The two control lines of the tap switch (U4) are swapped, or the taps a and b are.".to_owned()
        }
        Cause::TapLine { is_low, level: of } => format!(
            "The {} control line of the tap switch (U4) does not get through: always {}.",
            line(is_low),
            level(of)
        ),
        Cause::RangeOff { range, factor } => {
            let part = range.resistor();
            format!(
                "All on the range of {part} reads {factor:.4} times what is there: {} is off by that, or the \
                 load is.",
                part.designator
            )
        }
        Cause::Series { ohm } => {
            format!("Some {} lie in series with the cell's terminals.", ohms(round(ohm)))
        }
        Cause::Across { ohm } => {
            format!("Some {} lie across the cell's terminals.", ohms(round(ohm)))
        }
        Cause::ThermometerOpen => "The thermometer's terminals read open.".to_owned(),
        Cause::ThermometerShort => "The thermometer's terminals read shorted.".to_owned(),
        Cause::ReferenceOff { factor } => format!(
            "The thermometer reads {factor:.4} times what is there: {} ({THERMOMETER_REFERENCE}) is off by \
             that, or the load is.",
            THERMOMETER_REFERENCE.designator
        ),
        Cause::InputOpen => {
            "The pH input drifts away though it is joined to its reference terminal: one of the two ends is \
             open."
                .to_owned()
        }
        Cause::InputDead => "The pH input does not follow its source.".to_owned(),
        Cause::Mid { at_supply } => format!(
            "The pH input follows one polarity only: mid stands at {} and not between.",
            if at_supply { "the supply" } else { "ground" }
        ),
        Cause::InputReversed => {
            "Plus and minus of the pH input are swapped, or the source was the wrong way round.".to_owned()
        }
        Cause::Zero { mv } => {
            format!("The pH input reads {} where there is nothing.", millivolts(mv))
        }
        Cause::Gain { factor } => format!(
            "The pH input reads {factor:.4} times its source: its gain is off, or the source is not what was \
             said."
        ),
        Cause::Leak { ampere: None } => {
            "The pH input leaves its range behind a high resistance: a large current flows at the input, as \
             with an amplifier of bipolar input."
                .to_owned()
        }
        Cause::Leak { ampere: Some(ampere) } if ampere < 0.0 => format!(
            "{} flow out of the pH input, as through a leak to ground: a joint of the guard, or flux.",
            amperes(-ampere)
        ),
        Cause::Leak { ampere: Some(ampere) } => format!(
            "{} flow into the pH input, as from a leak to the supply or an amplifier of too much bias.",
            amperes(ampere)
        ),
        Cause::LoadLeft { ohm } => format!(
            "{} were between the cell's terminals (J2) still: the resistor was not changed back.",
            ohms(ohm)
        ),
        Cause::ReferencePath { ohm: Some(ohm) } => format!(
            "Some {} lead from J1's shell to mid while the cell is driven, where nothing should: in any water \
             they take a part of the drive.",
            ohms(round(ohm))
        ),
        Cause::ReferencePath { ohm: None } => {
            "J1's shell leads to mid while the cell is driven, where nothing should.".to_owned()
        }
        Cause::Restless => "Readings will not keep still.".to_owned(),
    }
}

/// Two significant digits.
fn round(ohm: f64) -> f64 {
    let scale = 10_f64.powf(ohm.abs().max(f64::MIN_POSITIVE).log10().floor() - 1.0);
    (ohm / scale).round() * scale
}

/// What to look at.
pub fn look_at(cause: &Cause) -> String {
    let of = |parts: &[&str]| parts.join(", ");
    match cause {
        Cause::Bus => format!(
            "Look at data and clock, which may be swapped, at the pull-ups {}, and at the chips' supply.",
            of(&[I2C_DATA_PULL_UP.designator, I2C_CLOCK_PULL_UP.designator])
        ),
        Cause::Converter => {
            "Look at its address pin, which belongs to ground, at its supply, and at the joints \
             of data and clock."
                .to_owned()
        }
        Cause::ClockChip => {
            "Look at its supply, its joints, and whether it sits the right way round.".to_owned()
        }
        Cause::Supply => format!(
            "Look at the transistor Q1, which may be turned round, at {}, and measure 3V3S and mid ({}): 3.3 \
             and 1.65 V while the board reads.",
            of(&[POWER_PULL_UP.designator, POWER_GATE.designator]),
            of(&[MID_UPPER.designator, MID_LOWER.designator])
        ),
        Cause::Drive => format!(
            "Measure AC behind {}: 0.4 V against mid while the cell is read. Without it look at the drive's \
             pin, {} and U2; with 1.25 V {} are swapped. With it look at the gates' lines, U5 and {}.",
            BLOCKING_DRIVE.designator,
            of(&[DRIVE_SERIES.designator, DRIVE_TO_MID.designator, BLOCKING_DRIVE.designator]),
            of(&[DRIVE_SERIES.designator, DRIVE_TO_MID.designator]),
            of(&[HOLD_PLUS_CAPACITOR.designator, HOLD_MINUS_CAPACITOR.designator])
        ),
        Cause::Return => format!(
            "Look at {}, at the cell switch (U5) and at its line.",
            of(&[CELL_RETURN.designator, BLOCKING_RETURN.designator])
        ),
        Cause::Resistor { place, .. } => {
            format!("Read its marking, and measure it with the power off: {}.", place.designator)
        }
        Cause::Swapped { one, other } => {
            format!("Read their markings: {} and {}.", one.designator, other.designator)
        }
        Cause::RangeLine { .. } | Cause::RangeLines => {
            format!(
                "Follow {RANGE_LOW} and {RANGE_HIGH} from the board's pins to {}.",
                pins("U3", [RANGE_LOW, RANGE_HIGH])
            )
        }
        Cause::TapLines | Cause::TapLine { .. } => format!(
            "Follow {TAP_LOW} and {TAP_HIGH} from the board's pins to {}, and the taps from {}.",
            pins("U4", [TAP_LOW, TAP_HIGH]),
            of(&[CELL_TOP_PROTECTION.designator, CELL_BOTTOM_PROTECTION.designator])
        ),
        Cause::RangeOff { range, .. } => {
            format!("Measure the load, and {} with the power off.", range.resistor().designator)
        }
        Cause::Series { .. } => {
            "Look at the joints and screws of J2 and at the leads to the load.".to_owned()
        }
        Cause::Across { .. } => {
            "Look for flux and moisture between the terminals of J2, clean and dry.".to_owned()
        }
        Cause::ThermometerOpen => format!(
            "Look at the load, at the joints of J3, {} and U3.",
            of(&[THERMOMETER_TOP_PROTECTION.designator, THERMOMETER_BOTTOM_PROTECTION.designator])
        ),
        Cause::ThermometerShort => format!(
            "Look for a bridge at J3, and whether {} is there.",
            THERMOMETER_REFERENCE.designator
        ),
        Cause::ReferenceOff { .. } => format!(
            "Measure the load, and {} with the power off.",
            THERMOMETER_REFERENCE.designator
        ),
        Cause::InputOpen => format!(
            "Look at the joints from J1 over {} to U1, and of {} from J1's shell to {}.",
            of(&[INPUT_PROTECTION.designator, ELECTROMETER_PROTECTION.designator]),
            REFERENCE_PROTECTION.designator,
            pins("U5", [REFERENCE_RETURN, MID])
        ),
        Cause::InputDead => format!(
            "Look at the source, at U1, and at {} to the converter's inputs 0 and 1.",
            of(&[ELECTRODE_FILTER.designator, MID_FILTER.designator])
        ),
        Cause::Mid { .. } => format!(
            "Measure mid, which is half of 3V3S, then look at {} and U1's second half.",
            of(&[MID_UPPER.designator, MID_LOWER.designator])
        ),
        Cause::InputReversed => format!(
            "Look at the source's polarity, at J1, and whether {} go to the converter's inputs 0 and 1.",
            of(&[ELECTRODE_FILTER.designator, MID_FILTER.designator])
        ),
        Cause::Zero { .. } => format!(
            "Measure mid, half of 3V3S ({}), and U1's outputs; a converter input may hang in the air ({}).",
            of(&[MID_UPPER.designator, MID_LOWER.designator]),
            of(&[ELECTRODE_FILTER.designator, MID_FILTER.designator])
        ),
        Cause::Gain { .. } => format!(
            "Measure the source while it is connected, then look at {}.",
            of(&[ELECTRODE_FILTER.designator, MID_FILTER.designator])
        ),
        Cause::Leak { .. } => format!(
            "Look at the guard's joints around {} and U1's input, clean the board with isopropanol and dry it, \
             and read U1's type: its input is a CMOS one.",
            INPUT_PROTECTION.designator
        ),
        Cause::LoadLeft { .. } => {
            "Connect the resistor that the step asks for, and check again.".to_owned()
        }
        Cause::ReferencePath { .. } => format!(
            "Look where {} leads: to U5's pin {}, and not to mid ({}); and whether U5's pin {} is joined to \
             {CELL}.",
            REFERENCE_PROTECTION.designator,
            pin("U5", REFERENCE_RETURN),
            pin("U5", MID),
            pin("U5", CELL)
        ),
        Cause::Restless => {
            "Shut the box, shorten the leads, keep chargers and lamps away; a joint that is \
             loose does the same."
                .to_owned()
        }
    }
}

#[cfg(test)]
mod tests {
    use rillmark_proto::circuit::parts;
    use rillmark_proto::reading::Range;

    use super::*;

    #[test]
    fn pins_are_those_of_the_table() {
        assert_eq!(pins("U3", [RANGE_LOW, RANGE_HIGH]), "U3, pins 10 and 9");
        assert_eq!(pins("U4", [TAP_LOW, TAP_HIGH]), "U4, pins 11 and 10");
        assert_eq!(pins("U5", [REFERENCE_RETURN, MID]), "U5, pins 12 and 14");
    }

    #[test]
    fn every_cause_is_a_sentence_and_says_what_to_look_at() {
        let place = &parts::RANGE_1K;
        let resistor = |ohm| Cause::Resistor { place, ohm };
        let all = [
            Cause::Bus,
            Cause::Converter,
            Cause::ClockChip,
            Cause::Supply,
            Cause::Drive,
            Cause::Return,
            resistor(None),
            resistor(Some(1e4)),
            resistor(Some(f64::INFINITY)),
            Cause::Swapped { one: place, other: &parts::RANGE_10K },
            Cause::RangeLine { is_low: true, level: false },
            Cause::RangeLines,
            Cause::TapLines,
            Cause::TapLine { is_low: false, level: true },
            Cause::RangeOff { range: Range::Ohm10k, factor: 1.05 },
            Cause::Series { ohm: 9.87 },
            Cause::Across { ohm: 1.02e6 },
            Cause::ThermometerOpen,
            Cause::ThermometerShort,
            Cause::ReferenceOff { factor: 0.96 },
            Cause::InputOpen,
            Cause::InputDead,
            Cause::Mid { at_supply: false },
            Cause::Mid { at_supply: true },
            Cause::InputReversed,
            Cause::Zero { mv: 12.3 },
            Cause::Gain { factor: 0.9 },
            Cause::Leak { ampere: None },
            Cause::Leak { ampere: Some(-1.6e-10) },
            Cause::Leak { ampere: Some(1.6e-10) },
            Cause::LoadLeft { ohm: 100.0 },
            Cause::ReferencePath { ohm: Some(1_070.0) },
            Cause::ReferencePath { ohm: None },
            Cause::Restless,
        ];
        let mut seen = std::collections::BTreeSet::new();
        for cause in all {
            let (sentence, look) = (super::cause(&cause), look_at(&cause));
            assert!(sentence.ends_with('.') && look.ends_with('.'), "{cause:?}");
            assert!(!format!("{sentence}{look}").contains("  "), "{cause:?}: {sentence} {look}");
            assert!(seen.insert(sentence), "{cause:?}");
        }
        assert!(super::cause(&Cause::Series { ohm: 9.87 }).contains("9.9 Ω"));
    }
}
