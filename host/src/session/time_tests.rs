//! Marks of computers whose clock runs, is set, and that sleep.

use proptest::prelude::*;

use super::*;
use crate::link::fake::empty_reading;
use crate::session::entry::HostTime;

const YEAR_MS: i64 = 365 * 86_400_000;

fn mark(boot: u32, probe_ms: u64, monotonic_ms: u64, utc_ms: i64) -> Mark {
    Mark { boot, probe_ms, at: HostTime { monotonic_ms, utc_ms }, headers: 1 }
}

fn reading(boot: u32, ms: u64) -> Reading {
    Reading { time: ProbeTime { boot, ms }, ..empty_reading(ms as u32) }
}

/// What a reading is dated, and by how many ms the clock was set before it.
fn date(dating: &mut Dating, boot: u32, ms: u64) -> (Option<i64>, Option<i64>) {
    let (utc_ms, set) = dating.date(&reading(boot, ms));
    (utc_ms, set.map(|set| set.by_ms))
}

#[test]
fn a_reading_stands_as_far_behind_its_mark_as_the_probe_says() {
    let mut dating = Dating::default();
    assert_eq!(date(&mut dating, 1, 0), (None, None));
    dating.mark(&mark(1, 1_000, 0, 50_000));
    assert_eq!(date(&mut dating, 1, 1_000), (Some(50_000), None));
    assert_eq!(date(&mut dating, 1, 4_000), (Some(53_000), None));
    assert_eq!(date(&mut dating, 2, 4_500), (None, None), "no mark of that start");
}

#[test]
fn a_clock_that_is_set_moves_nothing_that_came_before() {
    let mut dating = Dating::default();
    dating.mark(&mark(1, 10_000, 0, 0));
    assert_eq!(date(&mut dating, 1, 10_000), (Some(0), None));
    assert_eq!(date(&mut dating, 1, 15_000), (Some(5_000), None));
    assert!(!dating.needs(&mark(1, 20_000, 10_000, 10_900)), "a line is late at times");
    let set = mark(1, 20_000, 10_000, YEAR_MS + 10_000);
    assert!(dating.needs(&set));
    dating.mark(&set);
    assert_eq!(date(&mut dating, 1, 20_000), (Some(YEAR_MS + 10_000), Some(YEAR_MS)));
    assert_eq!(date(&mut dating, 1, 25_000), (Some(YEAR_MS + 15_000), None), "said once");
    // And back again.
    dating.mark(&mark(1, 30_000, 20_000, 20_000));
    assert_eq!(date(&mut dating, 1, 30_000), (Some(20_000), Some(-YEAR_MS)));
}

#[test]
fn a_clock_that_was_set_is_told_though_the_next_reading_is_gone() {
    let mut dating = Dating::default();
    dating.mark(&mark(1, 10_000, 0, 0));
    assert_eq!(date(&mut dating, 1, 10_000), (Some(0), None));
    let set = |ms: i64, by: i64| mark(1, 10_000 + ms as u64, ms as u64, ms + by);
    dating.mark(&set(10_000, YEAR_MS));
    dating.mark(&set(20_000, YEAR_MS));
    assert_eq!(date(&mut dating, 1, 30_000), (Some(YEAR_MS + 20_000), Some(YEAR_MS)));
    // Set once more and back: UTC goes on from where it was.
    dating.mark(&set(30_000, 2 * YEAR_MS));
    dating.mark(&set(40_000, YEAR_MS));
    assert_eq!(date(&mut dating, 1, 50_000), (Some(YEAR_MS + 40_000), None));
}

#[test]
fn a_computer_that_slept_was_not_set() {
    let mut dating = Dating::default();
    dating.mark(&mark(1, 0, 0, 0));
    dating.date(&reading(1, 0));
    let woken = mark(1, 3_600_000, 5_000, 3_600_000);
    assert!(dating.needs(&woken));
    dating.mark(&woken);
    assert_eq!(date(&mut dating, 1, 3_600_000), (Some(3_600_000), None));
    // Without power the probe counts nothing either, so nobody knows.
    dating.mark(&mark(2, 0, 6_000, 7_200_000));
    let (_, set) = dating.date(&reading(2, 0));
    assert!(set.is_some_and(|set| set.why == Why::SetOrSlept && set.by_ms == 3_599_000), "{set:?}");
}

#[test]
fn time_never_runs_backwards_unsaid_however_little() {
    let mut dating = Dating::default();
    dating.mark(&mark(1, 0, 0, 0));
    assert_eq!(date(&mut dating, 1, 600_000), (Some(600_000), None));
    dating.mark(&mark(1, 600_500, 600_500, 599_700));
    assert_eq!(date(&mut dating, 1, 600_500), (Some(599_700), Some(-300)));
    // Nor over a start of the probe and of the log, where no clock is left to compare with.
    dating.begin();
    dating.mark(&mark(2, 0, 0, 100));
    assert_eq!(date(&mut dating, 2, 0), (Some(100), Some(-599_600)));
}

#[test]
fn another_run_of_the_log_is_compared_by_the_probe_alone() {
    let mut dating = Dating::default();
    dating.mark(&mark(1, 0, 900_000, 0));
    dating.begin();
    assert!(dating.needs(&mark(1, 60_000, 10, 60_000)));
    dating.mark(&mark(1, 60_000, 10, 60_000));
    assert_eq!(date(&mut dating, 1, 60_000), (Some(60_000), None));
    dating.begin();
    dating.mark(&mark(1, 120_000, 5, 60_000 + YEAR_MS));
    assert_eq!(date(&mut dating, 1, 120_000).1, Some(YEAR_MS - 60_000));
}

#[test]
fn a_mark_is_needed_first_after_gaps_and_every_ten_minutes() {
    let mut dating = Dating::default();
    let at = |ms: u64| mark(1, ms, ms, ms as i64);
    assert!(dating.needs(&at(0)));
    dating.mark(&at(0));
    assert!(!dating.needs(&at(599_999)) && dating.needs(&at(600_000)));
    dating.lose();
    assert!(dating.needs(&at(5_000)));
    assert!(dating.needs(&mark(2, 5_000, 5_000, 5_000)), "another start");
}

#[test]
fn a_reading_before_its_time_is_dated_by_its_arrival() {
    let mut dating = Dating::default();
    // The line was held up when the mark was made.
    dating.mark(&mark(1, 10_000, 4_000, 4_000));
    assert_eq!(date(&mut dating, 1, 10_000), (Some(4_000), None));
    assert!(!dating.needs(&mark(1, 15_000, 8_000, 8_000)), "late by a second");
    let early = mark(1, 15_000, 6_000, 6_000);
    assert!(dating.needs(&early));
    dating.mark(&early);
    assert_eq!(date(&mut dating, 1, 15_000), (Some(6_000), None));
    dating.mark(&mark(1, 15_500, 4_000, 4_000));
    let (_, back) = dating.date(&reading(1, 15_500));
    assert_eq!(back.map(|back| (back.by_ms, back.why)), Some((-2_000, Why::Back)));
}

#[test]
fn text_is_utc_with_milliseconds() {
    assert_eq!(utc_text(1_767_225_600_007).as_deref(), Some("2026-01-01T00:00:00.007Z"));
    assert_eq!(utc_text(i64::MAX), None);
}

proptest! {
    #[test]
    fn any_marks_and_times_are_taken(
        list in proptest::collection::vec(
            (0u32..3, any::<u64>(), any::<u64>(), any::<i64>(), any::<u64>()), 0..6,
        ),
    ) {
        let mut dating = Dating::default();
        for (boot, probe_ms, monotonic_ms, utc_ms, ms) in list {
            let mark = mark(boot, probe_ms, monotonic_ms, utc_ms);
            let _ = dating.needs(&mark);
            dating.mark(&mark);
            let _ = (dating.date(&reading(boot, ms)), utc_text(utc_ms));
        }
    }
}
