//! The table of what a reading takes is written into its page from the program that works it out.

use std::fmt::Write;
use std::{env, fs};

use rillmark_circuit::energy::{
    BETWEEN_A, BOARD_AWAKE_W, PACKS, Phase, What, coin_cell_years, days, full_reading,
};
use rillmark_proto::circuit::chips::SUPPLY_V;
use rillmark_proto::circuit::timing;

use super::{folder, page};

const BEGIN: &str = "<!-- computed: energy -->\n";
const END: &str = "<!-- end -->\n";

/// Intervals between full readings in s, as they are called.
const EVERY: [(f64, &str); 4] =
    [(0.0, "one after the other"), (60.0, "a minute"), (600.0, "10 minutes"), (3_600.0, "an hour")];

fn table() -> String {
    let mut text = "| phase | time | current of the front end | front end | board |\n\
                    |---|---|---|---|---|\n"
        .to_owned();
    let mut sums = [0.0; 3];
    for phase in full_reading() {
        let what = match phase.what {
            What::Settle => "power on, all settles",
            What::Electrode => "pH",
            What::Thermometer => "temperature",
            What::Cell => "conductivity",
        };
        let mj = [phase.front_end_j(), phase.board_j()].map(|joule| joule * 1e3);
        writeln!(
            text,
            "| {what} | {:.2} s | {:.2} mA | {:.1} mJ | {:.0} mJ |",
            phase.seconds,
            phase.front_end_a * 1e3,
            mj[0],
            mj[1],
        )
        .expect("a string takes all");
        for (sum, value) in sums.iter_mut().zip([phase.seconds, mj[0], mj[1]]) {
            *sum += value;
        }
    }
    let [seconds, front_end, board] = sums;
    writeln!(
        text,
        "| **one reading** | **{seconds:.1} s** | | **{front_end:.0} mJ** | **{board:.0} mJ** |"
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
        let [front_end, awake] = [longer.front_end_j(), longer.board_j()].map(|joule| joule * 1e3);
        writeln!(
            text,
            "| {when} | + {seconds:.1} s | {:.2} mA | + {front_end:.0} mJ | + {awake:.0} mJ |",
            longer.front_end_a * 1e3,
        )
        .expect("a string takes all");
    }
    for (seconds, name) in EVERY.into_iter().filter(|(seconds, _)| *seconds > 0.0) {
        let between_s = seconds - sums[0];
        let joule = [BETWEEN_A * SUPPLY_V, BOARD_AWAKE_W].map(|watt| watt * between_s);
        writeln!(
            text,
            "| between two readings, {name} apart | {between_s:.0} s | {:.2} mA | {:.0} mJ | {:.1} J |",
            BETWEEN_A * 1e3,
            joule[0] * 1e3,
            joule[1],
        )
        .expect("a string takes all");
    }
    text.push_str("\n| days from | ");
    let names = EVERY.map(|(_, name)| name);
    text.push_str(&format!("{} | no reading |\n|---|---|---|---|---|---|\n", names.join(" | ")));
    for pack in &PACKS {
        let each = EVERY.map(|(seconds, _)| format!("{:.1}", days(pack, seconds)));
        let idle = days(pack, f64::INFINITY);
        writeln!(text, "| {} | {} | {idle:.1} |", pack.what, each.join(" | "))
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
