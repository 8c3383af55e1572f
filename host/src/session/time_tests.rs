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
fn what_waited_while_the_computer_slept_says_nothing_of_the_probe() {
    // Readings every two minutes; the computer sleeps for an hour behind the first one.
    const HOUR: u64 = 3_600_000;
    let mut dating = Dating::default();
    dating.begin();
    dating.mark(&mark(1, 0, 0, 0));
    date(&mut dating, 1, 0);
    for nth in 1..=30 {
        let waited = mark(1, nth * 120_000, 1_000 + nth, (HOUR + 1_000 + nth) as i64);
        assert!(dating.needs(&waited));
        dating.mark(&waited);
        let set = dating.date(&reading(1, nth * 120_000)).1.map(|set| set.why);
        assert!(!matches!(set, Some(Why::Probe)), "{nth}: {set:?}");
    }
    // Then a jump of the probe's clock is one again.
    dating.mark(&mark(1, 2 * HOUR, 130_000, (HOUR + 130_000) as i64));
    assert_eq!(dating.date(&reading(1, 2 * HOUR)).1.map(|set| set.why), Some(Why::Probe));
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
    let (utc_ms, late) = dating.date(&reading(1, 15_000));
    assert_eq!(utc_ms, Some(6_000));
    assert_eq!(late.map(|late| (late.by_ms, late.why)), Some((-3_000, Why::Late)));
    dating.mark(&mark(1, 15_500, 6_200, 4_200));
    let (_, set) = dating.date(&reading(1, 15_500));
    assert_eq!(set.map(|set| (set.by_ms, set.why)), Some((-2_300, Why::Set)));
}

/// What is said: before which reading, by how many ms, why.
type Uneven = (u32, i64, Why);

/// Dates readings as a log does: (running, probe ms, monotonic ms, UTC ms) of each that comes.
fn logged(came: &[(u32, u64, u64, i64)]) -> (Vec<Option<i64>>, Vec<Uneven>) {
    let (mut dating, mut dates, mut said) = (Dating::default(), Vec::new(), Vec::new());
    for &(running, ms, monotonic_ms, utc_ms) in came {
        let reading = Reading { running, ..reading(1, ms) };
        let mark = mark(1, ms, monotonic_ms, utc_ms);
        if dating.needs(&mark) || dating.breaks_off(&reading) {
            dating.mark(&mark);
        }
        let (utc_ms, set) = dating.date(&reading);
        dates.push(utc_ms);
        said.extend(set.map(|set| (set.running, set.by_ms, set.why)));
    }
    (dates, said)
}

#[test]
fn a_line_that_held_readings_back_moves_none_of_them() {
    // Every 2 s; from the fourth on all come at once, 19 to 0 s late, with a gap told before them.
    for set_ms in [0, YEAR_MS, -YEAR_MS] {
        let mut dating = Dating::default();
        for running in 0..20_u32 {
            let ms = u64::from(running) * 2_000;
            let monotonic_ms = if (4..14).contains(&running) { 27_000 } else { ms };
            let set = if running < 4 { 0 } else { set_ms };
            let mark = mark(1, ms, monotonic_ms, monotonic_ms as i64 + set);
            if running == 4 {
                dating.lose();
            }
            if dating.needs(&mark) {
                dating.mark(&mark);
            }
            let (utc_ms, said) = dating.date(&Reading { running, ..reading(1, ms) });
            let utc_ms = utc_ms.expect("it has a mark");
            assert!((utc_ms - ms as i64 - set).abs() <= 2, "{running}: {utc_ms}");
            assert_eq!(said.is_some(), running == 4 && set != 0, "{running}: {said:?}");
        }
    }
}

#[test]
fn a_drifting_probe_on_a_late_line_is_followed() {
    // 100 ppm slow, each mark later than the first by up to 0.4 s, for ten days.
    let mut dating = Dating::default();
    for running in 0..14_400_u32 {
        let utc_ms = i64::from(running) * 60_000;
        let ms = (utc_ms - utc_ms / 10_000) as u64;
        let late = if running == 0 { 0 } else { 100 + i64::from(running % 7) * 50 };
        let mark = mark(1, ms, (utc_ms + late) as u64, utc_ms + late);
        if dating.needs(&mark) {
            dating.mark(&mark);
        }
        let (dated, said) = dating.date(&Reading { running, ..reading(1, ms) });
        let off = dated.expect("it has a mark") - utc_ms;
        assert!(off.abs() <= 500 && said.is_none(), "{running}: {off} ms off, {said:?}");
    }
}

#[test]
fn a_probe_clock_that_does_not_go_on_is_said() {
    let minute = |running: u32| (u64::from(running) * 60_000, i64::from(running) * 60_000);
    let run = |ms: &dyn Fn(u32) -> u64| {
        let came: Vec<_> = (0..10)
            .map(|running| (running, ms(running), minute(running).0, minute(running).1))
            .collect();
        logged(&came)
    };
    // It goes back by an hour, and by 5 s less than from reading to reading.
    let (dates, said) = run(&|n| minute(n).0 + if n < 5 { 3_600_000 } else { 0 });
    assert_eq!(said, [(5, -3_600_000, Why::Probe)]);
    assert!((0..10).all(|n| dates[n as usize] == Some(minute(n).1)), "{dates:?}");
    let (dates, said) = run(&|n| minute(n).0 + if n < 5 { 65_000 } else { 0 });
    assert_eq!(said, [(5, -65_000, Why::Probe)]);
    assert!((0..10).all(|n| dates[n as usize] == Some(minute(n).1)), "{dates:?}");
    // It jumps by an hour, stands still, and runs at a tenth.
    let (dates, said) = run(&|n| minute(n).0 + if n < 5 { 0 } else { 3_600_000 });
    assert_eq!(said, [(5, 3_600_000, Why::Probe)]);
    assert!((0..10).all(|n| dates[n as usize] == Some(minute(n).1)), "{dates:?}");
    let (dates, said) = run(&|n| minute(n.min(5)).0);
    assert_eq!(said.iter().map(|said| said.0).collect::<Vec<_>>(), [6, 7, 8, 9]);
    assert!((0..10).all(|n| dates[n as usize] == Some(minute(n).1)), "{dates:?}");
    let (_, said) = run(&|n| minute(n).0 / 10);
    assert!(said.iter().all(|said| said.2 == Why::Probe) && said.len() >= 4, "{said:?}");
}

#[test]
fn what_no_mark_tells_is_told_by_the_readings() {
    let mut dating = Dating::default();
    dating.mark(&mark(1, 9_000_000, 0, 0));
    dating.date(&Reading { running: 0, ..reading(1, 9_000_000) });
    let (_, said) = dating.date(&Reading { running: 1, ..reading(1, 1_000) });
    assert_eq!(said.map(|it| (it.by_ms, it.why)), Some((-8_999_000, Why::Probe)));
    let late = Reading { running: 0, ..reading(1, 500) };
    assert_eq!(dating.date(&late).1, None, "one that comes late is older");
    assert!(dating.lacks_a_mark(&late), "one is written every ten minutes");
    assert!(!dating.lacks_a_mark(&reading(1, 9_599_999)));
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
