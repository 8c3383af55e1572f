// A processor with a program and nothing else: for programs that compute.

import { RP2040 } from 'rp2040js';
import { Fault } from './faults.js';
import { Log } from './log.js';
import { shortenWay } from './memory.js';
import { repair as carryOverflow } from './repairs/carry_overflow.js';
import { repair as hardFault } from './repairs/hard_fault.js';

export class BareCore {
  /** Loads an image whose vector table stands at the beginning of the flash. */
  constructor(elf, { repairs = [carryOverflow] } = {}) {
    this.elf = elf;
    this.mcu = new RP2040();
    this.mcu.logger = new Log();
    for (const { address, bytes } of elf.segments()) this.mcu.flash.set(bytes, address - 0x10000000);
    shortenWay(this.mcu);
    for (const repair of repairs) repair(this.mcu);
    this.stopped = null;
    this.faults = hardFault(this.mcu, (number) => {
      this.stopped = number;
      return number === 0;
    });
    const { core } = this.mcu;
    core.VTOR = 0x10000000;
    core.SP = this.mcu.readUint32(core.VTOR);
    core.PC = this.mcu.readUint32(core.VTOR + 4) & ~1;
  }

  /** Runs up to the next breakpoint; the cycles that took. */
  run(most = 100e6) {
    const { core } = this.mcu;
    const begin = core.cycles;
    this.stopped = null;
    while (this.stopped === null) {
      core.executeInstruction();
      if (core.cycles - begin > most) throw new Fault('no breakpoint comes');
    }
    if (this.faults.cause !== null) throw new Fault(this.faults.cause);
    return core.cycles - begin;
  }

  /** Memory at a symbol. */
  at(name, length) {
    const from = this.elf.symbol(name) - 0x20000000;
    return this.mcu.sram.subarray(from, from + length);
  }
}
