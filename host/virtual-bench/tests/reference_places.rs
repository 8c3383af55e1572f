//! What the budget says of an open reference electrode against an integration of the network in time, which
//! knows none of its formula: drive, range resistor, cell with its cable, return, field, junction and screen.

use rillmark_firmware::front_end::cell::{at_infinite_frequency, frequencies};
use rillmark_metrology::front_end::surroundings;
use rillmark_metrology::front_end::{Cause, conductance};
use rillmark_proto::circuit::{chips, network};
use rillmark_proto::reading::Range;

/// Cells in Ω on each range, over the whole of it.
const CELLS: [(Range, &[f64]); 3] = [
    (Range::Ohm1k, &[20.0, 100.0, 300.0, 500.0, 707.0, 1_000.0, 2_000.0]),
    (Range::Ohm10k, &[2_000.0, 5_000.0, 10_000.0, 20_000.0]),
    (Range::Ohm100k, &[20_000.0, 50_000.0, 100_000.0, 200_000.0]),
];
/// Half periods until the screen is on its orbit: its time constant is below one of them.
const HALVES: usize = 12;

/// Numbers of a congruential generator (Numerical Recipes' constants, recalled, not checked), 0 to 1.
struct Numbers(u32);

impl Numbers {
    fn next(&mut self) -> f64 {
        self.0 = self.0.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
        f64::from(self.0) / 4_294_967_296.0
    }

    fn in_ratio(&mut self, from: f64, to: f64) -> f64 {
        from * (to / from).powf(self.next())
    }

    /// Somewhere in the field: from the cell's top and from its bottom.
    fn place(&mut self) -> [f64; 2] {
        let [near, far] = surroundings::REFERENCE_NEARER;
        let nearer = self.in_ratio(near, far);
        let other = nearer * self.in_ratio(1.0, surroundings::REFERENCE_LOPSIDED);
        if self.next() < 0.5 { [nearer, other] } else { [other, nearer] }
    }
}

/// A cell with its reference.
#[derive(Clone, Copy, Debug)]
struct Network {
    range: Range,
    cell_ohm: f64,
    place: [f64; 2],
    is_lifted: bool,
}

/// What flows at a moment, in A.
struct Currents {
    drive_a: f64,
    cable_a: f64,
    screen_a: f64,
}

impl Network {
    /// From the drive, into the cell's cable and into the screen, at a drive and with voltages of cable and
    /// screen: the water at the reference first, then the cell's bottom, each by what comes to it and goes.
    fn currents(&self, drive_v: f64, [cell_v, screen_v]: [f64; 2]) -> Currents {
        let feeding_s = 1.0 / (self.range.resistor().value + chips::SWITCH_ON_OHM);
        let back_s = 1.0 / network::CELL_BACK_OHM;
        let [top_s, bottom_s] = self.place.map(|times| 1.0 / (times * self.cell_ohm));
        let junction_s = if self.is_lifted { 0.0 } else { 1.0 / surroundings::JUNCTION_OHM };
        let all_s = top_s + bottom_s + junction_s;
        // Above the bottom, and how much of the bottom the screen has not.
        let water_v = (top_s * cell_v + junction_s * screen_v) / all_s;
        let own = (top_s + bottom_s) / all_s;
        let bottom_v = (feeding_s * (drive_v - cell_v) - junction_s * (water_v - screen_v))
            / (feeding_s + back_s + junction_s * own);
        let water_v = water_v + own * bottom_v;
        let drive_a = feeding_s * (drive_v - cell_v - bottom_v);
        let past_a = top_s * (bottom_v + cell_v - water_v);
        Currents {
            drive_a,
            cable_a: drive_a - cell_v / self.cell_ohm - past_a,
            screen_a: junction_s * (water_v - screen_v),
        }
    }

    /// The resistance in Ω that the taps tell at one frequency: cable and screen step by step (Heun).
    fn indicated_ohm(&self, hz: f64) -> f64 {
        const CABLE_F: f64 = 0.3 * surroundings::CELL_CABLE_F;
        const SCREEN_F: f64 = surroundings::REFERENCE_CABLE_F;
        let quarter_s = 0.125 / hz;
        // Half of what is fastest, which is over soon, and a twentieth of what is looked for.
        let resistor_ohm = self.range.resistor().value;
        let cable_s = CABLE_F / (1.0 / resistor_ohm + 1.0 / self.cell_ohm);
        let [top, bottom] = self.place.map(|times| times * self.cell_ohm);
        let screen_s = SCREEN_F * (surroundings::JUNCTION_OHM + top * bottom / (top + bottom));
        let quarter = (quarter_s / (cable_s / 2.0).min(screen_s / 20.0)).ceil().max(50.0) as usize;
        let step_s = quarter_s / quarter as f64;
        let mut state = [0.0; 2];
        let (mut cell_sum, mut drive_sum) = (0.0, 0.0);
        for half in 0..HALVES {
            let drive_v = if half % 2 == 0 { -network::DRIVE_V } else { network::DRIVE_V };
            for step in 0..4 * quarter {
                let slopes = |state| {
                    let now = self.currents(drive_v, state);
                    [now.cable_a / CABLE_F, now.screen_a / SCREEN_F]
                };
                let first = slopes(state);
                let second = slopes([0, 1].map(|at| state[at] + step_s * first[at]));
                let next = [0, 1].map(|at| state[at] + 0.5 * step_s * (first[at] + second[at]));
                if half == HALVES - 1 && (quarter..3 * quarter).contains(&step) {
                    cell_sum += state[0] + next[0];
                    let drive_a = |state| self.currents(drive_v, state).drive_a;
                    drive_sum += drive_a(state) + drive_a(next);
                }
                state = next;
            }
        }
        cell_sum / drive_sum
    }

    /// The same with the reference lifted out, and how much more conductance there is than then, as a fraction.
    fn lifted_and_more(&self, hz: f64) -> (f64, f64) {
        let lifted = Self { is_lifted: true, ..*self }.indicated_ohm(hz);
        (lifted, lifted / self.indicated_ohm(hz) - 1.0)
    }
}

/// Wherever the reference stands it takes no more than the budget's limit, which is at most half as much again
/// as the worst that was found. Where it is below 0.001 % nobody asks for more.
#[test]
fn no_place_takes_more_than_the_budget_says() {
    let mut numbers = Numbers(12);
    let [near, far] = surroundings::REFERENCE_NEARER;
    for (range, cells) in CELLS {
        for &cell_ohm in cells {
            let limit =
                conductance::reference(range.resistor(), cell_ohm, surroundings::REFERENCE_CABLE_F);
            let hz = f64::from(frequencies(range)[0]);
            // Anywhere, and along the edge where the reference is as much nearer to the top as it may be.
            let mut places: Vec<_> = (0..30).map(|_| numbers.place()).collect();
            places.extend((0..=20).map(|step| {
                let nearer = near * (far / near).powf(f64::from(step) / 20.0);
                [nearer, surroundings::REFERENCE_LOPSIDED * nearer]
            }));
            let mut worst = 0.0_f64;
            for place in places {
                let (_, more) =
                    Network { range, cell_ohm, place, is_lifted: false }.lifted_and_more(hz);
                assert!(
                    more.abs() <= limit + 1e-7,
                    "{range:?}, {cell_ohm} Ω, {place:?}: {more} of {limit}"
                );
                worst = worst.max(more);
            }
            println!("{range:?}, {cell_ohm} Ω: {worst:.2e} of {limit:.2e}");
            assert!(
                limit < 1e-5 || worst > limit / 1.5,
                "{range:?}, {cell_ohm} Ω: {worst} of {limit}"
            );
        }
    }
}

/// The same of what the firmware extrapolates from three frequencies, for electrodes that polarise by up to what
/// the budget says and with f^-0.5 to f^-0.7.
#[test]
fn nor_does_it_where_three_frequencies_are_extrapolated() {
    let mut numbers = Numbers(34);
    let (range, cells) = CELLS[0];
    let mut extrapolated = 0;
    for &cell_ohm in cells {
        let mut nearest = 0.0_f64;
        for _ in 0..25 {
            let place = numbers.place();
            let network = Network { range, cell_ohm, place, is_lifted: false };
            let [r8, r4, r2] = [0, 1, 2].map(|at| {
                let hz = f64::from(frequencies(range)[at]);
                (hz / 1e3, network.lifted_and_more(hz))
            });
            for _ in 0..20 {
                let power = 0.5 + 0.2 * numbers.next();
                let polarised = numbers.in_ratio(0.1, 1.0) * surroundings::POLARISATION_OHM;
                let of = |is_lifted: bool| {
                    [r8, r4, r2].map(|(khz, (lifted, more))| {
                        let series = polarised * khz.powf(-power);
                        series + if is_lifted { lifted } else { lifted / (1.0 + more) }
                    })
                };
                let [a, b, c] = of(true);
                let lifted = at_infinite_frequency(a, b, c);
                // Where the trend is too small to be told, the budget of one frequency holds.
                if lifted == a {
                    continue;
                }
                extrapolated += 1;
                let [a, b, c] = of(false);
                let off = (lifted / at_infinite_frequency(a, b, c) - 1.0).abs();
                let budget =
                    conductance::extrapolated(range.resistor(), cell_ohm, 2_f64.powf(power));
                let limit = 3_f64.sqrt() * budget.of(Cause::Reference).expect("it has one").built;
                nearest = nearest.max(off / limit);
                assert!(
                    off <= limit + 1e-6,
                    "{cell_ohm} Ω, {place:?}, {polarised} Ω, {power}: {off} of {limit}"
                );
            }
        }
        println!("{cell_ohm} Ω: up to {nearest:.2} of the limit");
    }
    assert!(extrapolated > 1_000, "{extrapolated}");
}
