//! Register behaviour as the data sheet of the DS3231 class describes it (19-5170; recalled, not
//! checked).

use proptest::prelude::*;

use super::{ClockChip, date_from_2000, days_from_2000, month_days};

const S: u64 = 1_000_000_000;

fn read<const N: usize>(chip: &mut ClockChip, pointer: u8, now: u64) -> [u8; N] {
    let mut bytes = [0; N];
    chip.write(&[pointer], now);
    chip.read(&mut bytes, now);
    bytes
}

#[test]
fn a_new_battery_means_a_lost_time_until_the_flag_is_cleared() {
    let mut chip = ClockChip::new(0.0);
    assert_eq!(read::<1>(&mut chip, 0x0F, 0)[0] & 0x80, 0x80);
    chip.write(&[0x0F, 0xFF], 0);
    assert_eq!(read::<1>(&mut chip, 0x0F, 0)[0] & 0x80, 0x80, "a one does not clear it");
    chip.write(&[0x0F, 0x00], 0);
    assert_eq!(read::<1>(&mut chip, 0x0F, 0)[0] & 0x80, 0);
}

#[test]
fn counts_in_bcd_over_every_carry() {
    // (set, one second later): seconds to year, leap days, century (proleptic Gregorian calendar).
    let cases: [([u8; 7], [u8; 7]); 4] = [
        ([0x59, 0x59, 0x23, 5, 0x28, 0x02, 0x24], [0x00, 0x00, 0x00, 6, 0x29, 0x02, 0x24]),
        ([0x59, 0x59, 0x23, 7, 0x28, 0x02, 0x25], [0x00, 0x00, 0x00, 1, 0x01, 0x03, 0x25]),
        ([0x59, 0x59, 0x23, 3, 0x31, 0x12, 0x99], [0x00, 0x00, 0x00, 4, 0x01, 0x81, 0x00]),
        ([0x59, 0x59, 0x71, 2, 0x09, 0x10, 0x31], [0x00, 0x00, 0x52, 3, 0x10, 0x10, 0x31]),
    ];
    for (set, next) in cases {
        let mut chip = ClockChip::new(0.0);
        let mut bytes = [0; 8];
        bytes[1..].copy_from_slice(&set);
        chip.write(&bytes, 5 * S);
        assert_eq!(read::<7>(&mut chip, 0, 5 * S), set);
        assert_eq!(read::<7>(&mut chip, 0, 6 * S - 1), set);
        assert_eq!(read::<7>(&mut chip, 0, 6 * S), next);
    }
}

#[test]
fn keeps_utc_and_runs_at_its_own_rate() {
    // 1 767 225 600 s is 2026-01-01T00:00:00Z (POSIX time: 20 454 days).
    let mut chip = ClockChip::keeping(2.0, 1_767_225_600);
    assert_eq!(read::<7>(&mut chip, 0, 0)[4..], [0x01, 0x01, 0x26]);
    // 2 ppm of 1 000 000 s are 2 s.
    let seconds = read::<1>(&mut chip, 0, 1_000_000 * S)[0];
    // 1 000 002 s after midnight end in …:42.
    assert_eq!(seconds, 0x42);
}

#[test]
fn the_pointer_runs_on_and_wraps() {
    let mut chip = ClockChip::new(0.0);
    chip.write(&[0x0D, 0x33], 0);
    assert_eq!(read::<1>(&mut chip, 0x0D, 0), [0x33]);
    let around = read::<3>(&mut chip, 0x11, 0);
    assert_eq!(around, [25, 0, 0x00]);
}

#[test]
fn the_alarm_matches_once_and_pulls_its_pin_when_enabled() {
    let mut chip = ClockChip::keeping(0.0, 1_767_225_600);
    // At 00:02:30, whatever the day.
    chip.write(&[0x07, 0x30, 0x02, 0x00, 0x80], 0);
    chip.write(&[0x0E, 0x05], 0);
    assert!(!chip.alarm(149 * S));
    assert!(chip.alarm(151 * S));
    assert_eq!(read::<1>(&mut chip, 0x0F, 151 * S)[0] & 1, 1);
    chip.write(&[0x0F, 0x00], 152 * S);
    assert!(!chip.alarm(153 * S));
    assert!(chip.alarm(86_400 * S + 150 * S), "and again a day later");
}

proptest! {
    #[test]
    fn days_and_dates_are_each_others_inverse(days in 0i64..73_049) {
        // 200 years from 2000 on have 73 049 days: 200 · 365 + 49 leap days (2100 has none).
        let (year, month, date) = date_from_2000(days);
        prop_assert!((1..=12).contains(&month) && (1..=month_days(year, month)).contains(&date));
        prop_assert_eq!(days_from_2000(year, month, date), days);
    }

    #[test]
    fn any_bytes_are_taken_without_a_panic(
        writes in prop::collection::vec(prop::collection::vec(any::<u8>(), 0..24), 0..8),
    ) {
        let mut chip = ClockChip::new(0.0);
        for (n, bytes) in writes.iter().enumerate() {
            let now = n as u64 * 1_000 * S;
            chip.write(bytes, now);
            chip.read(&mut [0; 24], now);
            chip.alarm(now);
        }
    }
}
