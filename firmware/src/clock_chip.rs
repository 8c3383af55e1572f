//! The battery-backed clock chip (DS3231 class): UTC in whole seconds, and one alarm.
//!
//! Register addresses and bits are those of the data sheet. The chip is run in 24-hour mode; its
//! years are 2000 to 2099.

use embedded_hal_async::i2c::I2c;

use crate::civil::Civil;
use crate::constants::CLOCK_ADDRESS;

const REGISTER_TIME: u8 = 0x00;
const REGISTER_ALARM_1: u8 = 0x07;
const REGISTER_CONTROL: u8 = 0x0e;
const REGISTER_STATUS: u8 = 0x0f;

/// Status: the oscillator has stopped at some time since this bit was cleared.
const OSCILLATOR_STOPPED: u8 = 1 << 7;
/// Status: alarm 2 and alarm 1 have gone off. Writing 1 leaves them as they are.
const ALARM_FLAGS: u8 = 0b11;
const ALARM_1_FLAG: u8 = 0b01;
/// Control: the alarm pin shows alarms (bit 2), alarm 1 among them (bit 0); the oscillator runs on
/// the battery too (bit 7 low).
const ALARM_PIN: u8 = 1 << 2;
const ALARM_1_ENABLED: u8 = 1 << 0;
/// Hours register: 12-hour mode.
const TWELVE_HOURS: u8 = 1 << 6;
/// Month register: the year has turned from 99 to 00.
const CENTURY: u8 = 1 << 7;

/// Why the clock chip was not set or read.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ClockError {
    /// No acknowledgement, or another fault on the bus.
    Silent,
    /// The time is outside 2000 to 2099.
    Range,
}

/// The clock chip on a borrowed bus.
pub struct ClockChip<'a, I>(pub &'a mut I);

impl<I: I2c> ClockChip<'_, I> {
    async fn write(&mut self, bytes: &[u8]) -> Result<(), ClockError> {
        self.0.write(CLOCK_ADDRESS, bytes).await.map_err(|_| ClockError::Silent)
    }

    async fn read<const N: usize>(&mut self, register: u8) -> Result<[u8; N], ClockError> {
        let mut bytes = [0; N];
        let read = self.0.write_read(CLOCK_ADDRESS, &[register], &mut bytes).await;
        read.map(|()| bytes).map_err(|_| ClockError::Silent)
    }

    /// True when the chip says that it lost its time: its oscillator stopped since it was set.
    ///
    /// # Errors
    /// [`ClockError::Silent`].
    pub async fn lost(&mut self) -> Result<bool, ClockError> {
        let [status] = self.read(REGISTER_STATUS).await?;
        Ok(status & OSCILLATOR_STOPPED != 0)
    }

    /// The time in milliseconds since 1970-01-01 UTC, always a whole second; `None` when the chip
    /// lost its time or holds no valid date.
    ///
    /// # Errors
    /// [`ClockError::Silent`].
    pub async fn utc_ms(&mut self) -> Result<Option<i64>, ClockError> {
        if self.lost().await? {
            return Ok(None);
        }
        Ok(decode(self.read(REGISTER_TIME).await?).and_then(|civil| civil.utc_ms()))
    }

    /// Sets the time, rounded to the nearest second, and clears the mark of a lost time.
    ///
    /// # Errors
    /// [`ClockError::Range`] outside 2000 to 2099, the chip untouched; [`ClockError::Silent`].
    pub async fn set(&mut self, utc_ms: i64) -> Result<(), ClockError> {
        let time = Civil::from_utc_ms(utc_ms).ok_or(ClockError::Range)?;
        self.write(&[
            REGISTER_TIME,
            to_bcd(time.second),
            to_bcd(time.minute),
            to_bcd(time.hour),
            time.weekday(),
            to_bcd(time.day),
            to_bcd(time.month),
            to_bcd(time.year),
        ])
        .await?;
        // The oscillator must run on the battery before the time may be called kept.
        let [control] = self.read(REGISTER_CONTROL).await?;
        self.write(&[REGISTER_CONTROL, control & !(1 << 7)]).await?;
        let [status] = self.read(REGISTER_STATUS).await?;
        self.write(&[REGISTER_STATUS, status & !OSCILLATOR_STOPPED | ALARM_FLAGS]).await
    }

    /// Lets alarm 1 go off once a month at this day and time, rounded to the nearest second, and
    /// enables it on the alarm pin. The caller clears it after it has gone off.
    ///
    /// # Errors
    /// [`ClockError::Range`] outside 2000 to 2099, the chip untouched; [`ClockError::Silent`].
    pub async fn set_alarm(&mut self, utc_ms: i64) -> Result<(), ClockError> {
        let time = Civil::from_utc_ms(utc_ms).ok_or(ClockError::Range)?;
        // All four mask bits low: second, minute, hour and day of the month must match.
        self.write(&[
            REGISTER_ALARM_1,
            to_bcd(time.second),
            to_bcd(time.minute),
            to_bcd(time.hour),
            to_bcd(time.day),
        ])
        .await?;
        self.lower_alarm().await?;
        let [control] = self.read(REGISTER_CONTROL).await?;
        self.write(&[REGISTER_CONTROL, control | ALARM_PIN | ALARM_1_ENABLED]).await
    }

    /// True when alarm 1 has gone off and was not cleared.
    ///
    /// # Errors
    /// [`ClockError::Silent`].
    pub async fn alarm(&mut self) -> Result<bool, ClockError> {
        let [status] = self.read(REGISTER_STATUS).await?;
        Ok(status & ALARM_1_FLAG != 0)
    }

    /// Takes alarm 1 off the alarm pin and clears it.
    ///
    /// # Errors
    /// [`ClockError::Silent`].
    pub async fn clear_alarm(&mut self) -> Result<(), ClockError> {
        let [control] = self.read(REGISTER_CONTROL).await?;
        self.write(&[REGISTER_CONTROL, control & !ALARM_1_ENABLED]).await?;
        self.lower_alarm().await
    }

    async fn lower_alarm(&mut self) -> Result<(), ClockError> {
        let [status] = self.read(REGISTER_STATUS).await?;
        self.write(&[REGISTER_STATUS, (status | ALARM_FLAGS) & !ALARM_1_FLAG]).await
    }
}

const fn to_bcd(value: u8) -> u8 {
    ((value / 10) << 4) | (value % 10)
}

fn from_bcd(byte: u8) -> Option<u8> {
    let (tens, ones) = (byte >> 4, byte & 0x0f);
    (tens < 10 && ones < 10).then_some(tens * 10 + ones)
}

/// The date of the seven time registers; `None` when they hold none of 2000 to 2099 in 24-hour mode.
fn decode([second, minute, hour, _weekday, day, month, year]: [u8; 7]) -> Option<Civil> {
    if hour & TWELVE_HOURS != 0 || month & CENTURY != 0 {
        return None;
    }
    let civil = Civil {
        year: from_bcd(year)?,
        month: from_bcd(month)?,
        day: from_bcd(day)?,
        hour: from_bcd(hour)?,
        minute: from_bcd(minute)?,
        second: from_bcd(second)?,
    };
    civil.is_valid().then_some(civil)
}

#[cfg(test)]
#[path = "clock_chip_tests.rs"]
mod tests;
