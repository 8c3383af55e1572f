//! Prints what the drawings of the front end show: its parts, places, contacts, pins, and what follows from them,
//! one a line, fields parted by tabs.

use rillmark_firmware::constants;
use rillmark_net_list as nets;
use rillmark_net_list::places;
use rillmark_pico::pins::LINES;
use rillmark_pico::waveform::{DRIVE, FIRST, GATE_MINUS, GATE_PLUS, PERIOD};
use rillmark_proto::circuit::{chips, network, parts, timing};

fn main() {
    for part in parts::ALL {
        let percent = (part.tolerance * 1e4).round() / 100.0;
        println!("part\t{}\t{part}\t{percent} %\t{}", part.designator, part.meaning);
    }
    for place in places::ALL {
        println!("place\t{}\t{}", place.designator, place.meaning);
    }
    for pin in nets::PINS {
        println!("contact\t{}\t{}\t{}", pin.part, pin.number, pin.name);
    }
    for line in LINES {
        println!("pin\tGP{}\t{}\t{}", line.gpio, line.name, line.meaning);
    }
    let fact = |name: &str, text: String| println!("fact\t{name}\t{text}");
    fact("supply", format!("{} V", chips::SUPPLY_V));
    fact("mid", format!("{} V", chips::MID_V));
    fact("drive", format!("{:.2} V", network::DRIVE_V));
    fact("electrode full scale", format!("±{} V", chips::ADC_ELECTRODE_V));
    fact("taps full scale", format!("±{} V", chips::ADC_TAPS_V));
    fact("converter address", format!("{:#04x}", constants::ADC_ADDRESS));
    fact("clock address", format!("{:#04x}", constants::CLOCK_ADDRESS));
    let octaves = timing::FREQUENCIES_1K_HZ.map(|hz| (f64::from(hz) / 1e3).to_string());
    fact("frequencies", format!("{} kHz", octaves.join(", ")));
    // Cycles of 128 a period: level of the drive, of the positive and of the negative gate.
    for step in [FIRST].iter().chain(&PERIOD) {
        let level = |bit| u8::from(step.levels & bit != 0);
        let levels = [level(DRIVE), level(GATE_PLUS), level(GATE_MINUS)];
        println!("step\t{}\t{}\t{}\t{}", step.cycles, levels[0], levels[1], levels[2]);
    }
}
