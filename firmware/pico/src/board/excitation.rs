//! The excitation: drive and both gates by one state machine, so that their edges never drift apart.

use embassy_rp::clocks::clk_sys_freq;
use embassy_rp::gpio::Level;
use embassy_rp::peripherals::{PIN_10, PIN_11, PIN_12, PIO0};
use embassy_rp::pio::program::{Assembler, SetDestination};
use embassy_rp::pio::{self, Config, Direction, InterruptHandler, Pin, StateMachine};
use embassy_rp::{Peri, bind_interrupts};
use fixed::types::U24F8;
use rillmark_firmware::parts::Excitation;
use rillmark_pico::waveform::{DRIVE, FIRST, GATE_MINUS, GATE_PLUS, PERIOD, divider_256};

bind_interrupts!(struct Irqs {
    PIO0_IRQ_0 => InterruptHandler<PIO0>;
});

/// Drive and gates. The drive pin goes through a divider to mid, so that the drive is at mid while
/// the pin floats: parked and floating are one state of the pin, and the switches make the difference.
pub(super) struct Pio {
    machine: StateMachine<'static, PIO0, 0>,
    config: Config<'static, PIO0>,
    drive: Pin<'static, PIO0>,
    gates: [Pin<'static, PIO0>; 2],
}

impl Pio {
    pub(super) fn new(
        peripheral: Peri<'static, PIO0>,
        drive: Peri<'static, PIN_10>,
        gate_plus: Peri<'static, PIN_11>,
        gate_minus: Peri<'static, PIN_12>,
    ) -> Self {
        let pio::Pio { mut common, sm0: machine, .. } = pio::Pio::new(peripheral, Irqs);
        let drive = common.make_pio_pin(drive);
        let gates = [common.make_pio_pin(gate_plus), common.make_pio_pin(gate_minus)];

        let mut program = Assembler::<32>::new();
        // The level is there before the pin becomes an output, and counts from then.
        program.set(SetDestination::PINS, FIRST.levels);
        let all = DRIVE | GATE_PLUS | GATE_MINUS;
        program.set_with_delay(SetDestination::PINDIRS, all, FIRST.cycles - 1);
        let mut begin = program.label();
        program.bind(&mut begin);
        for step in PERIOD {
            program.set_with_delay(SetDestination::PINS, step.levels, step.cycles - 1);
        }
        let mut end = program.label();
        program.bind(&mut end);
        let program = common.load_program(&program.assemble_with_wrap(end, begin));

        let mut config = Config::default();
        config.use_program(&program, &[]);
        config.set_set_pins(&[&drive, &gates[0], &gates[1]]);
        let mut this = Self { machine, config, drive, gates };
        this.stop();
        let [plus, minus] = &this.gates;
        this.machine.set_pin_dirs(Direction::Out, &[plus, minus]);
        this
    }

    /// Gates shut, drive pin floating.
    fn stop(&mut self) {
        self.machine.set_enable(false);
        let [plus, minus] = &self.gates;
        self.machine.set_pins(Level::Low, &[plus, minus]);
        self.machine.set_pin_dirs(Direction::In, &[&self.drive]);
    }
}

impl Excitation for Pio {
    fn start(&mut self, frequency_hz: u32) {
        self.stop();
        let divider = divider_256(clk_sys_freq(), frequency_hz);
        self.config.clock_divider = U24F8::from_bits(divider);
        // Also jumps to the first instruction.
        self.machine.set_config(&self.config);
        self.machine.restart();
        self.machine.clkdiv_restart();
        self.machine.set_enable(true);
    }

    fn park(&mut self) {
        self.stop();
    }

    fn float(&mut self) {
        self.stop();
    }
}
