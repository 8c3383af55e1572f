// Serves the breakpoints of the boot ROM.

import { FUNCTIONS, LOOKUP, RESET, boot2Checksum, lookUp } from './boot_rom.js';
import { Fault } from './faults.js';

const BOOT2_BYTES = 256;
const BOOT2_IN_RAM = 0x41f00;
const RAM = 0x20000000;

export class RomCalls {
  constructor(mcu, flash, spend) {
    Object.assign(this, { mcu, flash, spend });
    /** How often each function was looked up. */
    this.lookups = new Map();
  }

  /** Carries out the breakpoint of this number; false when it is none of the ROM's. */
  serve(number) {
    const { registers } = this.mcu.core;
    const [r0, r1, r2] = registers;
    switch (number) {
      case RESET:
        this.boot();
        return true;
      case LOOKUP:
        registers[0] = this.look(r0, String.fromCharCode(r1 & 0xff, (r1 >> 8) & 0xff));
        return true;
      case FUNCTIONS.RE:
        this.flash.erase(r0, r1, this.spend);
        return true;
      case FUNCTIONS.RP:
        this.flash.program(r0, this.bytes(r1, r2), this.spend);
        return true;
      case FUNCTIONS.MC:
      case FUNCTIONS.C4:
        this.bytes(r1, r2).forEach((byte, index) => this.mcu.writeUint8(r0 + index, byte));
        return true;
      case FUNCTIONS.MS:
      case FUNCTIONS.S4:
        for (let index = 0; index < r2; index++) this.mcu.writeUint8(r0 + index, r1 & 0xff);
        return true;
      default:
        // The flash's pins and its cache are not modelled.
        return Object.values(FUNCTIONS).includes(number);
    }
  }

  /** As the ROM does: checks the second boot stage, copies it to RAM and jumps to it. */
  boot() {
    const { core, flash, sram } = this.mcu;
    const boot2 = flash.slice(0, BOOT2_BYTES);
    const checksum = new DataView(boot2.buffer).getUint32(BOOT2_BYTES - 4, true);
    if (boot2Checksum(boot2.subarray(0, BOOT2_BYTES - 4)) !== checksum) {
      throw new Fault('the second boot stage is damaged: a real board would wait for a new image');
    }
    sram.set(boot2, BOOT2_IN_RAM);
    core.registers[0] = RAM + BOOT2_IN_RAM + 1;
    core.LR = 0;
  }

  look(table, letters) {
    this.lookups.set(letters, (this.lookups.get(letters) ?? 0) + 1);
    const found = lookUp(table, letters);
    if (found === 0) throw new Fault(`the boot ROM here has no ${letters}`);
    return found;
  }

  bytes(address, length) {
    return Uint8Array.from({ length }, (_, index) => this.mcu.readUint8(address + index));
  }
}
