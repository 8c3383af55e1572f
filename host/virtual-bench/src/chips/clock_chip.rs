//! The clock chip: a battery-backed calendar with an alarm, on I2C (DS3231 class, register map
//! after its data sheet).
//!
//! Its battery outlives the bench: a power cycle of the probe leaves it running. The calendar runs
//! from 2000 to 2199, the century bit counting the second hundred years. The temperature register
//! stands at 25 °C and the square-wave output is not modelled.

use crate::time::NS_PER_S;

/// The number of registers.
const REGISTERS: u8 = 0x13;
const ALARM_1: usize = 0x07;
const CONTROL: usize = 0x0E;
const STATUS: usize = 0x0F;
const TEMPERATURE: usize = 0x11;
/// Status: the oscillator stopped at some time.
const STOPPED: u8 = 0x80;
/// Status: alarm 1 matched.
const ALARM_1_FLAG: u8 = 0x01;
/// Control: the interrupt pin shows alarms, and alarm 1 among them.
const ALARM_1_PIN: u8 = 0x05;
/// Seconds from 1970 to 2000 (POSIX time of 2000-01-01: 10 957 days).
const EPOCH_2000_S: i64 = 946_684_800;
const DAY_S: i64 = 86_400;
/// A stretch of time longer than this, in s, is searched for an alarm only at its end: every alarm
/// recurs within 31 days and 31 more.
const SEARCH_S: i64 = 62 * DAY_S;

/// The clock chip.
#[derive(Debug)]
pub(crate) struct ClockChip {
    pointer: u8,
    /// Registers as written; the time registers are worked out from the two fields below.
    registers: [u8; REGISTERS as usize],
    /// Seconds since 2000-01-01 at `set_ns`.
    set_s: i64,
    set_ns: u64,
    /// Added to the day count modulo 7: the day of the week is free to be set.
    weekday_shift: i64,
    twelve_hours: bool,
    /// Up to which second alarms were looked for.
    looked_s: i64,
    rate: f64,
}

impl ClockChip {
    /// A chip whose battery was just put in: the time is lost.
    pub(crate) fn new(ppm: f64) -> Self {
        let mut registers = [0; REGISTERS as usize];
        registers[CONTROL] = 0x1C;
        registers[STATUS] = STOPPED | 0x08;
        registers[TEMPERATURE] = 25;
        Self {
            pointer: 0,
            registers,
            set_s: 0,
            set_ns: 0,
            weekday_shift: 0,
            twelve_hours: false,
            looked_s: 0,
            rate: 1.0 + ppm * 1e-6,
        }
    }

    /// A chip that keeps this time (seconds since 1970-01-01 UTC) already.
    pub(crate) fn keeping(ppm: f64, unix_s: i64) -> Self {
        let mut chip = Self::new(ppm);
        chip.set_s = unix_s - EPOCH_2000_S;
        chip.looked_s = chip.set_s;
        chip.registers[STATUS] &= !STOPPED;
        chip
    }

    fn now_s(&self, now_ns: u64) -> i64 {
        let ran = (now_ns - self.set_ns) as f64 * self.rate;
        self.set_s + (ran / NS_PER_S as f64) as i64
    }

    /// True while the interrupt pin is pulled low.
    pub(crate) fn alarm(&mut self, now_ns: u64) -> bool {
        self.look_for_alarms(now_ns);
        self.registers[CONTROL] & ALARM_1_PIN == ALARM_1_PIN
            && self.registers[STATUS] & ALARM_1_FLAG != 0
    }

    /// A write transaction: pointer, then registers one after the other.
    pub(crate) fn write(&mut self, bytes: &[u8], now_ns: u64) {
        self.look_for_alarms(now_ns);
        let Some((&pointer, values)) = bytes.split_first() else {
            return;
        };
        self.pointer = pointer % REGISTERS;
        let mut time = self.time_registers(now_ns);
        let mut time_written = false;
        for &value in values {
            let at = usize::from(self.pointer);
            match at {
                0..=6 => {
                    time[at] = value;
                    time_written = true;
                }
                // The flags can only be cleared.
                STATUS => {
                    let flags = STOPPED | 0x03;
                    self.registers[STATUS] =
                        (value & 0x08) | (self.registers[STATUS] & value & flags);
                }
                TEMPERATURE.. => {}
                _ => self.registers[at] = value,
            }
            self.pointer = (self.pointer + 1) % REGISTERS;
        }
        if time_written {
            self.set(&time, now_ns);
        }
    }

    /// A read transaction, from the pointer on.
    pub(crate) fn read(&mut self, into: &mut [u8], now_ns: u64) {
        self.look_for_alarms(now_ns);
        let time = self.time_registers(now_ns);
        for to in into {
            let at = usize::from(self.pointer);
            *to = if at < time.len() { time[at] } else { self.registers[at] };
            self.pointer = (self.pointer + 1) % REGISTERS;
        }
    }

    /// Sets the time; writing restarts the running second.
    fn set(&mut self, time: &[u8; 7], now_ns: u64) {
        let [second, minute, hour, weekday, date, month, year] = *time;
        self.twelve_hours = hour & 0x40 != 0;
        let hour = if self.twelve_hours {
            from_bcd(hour & 0x1F) % 12 + if hour & 0x20 != 0 { 12 } else { 0 }
        } else {
            from_bcd(hour & 0x3F)
        };
        let year = from_bcd(year) + if month & 0x80 != 0 { 100 } else { 0 };
        let days = days_from_2000(year, from_bcd(month & 0x1F), from_bcd(date & 0x3F));
        self.set_s =
            days * DAY_S + hour * 3_600 + from_bcd(minute & 0x7F) * 60 + from_bcd(second & 0x7F);
        self.set_ns = now_ns;
        self.looked_s = self.set_s;
        self.weekday_shift = i64::from(weekday & 7) - 1 - days;
    }

    fn time_registers(&self, now_ns: u64) -> [u8; 7] {
        let now = self.now_s(now_ns);
        let (days, second) = (now.div_euclid(DAY_S), now.rem_euclid(DAY_S));
        let (year, month, date) = date_from_2000(days);
        let hour = second / 3_600;
        let hours = if self.twelve_hours {
            let twelve = if hour % 12 == 0 { 12 } else { hour % 12 };
            0x40 | if hour >= 12 { 0x20 } else { 0 } | to_bcd(twelve)
        } else {
            to_bcd(hour)
        };
        let century = if year >= 100 { 0x80 } else { 0 };
        [
            to_bcd(second % 60),
            to_bcd(second / 60 % 60),
            hours,
            ((days + self.weekday_shift).rem_euclid(7) + 1) as u8,
            to_bcd(date),
            to_bcd(month) | century,
            to_bcd(year % 100),
        ]
    }

    fn look_for_alarms(&mut self, now_ns: u64) {
        let now = self.now_s(now_ns);
        let first = (self.looked_s + 1).max(now - SEARCH_S);
        let alarm_set = self.registers[ALARM_1..ALARM_1 + 4].iter().any(|&register| register != 0);
        let pending = alarm_set && self.registers[STATUS] & ALARM_1_FLAG == 0;
        if pending && (first..=now).any(|second| self.alarm_1_matches(second)) {
            self.registers[STATUS] |= ALARM_1_FLAG;
        }
        self.looked_s = self.looked_s.max(now);
    }

    fn alarm_1_matches(&self, now_s: i64) -> bool {
        let second = now_s.rem_euclid(DAY_S);
        let fields = [second % 60, second / 60 % 60, second / 3_600];
        let alarm = &self.registers[ALARM_1..ALARM_1 + 4];
        let masked = |index: usize| alarm[index] & 0x80 != 0;
        let times_match = (0..3).all(|index| {
            let limit = if index == 2 { 0x3F } else { 0x7F };
            masked(index) || from_bcd(alarm[index] & limit) == fields[index]
        });
        let days = now_s.div_euclid(DAY_S);
        let day_matches = masked(3)
            || if alarm[3] & 0x40 != 0 {
                i64::from(alarm[3] & 0x0F) == (days + self.weekday_shift).rem_euclid(7) + 1
            } else {
                from_bcd(alarm[3] & 0x3F) == date_from_2000(days).2
            };
        times_match && day_matches
    }
}

fn from_bcd(value: u8) -> i64 {
    i64::from(value >> 4) * 10 + i64::from(value & 0x0F)
}

/// `value` is below 100.
fn to_bcd(value: i64) -> u8 {
    (((value / 10) << 4) | (value % 10)) as u8
}

fn leap(year: i64) -> bool {
    // 2000 to 2199: 2100 is the one year by four that has no 29 February.
    year % 4 == 0 && year != 100
}

fn month_days(year: i64, month: i64) -> i64 {
    match month {
        2 => 28 + i64::from(leap(year)),
        4 | 6 | 9 | 11 => 30,
        _ => 31,
    }
}

fn year_days(year: i64) -> i64 {
    365 + i64::from(leap(year))
}

/// Days since 2000-01-01; the year counts from 2000.
fn days_from_2000(year: i64, month: i64, date: i64) -> i64 {
    (0..year).map(year_days).sum::<i64>()
        + (1..month.clamp(1, 12)).map(|month| month_days(year, month)).sum::<i64>()
        + date.max(1)
        - 1
}

fn date_from_2000(mut days: i64) -> (i64, i64, i64) {
    let mut year = 0;
    while days >= year_days(year) {
        days -= year_days(year);
        year += 1;
    }
    let mut month = 1;
    while days >= month_days(year, month) {
        days -= month_days(year, month);
        month += 1;
    }
    (year % 200, month, days + 1)
}

#[cfg(test)]
mod tests;
