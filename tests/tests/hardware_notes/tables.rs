//! Pins, ranges, taps, addresses and waits as the pages tell them.

use rillmark_firmware::constants::{
    ADC_ADDRESS, AVERAGE_US, CLOCK_ADDRESS, CONVERSION_PERIOD_US, CONVERSIONS_PER_AVERAGE,
    FREQUENCIES_1K_HZ, FREQUENCY_10K_HZ, FREQUENCY_100K_HZ, FREQUENCY_THERMOMETER_HZ, WAIT_CELL_US,
    WAIT_PH_US, WAIT_POWER_US, WAIT_RANGE_US, WAIT_TAP_US,
};
use rillmark_pico::pins::{Direction, LINES};
use rillmark_proto::circuit::{chips, network, parts};

use super::{cells, page};

/// The rows of a page's tables whose first cell is one of these.
fn rows_of(page: &str, firsts: &[&str]) -> Vec<Vec<String>> {
    let rows = page.lines().filter_map(cells);
    let rows = rows.filter(|row| firsts.contains(&row[0]));
    rows.map(|row| row.into_iter().map(str::to_owned).collect()).collect()
}

fn khz(hz: u32) -> String {
    format!("{} kHz", f64::from(hz) / 1e3)
}

#[test]
fn every_pin_is_told() {
    let notes = page("pico-wiring.md");
    let rows: Vec<&str> = notes.lines().filter(|line| line.starts_with("| GP")).collect();
    let expected: Vec<String> = LINES
        .iter()
        .map(|line| {
            let direction = match line.direction {
                Direction::Out => "out",
                Direction::In => "in",
                Direction::Bus => "both",
            };
            format!("| GP{} | {} | {direction} | {} |", line.gpio, line.name, line.meaning)
        })
        .collect();
    assert_eq!(rows, expected);
}

#[test]
fn ranges_and_frequencies_are_the_firmwares() {
    let rows = rows_of(&page("conductivity.md"), &["00", "01", "10", "11"]);
    let [high, middle, low] = FREQUENCIES_1K_HZ;
    let octaves = format!(
        "{}, {} and {}; extrapolated to infinite frequency where there is a trend",
        low / 1_000,
        middle / 1_000,
        khz(high)
    );
    let ppm = parts::THERMOMETER_REFERENCE.drift_per_k * 1e6;
    let thermometer = format!("{} ({ppm:.0} ppm/K)", parts::THERMOMETER_REFERENCE);
    let expected = [
        ["00", &parts::RANGE_1K.to_string(), "20 Ω – 2 kΩ", &octaves],
        ["01", &parts::RANGE_10K.to_string(), "2 – 20 kΩ", &khz(FREQUENCY_10K_HZ)],
        ["10", &parts::RANGE_100K.to_string(), "20 – 200 kΩ", &format!("{FREQUENCY_100K_HZ} Hz")],
        ["11", &thermometer, "thermometer", &khz(FREQUENCY_THERMOMETER_HZ)],
    ];
    // The taps' table comes after it.
    assert_eq!(rows[..4], expected.map(|row| row.map(str::to_owned).to_vec()));
}

#[test]
fn chips_answer_where_the_page_says() {
    let notes = page("converter-and-clock.md");
    for (class, address) in [("ADS1115", ADC_ADDRESS), ("DS3231", CLOCK_ADDRESS)] {
        let row = notes.lines().filter_map(cells).find(|row| row[0].contains(class));
        assert_eq!(row.expect(class)[1], format!("{address:#04x}"));
    }
}

#[test]
fn times_and_voltages_in_the_text_are_those_of_the_code() {
    let ms = |us: u64| us / 1_000;
    let drive = format!(
        "{} V · {} / ({} + {}) = ±{:.2} V",
        chips::MID_V,
        parts::DRIVE_TO_MID.value / 1e3,
        parts::DRIVE_SERIES.value / 1e3,
        parts::DRIVE_TO_MID.value / 1e3,
        network::DRIVE_V
    );
    assert_eq!(WAIT_CELL_US, WAIT_RANGE_US, "told together");
    let told = [
        ("conductivity.md", drive),
        (
            "conductivity.md",
            format!(
                "waits {} ms, after a range change {} ms, before and after the drive {} ms",
                ms(WAIT_TAP_US),
                ms(WAIT_RANGE_US),
                ms(WAIT_CELL_US)
            ),
        ),
        (
            "conductivity.md",
            format!("from the end of any drive to the next pH {} s", ms(WAIT_PH_US) / 1_000),
        ),
        ("supply.md", format!("waits for {} s before", ms(WAIT_POWER_US) / 1_000)),
        (
            "converter-and-clock.md",
            format!(
                "every {} ms by its crystal and averages {CONVERSIONS_PER_AVERAGE} of them over {} ms",
                ms(CONVERSION_PERIOD_US),
                ms(AVERAGE_US)
            ),
        ),
        ("converter-and-clock.md", format!("electrode at ±{} V", chips::ADC_ELECTRODE_V)),
        ("converter-and-clock.md", format!("holds at ±{} V", chips::ADC_TAPS_V)),
    ];
    for (name, text) in told {
        // Wherever the line was broken.
        let one_line = page(name).split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(one_line.contains(&text), "{name}: {text}");
    }
}
