// Three peripherals are not modelled and complain at every access. Here they keep what is written to
// them; the chip's record of its last reset says 'power on' (RP2040 data sheet, 2.12.7).

import { BasePeripheral } from 'rp2040js';

const IO_QSPI = 0x40018;
const RING_OSCILLATOR = 0x40060;
const REGULATOR = 0x40064;
const CHIP_RESET = 0x08;
const HAD_POWER_ON = 1 << 8;

class Quiet extends BasePeripheral {
  constructor(mcu, name, first = []) {
    super(mcu, name);
    this.registers = new Map(first);
  }

  readUint32(offset) {
    return this.registers.get(offset) ?? 0;
  }

  writeUint32(offset, value) {
    this.registers.set(offset, value);
  }
}

class RingOscillator extends Quiet {
  /** Running and stable. */
  readUint32(offset) {
    return offset === 0x18 ? 0x80001000 : super.readUint32(offset);
  }
}

export function repair(mcu) {
  mcu.peripherals[IO_QSPI] = new Quiet(mcu, 'IO_QSPI');
  mcu.peripherals[RING_OSCILLATOR] = new RingOscillator(mcu, 'ROSC');
  mcu.peripherals[REGULATOR] = new Quiet(mcu, 'VREG_AND_CHIP_RESET', [[CHIP_RESET, HAD_POWER_ON]]);
}
