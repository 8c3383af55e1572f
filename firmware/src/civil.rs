//! Calendar dates of 2000 to 2099 and UTC milliseconds, in both directions.
//!
//! In these hundred years every fourth year, 2000 included, is a leap year, so four years are always
//! 1461 days. Seconds are counted as POSIX counts them, without leap seconds.

/// Seconds from 1970-01-01 to 2000-01-01 UTC: 10 957 days of 86 400 s.
const EPOCH_2000_S: i64 = 10_957 * 86_400;
/// Days of 2000 to 2099: 25 times four years.
const DAYS: i64 = 25 * 1_461;
const MONTH_DAYS: [u8; 12] = [31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31];

/// A date and time of day in UTC, 2000 to 2099.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Civil {
    /// Years since 2000, 0 to 99.
    pub year: u8,
    /// Month, 1 to 12.
    pub month: u8,
    /// Day of the month, from 1.
    pub day: u8,
    /// Hour, 0 to 23.
    pub hour: u8,
    /// Minute, 0 to 59.
    pub minute: u8,
    /// Second, 0 to 59.
    pub second: u8,
}

fn month_days(year: u8, month: u8) -> u8 {
    let days = MONTH_DAYS.get(usize::from(month).wrapping_sub(1)).copied().unwrap_or(0);
    days + u8::from(month == 2 && year.is_multiple_of(4))
}

impl Civil {
    /// From milliseconds since 1970-01-01 UTC, rounded to the nearest second (halves up).
    ///
    /// `None` when that is before 2000 or after 2099.
    pub fn from_utc_ms(utc_ms: i64) -> Option<Self> {
        let since_2000 = utc_ms.checked_add(500)?.div_euclid(1_000) - EPOCH_2000_S;
        let days = since_2000.div_euclid(86_400);
        if !(0..DAYS).contains(&days) {
            return None;
        }
        let of_day = since_2000.rem_euclid(86_400);
        let (four_years, day) = (days / 1_461, days % 1_461);
        let (year, mut day) = if day < 366 {
            (four_years * 4, day)
        } else {
            (four_years * 4 + 1 + (day - 366) / 365, (day - 366) % 365)
        };
        // In range: year < 100, day < 366, of_day < 86 400.
        let year = year as u8;
        let mut month = 1;
        while day >= i64::from(month_days(year, month)) {
            day -= i64::from(month_days(year, month));
            month += 1;
        }
        Some(Self {
            year,
            month,
            day: day as u8 + 1,
            hour: (of_day / 3_600) as u8,
            minute: (of_day / 60 % 60) as u8,
            second: (of_day % 60) as u8,
        })
    }

    /// True when every field is within its calendar limits.
    pub fn is_valid(&self) -> bool {
        self.year < 100
            && (1..=month_days(self.year, self.month)).contains(&self.day)
            && self.hour < 24
            && self.minute < 60
            && self.second < 60
    }

    /// Days since 2000-01-01; only of valid dates.
    fn days(&self) -> i64 {
        let year = i64::from(self.year);
        let before: i64 = (1..self.month).map(|m| i64::from(month_days(self.year, m))).sum();
        year * 365 + (year + 3) / 4 + before + i64::from(self.day) - 1
    }

    /// Milliseconds since 1970-01-01 UTC; `None` when a field is outside its calendar limits.
    pub fn utc_ms(&self) -> Option<i64> {
        self.is_valid().then(|| {
            let of_day =
                i64::from(self.hour) * 3_600 + i64::from(self.minute) * 60 + i64::from(self.second);
            (EPOCH_2000_S + self.days() * 86_400 + of_day) * 1_000
        })
    }

    /// Day of the week, Monday 1 to Sunday 7 (2000-01-01 was a Saturday); only of valid dates.
    pub fn weekday(&self) -> u8 {
        ((self.days() + 5) % 7) as u8 + 1
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const fn civil(year: u8, month: u8, day: u8, hour: u8, minute: u8, second: u8) -> Civil {
        Civil { year, month, day, hour, minute, second }
    }

    /// UTC seconds and weekday by the `datetime` module of Python 3, computed.
    const KNOWN: [(i64, Civil, u8); 8] = [
        (946_684_800, civil(0, 1, 1, 0, 0, 0), 6),
        (951_782_400, civil(0, 2, 29, 0, 0, 0), 2),
        (951_868_800, civil(0, 3, 1, 0, 0, 0), 3),
        (978_307_199, civil(0, 12, 31, 23, 59, 59), 7),
        (1_709_210_096, civil(24, 2, 29, 12, 34, 56), 4),
        (1_740_787_199, civil(25, 2, 28, 23, 59, 59), 5),
        (1_764_083_045, civil(25, 11, 25, 15, 4, 5), 2),
        (4_102_444_799, civil(99, 12, 31, 23, 59, 59), 4),
    ];

    #[test]
    fn known_dates_go_both_ways() {
        for (seconds, date, weekday) in KNOWN {
            assert_eq!(Civil::from_utc_ms(seconds * 1_000), Some(date));
            assert_eq!(date.utc_ms(), Some(seconds * 1_000));
            assert_eq!(date.weekday(), weekday, "{date:?}");
        }
    }

    #[test]
    fn every_day_of_the_century_comes_back() {
        let mut weekday = 6;
        for day in 0..DAYS {
            let ms = (EPOCH_2000_S + day * 86_400) * 1_000;
            let date = Civil::from_utc_ms(ms).unwrap();
            assert!(date.is_valid());
            assert_eq!((date.utc_ms(), date.weekday()), (Some(ms), weekday));
            weekday = weekday % 7 + 1;
        }
    }

    #[test]
    fn rounding_and_limits() {
        let at = |ms| Civil::from_utc_ms(ms);
        assert_eq!(at(1_709_210_095_500), at(1_709_210_096_000));
        assert_eq!(at(1_709_210_096_499), at(1_709_210_096_000));
        for outside in [946_684_799_499, 4_102_444_799_500, i64::MIN, i64::MAX] {
            assert_eq!(at(outside), None);
        }
        let wrong = [
            civil(100, 1, 1, 0, 0, 0),
            civil(1, 2, 29, 0, 0, 0),
            civil(0, 0, 1, 0, 0, 0),
            civil(0, 13, 1, 0, 0, 0),
            civil(0, 1, 0, 0, 0, 0),
            civil(0, 4, 31, 0, 0, 0),
            civil(0, 1, 1, 24, 0, 0),
            civil(0, 1, 1, 0, 60, 0),
            civil(0, 1, 1, 0, 0, 60),
        ];
        for date in wrong {
            assert_eq!(date.utc_ms(), None, "{date:?}");
        }
    }
}
