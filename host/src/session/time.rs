//! From probe time to UTC, by the marks of a session.

use std::collections::BTreeMap;

use rillmark_proto::reading::ProbeTime;

use super::entry::Mark;

/// The marks of a session, by start of the probe and its time.
#[derive(Clone, Debug, Default)]
pub struct Marks(BTreeMap<u32, BTreeMap<u64, i64>>);

impl Marks {
    /// Takes a mark; of two at the same probe time the later one counts.
    pub fn add(&mut self, mark: &Mark) {
        self.0.entry(mark.boot).or_default().insert(mark.probe_ms, mark.at.utc_ms);
    }

    /// UTC of a probe time in milliseconds since 1970: on the straight line between two marks of
    /// the same start, at a fixed offset before the first and after the last. `None` without a
    /// mark of that start.
    #[must_use]
    pub fn utc_ms(&self, time: ProbeTime) -> Option<i64> {
        let marks = self.0.get(&time.boot)?;
        let below = marks.range(..=time.ms).next_back();
        let above = marks.range(time.ms..).next();
        // i128 holds every sum and difference of the 64-bit numbers, u128 every product of two.
        let wide = |value: u64| i128::from(value);
        let utc = match (below, above) {
            (Some((&t0, &u0)), Some((&t1, &u1))) if t1 > t0 => {
                let (u0, u1) = (i128::from(u0), i128::from(u1));
                let (passed, span) = (u128::from(time.ms - t0), u128::from(t1 - t0));
                let part = (u1 - u0).unsigned_abs() * passed / span;
                // Not more than the difference of two 64-bit numbers.
                u0 + (u1 - u0).signum() * part as i128
            }
            (Some((&t, &u)), _) | (None, Some((&t, &u))) => {
                i128::from(u) + (wide(time.ms) - wide(t))
            }
            (None, None) => return None,
        };
        i64::try_from(utc).ok()
    }
}

/// `2026-01-01T00:00:00.000Z`; `None` for years that the calendar does not reach.
#[must_use]
pub fn utc_text(utc_ms: i64) -> Option<String> {
    let timestamp = jiff::Timestamp::from_millisecond(utc_ms).ok()?;
    Some(timestamp.strftime("%Y-%m-%dT%H:%M:%S%.3fZ").to_string())
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::session::entry::HostTime;

    fn marks(list: &[(u32, u64, i64)]) -> Marks {
        let mut marks = Marks::default();
        for &(boot, probe_ms, utc_ms) in list {
            marks.add(&Mark { boot, probe_ms, at: HostTime { monotonic_ms: 0, utc_ms } });
        }
        marks
    }

    #[test]
    fn time_is_linear_between_marks_and_offset_outside_and_unknown_without() {
        let marks = marks(&[(1, 1000, 50_000), (1, 3000, 54_000), (2, 0, 90_000)]);
        let utc = |boot, ms| marks.utc_ms(ProbeTime { boot, ms });
        assert_eq!(utc(1, 0), Some(49_000));
        assert_eq!(utc(1, 1000), Some(50_000));
        assert_eq!(utc(1, 2000), Some(52_000));
        assert_eq!(utc(1, 3000), Some(54_000));
        assert_eq!(utc(1, 4000), Some(55_000));
        assert_eq!(utc(2, 7), Some(90_007));
        assert_eq!(utc(3, 7), None);
    }

    #[test]
    fn text_is_utc_with_milliseconds() {
        assert_eq!(utc_text(1_767_225_600_007).as_deref(), Some("2026-01-01T00:00:00.007Z"));
        assert_eq!(utc_text(i64::MAX), None);
    }

    #[test]
    fn marks_at_the_ends_of_all_numbers_do_not_overflow() {
        let ends = marks(&[(1, 0, i64::MIN), (1, u64::MAX, i64::MAX)]);
        let utc = |ms| ends.utc_ms(ProbeTime { boot: 1, ms });
        assert_eq!((utc(0), utc(u64::MAX)), (Some(i64::MIN), Some(i64::MAX)));
        assert_eq!(utc(u64::MAX - 1), Some(i64::MAX - 1));
        let falling = marks(&[(1, 0, i64::MAX), (1, u64::MAX, i64::MIN)]);
        assert_eq!(falling.utc_ms(ProbeTime { boot: 1, ms: 1 }), Some(i64::MAX - 1));
    }

    proptest! {
        #[test]
        fn any_marks_and_times_are_taken(
            list in proptest::collection::vec((0u32..3, any::<u64>(), any::<i64>()), 0..6),
            boot in 0u32..3,
            ms in any::<u64>(),
        ) {
            let _ = marks(&list).utc_ms(ProbeTime { boot, ms });
            for &(boot, _, utc_ms) in &list {
                let _ = (boot, utc_text(utc_ms));
            }
        }
    }
}
