//! The table of what a reading takes is written into its page from the program that works it out.

use std::fmt::Write;
use std::{env, fs};

use rillmark_proto::circuit::chips::{BOARD_ASLEEP_A, BOARD_AWAKE_A};
use rillmark_proto::circuit::energy::{Phase, What, coin_cell_years, full_reading};
use rillmark_proto::circuit::timing;

use super::{folder, page};

const BEGIN: &str = "<!-- computed: energy -->\n";
const END: &str = "<!-- end -->\n";

fn table() -> String {
    let mut text = "| phase | time | current of the front end | front end | board, awake | board, asleep while it settles |\n\
                    |---|---|---|---|---|---|\n"
        .to_owned();
    let mut sums = [0.0; 4];
    for phase in full_reading() {
        let (what, asleep_a) = match phase.what {
            What::Settle => ("power on, all settles", BOARD_ASLEEP_A),
            What::Electrode => ("pH", BOARD_AWAKE_A),
            What::Thermometer => ("temperature", BOARD_AWAKE_A),
            What::Cell => ("conductivity", BOARD_AWAKE_A),
        };
        let (awake, asleep) = (phase.board_j(BOARD_AWAKE_A), phase.board_j(asleep_a));
        let mj = [phase.front_end_j(), awake, asleep].map(|joule| joule * 1e3);
        writeln!(
            text,
            "| {what} | {:.2} s | {:.2} mA | {:.1} mJ | {:.0} mJ | {:.0} mJ |",
            phase.seconds,
            phase.front_end_a * 1e3,
            mj[0],
            mj[1],
            mj[2]
        )
        .expect("a string takes all");
        for (sum, value) in sums.iter_mut().zip([phase.seconds, mj[0], mj[1], mj[2]]) {
            *sum += value;
        }
    }
    let [seconds, front_end, awake, asleep] = sums;
    writeln!(
        text,
        "| **one reading** | **{seconds:.1} s** | | **{front_end:.0} mJ** | **{awake:.0} mJ** | **{asleep:.0} mJ** |"
    )
    .expect("a string takes all");
    let electrode = full_reading().into_iter().find(|phase| phase.what == What::Electrode);
    let electrode = electrode.expect("a full reading reads the electrode");
    let longest = (timing::STILL_LONGEST_US as f64 * 1e-6) - electrode.seconds;
    for (when, seconds) in [
        ("pH, longer behind 500 MΩ (at 25 °C) at 5 °C", longer_s("500 MΩ", "5 °C")),
        ("the same at 0 °C", longer_s("500 MΩ", "0 °C")),
        ("the same at most, then flagged *not settled*", longest),
    ] {
        let longer = Phase { seconds, ..electrode };
        let [front_end, awake] =
            [longer.front_end_j(), longer.board_j(BOARD_AWAKE_A)].map(|joule| joule * 1e3);
        writeln!(
            text,
            "| {when} | + {seconds:.1} s | {:.2} mA | + {front_end:.0} mJ | + {awake:.0} mJ | + {awake:.0} mJ |",
            longer.front_end_a * 1e3,
        )
        .expect("a string takes all");
    }
    text
}

/// How much longer the first pH after power on takes behind a glass of this resistance at 25 °C in water of
/// this temperature, in s, as the simulation's page has it.
fn longer_s(membrane: &str, water: &str) -> f64 {
    let page = page("circuit-results.md");
    let row = page.lines().find(|line| line.starts_with(&format!("| {membrane} | {water} |")));
    let cells: Vec<&str> = row.expect("a row of cold glass").split('|').map(str::trim).collect();
    // An empty cell before the first.
    cells[6].parse().expect("a number of seconds")
}

/// `RILLMARK_REGOLD=1` writes the table instead.
#[test]
fn the_energy_table_is_what_the_program_works_out() {
    let text = page("energy.md");
    let (head, rest) = text.split_once(BEGIN).expect("where the table begins");
    let (written, tail) = rest.split_once(END).expect("where the table ends");
    if env::var_os("RILLMARK_REGOLD").is_some() {
        let text = format!("{head}{BEGIN}{}{END}{tail}", table());
        fs::write(folder().join("energy.md"), text).expect("the page can be written");
    } else {
        assert_eq!(written, table(), "stale: RILLMARK_REGOLD=1 writes it anew");
    }
}

#[test]
fn the_coin_cell_lasts_as_long_as_is_told() {
    let told = format!("some {:.0} years from 220 mAh", coin_cell_years());
    let page = page("converter-and-clock.md");
    assert!(page.split_whitespace().collect::<Vec<_>>().join(" ").contains(&told), "{told}");
}
