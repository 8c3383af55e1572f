use super::{CONDUCTANCE, MAX_READINGS, POTENTIAL, Rule, Window};

/// Noise of unit standard deviation, the same in every run: twelve uniform numbers summed.
struct Noise(u64);

impl Noise {
    fn next(&mut self) -> f64 {
        let mut uniform = || {
            self.0 = self
                .0
                .wrapping_mul(6_364_136_223_846_793_005)
                .wrapping_add(1_442_695_040_888_963_407);
            (self.0 >> 11) as f64 / (1_u64 << 53) as f64
        };
        (0..12).map(|_| uniform()).sum::<f64>() - 6.0
    }
}

/// A glass electrode after a step of 180 mV: fast and slow part, noise of 0.03 mV.
fn glass(ms: u64, slow_s: f64, noise: &mut Noise) -> f64 {
    let s = ms as f64 / 1000.0;
    let slow = 18.0 * libm::exp(-s / slow_s);
    let fast = 162.0 * libm::exp(-s / 1.5);
    -60.0 + fast + slow + 0.03 * noise.next()
}

#[test]
fn accepts_an_electrode_only_with_less_than_the_limit_to_come() {
    for seed in 0..4 {
        for slow_s in [5.0, 15.0, 40.0, 120.0] {
            let (mut window, mut noise) = (Window::new(POTENTIAL), Noise(seed));
            let accepted = (0..4000_u64).map(|n| 300 * n).find(|&ms| {
                window.push(1, ms, glass(ms, slow_s, &mut noise), ());
                window.verdict().settled
            });
            let ms = accepted.expect("it settles in the end");
            let left = 18.0 * libm::exp(-(ms as f64) / 1000.0 / slow_s);
            let bound = window.verdict().to_come_bound.unwrap();
            assert!(left <= bound && bound <= POTENTIAL.to_come, "{seed}, {slow_s} s: {left} mV");
            let least_ms = 1000.0 * slow_s * libm::log(18.0 / POTENTIAL.to_come);
            let waste_ms = ms as f64 - least_ms;
            // Half the window, and the time from the limit to where the slowest glass would be at
            // it: τ·ln(155/τ), at most 57 s.
            assert!(waste_ms < 90_000.0, "{seed}, {slow_s} s: waited {waste_ms} ms too long");
        }
    }
}

#[test]
fn the_change_to_come_is_told_while_it_stands_out_and_bounded_always() {
    let (mut window, mut noise) = (Window::new(POTENTIAL), Noise(3));
    let (mut told, mut untold) = (0, 0);
    for n in 0..700_u64 {
        let ms = 300 * n;
        window.push(1, ms, glass(ms, 12.0, &mut noise), ());
        let verdict = window.verdict();
        // The fast part of 1.5 s has gone out of the window.
        if ms < 40_000 {
            continue;
        }
        let left = -18.0 * libm::exp(-(ms as f64) / 12_000.0);
        let bound = verdict.to_come_bound.expect("the window is full");
        assert!(bound >= libm::fabs(left), "{ms} ms: {bound} for {left} mV");
        match verdict.to_come {
            Some(to_come) => {
                told += 1;
                // Told when its interval is within a factor of three: the middle is off by its root.
                let factor = to_come / left;
                assert!((0.5..2.0).contains(&factor), "{ms} ms: {to_come} for {left} mV");
            }
            None => untold += 1,
        }
    }
    assert!(told > 20 && untold > 400, "told {told} times, not {untold} times");
}

#[test]
fn noise_alone_settles_and_too_much_noise_does_not() {
    let run = |deviation: f64| {
        let (mut window, mut noise) = (Window::new(CONDUCTANCE), Noise(7));
        for n in 0..60 {
            window.push(1, 900 * n, 100.0 + deviation * noise.next(), ());
        }
        window.verdict()
    };
    assert!(run(0.01).settled);
    let noisy = run(1.0);
    assert!(!noisy.settled && noisy.scatter > CONDUCTANCE.scatter);
}

#[test]
fn a_pause_a_restart_or_a_step_back_begins_anew() {
    let filled = || {
        let mut window = Window::new(POTENTIAL);
        for n in 0..90 {
            window.push(1, 300 * n, 5.0 + 0.001 * (n % 3) as f64, n);
        }
        assert!(window.verdict().settled);
        window
    };
    let newest = 300 * 89;
    for (boot, ms) in [(1, newest + 5_001), (2, newest + 300), (1, newest)] {
        let mut window = filled();
        window.push(boot, ms, 5.0, 90);
        assert_eq!(window.entries().len(), 1, "boot {boot}, {ms} ms");
        assert!(!window.verdict().settled);
    }
}

#[test]
fn the_window_slides_and_what_came_with_its_readings_comes_back() {
    let mut window = Window::new(POTENTIAL);
    for n in 0..200_u64 {
        window.push(1, 250 * n, 1.0, n);
    }
    assert!(window.entries().len() <= MAX_READINGS);
    assert!((23_750..24_250).contains(&window.span_ms()));
    assert_eq!(window.entries().last().unwrap().with, 199);
    window.push(1, 250 * 200, f64::NAN, 200);
    assert_eq!(window.entries().last().unwrap().with, 199, "no number, no reading");
}

#[test]
fn the_estimate_of_the_time_still_needed_shrinks_towards_nothing() {
    let rule = Rule { readings: 8, ..POTENTIAL };
    let mut window = Window::new(rule);
    let mut estimates = std::vec::Vec::new();
    for n in 0..400_u64 {
        let s = 0.3 * n as f64;
        // An exact exponential of 12 s: its drift falls below 0.5 mV/min at 12·ln(200·5/0.5) s,
        // and the window lags behind by half its span.
        window.push(1, 300 * n, 200.0 * libm::exp(-s / 12.0), ());
        let verdict = window.verdict();
        if window.span_ms() >= rule.span_ms && !verdict.settled {
            estimates.push((s, verdict.remaining_ms, verdict.fraction));
        }
        if verdict.settled {
            for (at, remaining, fraction) in estimates.iter().filter(|(at, ..)| s - at > 20.0) {
                let needed = 1000.0 * (s - at);
                let remaining = remaining.expect("a clean exponential can be told") as f64;
                assert!((remaining / needed - 1.0).abs() < 0.5, "{remaining} of {needed} ms");
                assert!((0.0..1.0).contains(fraction));
            }
            assert_eq!(verdict.fraction, 1.0);
            return;
        }
    }
    panic!("never settled");
}

/// A strong standard scatters by 0.1 % from reading to reading (the extrapolation to high frequency
/// has up to 14 times the noise of one resistance): the window grows until the noise averages out,
/// well within the operator's patience of 300 s, and what is still to come is below the limit.
#[test]
fn a_noisy_conductance_is_accepted_by_a_longer_window() {
    for seed in 0..20 {
        let (mut window, mut noise) = (Window::new(CONDUCTANCE), Noise(seed));
        let to_come = |ms: u64| -30.0 * libm::exp(-(ms as f64) / 5_000.0);
        let accepted = (0..125_u64).map(|n| 2_400 * n).find(|&ms| {
            window.push(1, ms, 900.0 + to_come(ms) + 0.1 * noise.next(), ());
            window.verdict().settled
        });
        let ms = accepted.unwrap_or_else(|| panic!("{seed}: never settled"));
        assert!(ms < 180_000, "{seed}: {ms} ms");
        assert!(libm::fabs(to_come(ms)) < CONDUCTANCE.to_come, "{seed}: {ms} ms");
        assert!(window.span_ms() <= CONDUCTANCE.longest_ms + 2_400);
    }
}
