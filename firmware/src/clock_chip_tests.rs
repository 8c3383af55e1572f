//! The clock chip against a scripted bus. Registers by the DS3231 data sheet (19-5170, timekeeping
//! registers), recalled, not checked; UTC seconds by Python 3 `datetime`, computed.

use super::*;
use crate::scripted::{Step, block_on, i2c};
use std::vec;

/// 2024-02-29 12:34:56 UTC.
const LEAP_MS: i64 = 1_709_210_096_000;
const LEAP_REGISTERS: [u8; 7] = [0x56, 0x34, 0x12, 4, 0x29, 0x02, 0x24];

fn read(register: u8, bytes: &[u8]) -> Step {
    Step::write_read(CLOCK_ADDRESS, vec![register], bytes.to_vec())
}

fn write(bytes: &[u8]) -> Step {
    Step::write(CLOCK_ADDRESS, bytes.to_vec())
}

#[test]
fn setting_writes_the_time_then_clears_the_lost_mark() {
    let mut bus = i2c([
        write(&[0x00, 0x56, 0x34, 0x12, 4, 0x29, 0x02, 0x24]),
        read(0x0e, &[0x9c]),
        write(&[0x0e, 0x1c]),
        read(0x0f, &[0x88]),
        write(&[0x0f, 0x0b]),
    ]);
    assert_eq!(block_on(ClockChip(&mut bus).set(LEAP_MS + 499)), Ok(()));
    bus.done();
}

#[test]
fn reading_knows_a_lost_time_and_an_impossible_one() {
    let cases: [(u8, [u8; 7], Option<i64>); 6] = [
        (0x00, LEAP_REGISTERS, Some(LEAP_MS)),
        (0x80, LEAP_REGISTERS, None),
        (0x00, [0x5a, 0x34, 0x12, 4, 0x29, 0x02, 0x24], None),
        (0x00, [0x56, 0x34, 0x12, 4, 0x29, 0x02, 0x23], None),
        (0x00, [0x56, 0x34, 0x52, 4, 0x29, 0x02, 0x24], None),
        (0x00, [0x56, 0x34, 0x12, 4, 0x29, 0x82, 0x24], None),
    ];
    for (status, registers, expected) in cases {
        let mut steps = vec![read(0x0f, &[status])];
        if status & 0x80 == 0 {
            steps.push(read(0x00, &registers));
        }
        let mut bus = i2c(steps);
        assert_eq!(block_on(ClockChip(&mut bus).utc_ms()), Ok(expected), "{registers:02x?}");
        bus.done();
    }
}

#[test]
fn out_of_range_leaves_the_chip_alone() {
    let mut bus = i2c([]);
    for outside in [0, 4_102_444_800_000] {
        assert_eq!(block_on(ClockChip(&mut bus).set(outside)), Err(ClockError::Range));
        assert_eq!(block_on(ClockChip(&mut bus).set_alarm(outside)), Err(ClockError::Range));
    }
    bus.done();
}

#[test]
fn the_alarm_is_set_seen_and_cleared_without_touching_its_neighbours() {
    let mut bus = i2c([
        write(&[0x07, 0x56, 0x34, 0x12, 0x29]),
        read(0x0f, &[0x0b]),
        write(&[0x0f, 0x0a]),
        read(0x0e, &[0x18]),
        write(&[0x0e, 0x1d]),
        read(0x0f, &[0x09]),
        read(0x0e, &[0x1d]),
        write(&[0x0e, 0x1c]),
        read(0x0f, &[0x09]),
        write(&[0x0f, 0x0a]),
    ]);
    block_on(async {
        let mut chip = ClockChip(&mut bus);
        assert_eq!(chip.set_alarm(LEAP_MS).await, Ok(()));
        assert_eq!(chip.alarm().await, Ok(true));
        assert_eq!(chip.clear_alarm().await, Ok(()));
    });
    bus.done();
}

#[test]
fn silence_is_an_error() {
    let mut bus = i2c([read(0x0f, &[0]).silent(), write(&[0; 8]).silent()]);
    assert_eq!(block_on(ClockChip(&mut bus).utc_ms()), Err(ClockError::Silent));
    assert_eq!(block_on(ClockChip(&mut bus).set(LEAP_MS)), Err(ClockError::Silent));
}
