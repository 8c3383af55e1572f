// The board: one chip after the other, from power-on or reset to the next, around what lasts: the
// flash chip, the bench and the time.

import { RP2040 } from 'rp2040js';
import { Bus } from '../bench/bus.js';
import { connectFrontEnd } from '../bench/front_end.js';
import { FOR_EVER, START, UNDEFINED, bootRom, isInRom } from './boot_rom.js';
import { Fault } from './faults.js';
import { Log } from './log.js';
import { random } from './random.js';
import { shortenWay } from './memory.js';
import { applyRepairs } from './repairs.js';
import { RomCalls } from './rom_calls.js';
import { UsbHost } from './usb_host.js';

const MS = 1e6;
/** How long a power cycle leaves the board without power. */
const OFF_NS = 1000 * MS;
/** Instructions between two looks at a condition. */
const LOOK_EVERY = 64;
const I2C0 = 0;
/** Behind what variables may take, before the stack's guard: RAM_BUDGET of firmware/pico/src/partition.rs. */
const UNUSED_RAM = 0x20010000;

/** The lines of the board's table of pins. */
export const BOARD_PINS = {
  i2c_data: 4,
  i2c_clock: 5,
  range_low: 6,
  range_high: 7,
  tap_low: 8,
  tap_high: 9,
  drive: 10,
  gate_plus: 11,
  gate_minus: 12,
  cell: 13,
  power_not: 14,
  clock_alarm: 15,
  regulator: 23,
  lamp: 25,
};

export class Board {
  /**
   * @param flash the chip with the program on it
   * @param bench the bench beside the board
   * @param uniqueId eight bytes
   */
  constructor({ flash, bench, uniqueId = [0xe6, 0x60, 0x58, 0x38, 0x83, 0x12, 0x34, 0x56], except = [] }) {
    Object.assign(this, { flash, bench, uniqueId, except });
    /** ns of the bench at which the chip last started. */
    this.startNs = 0;
    /** How often the chip was reset without losing its power, and why. */
    this.resets = [];
    this.received = [];
    this.onBytes = (bytes) => this.received.push(...bytes);
    this.mcu = null;
  }

  /** ns since the bench was built. */
  nowNs() {
    return this.startNs + (this.mcu?.clock.nanos ?? 0);
  }

  get isOn() {
    return this.mcu !== null;
  }

  /** Gives the board power. */
  powerOn() {
    const garbage = random(this.startNs + 1);
    this.start({ reason: 0, scratch: [], memory: null });
    // What a chip's RAM holds after power-on is anybody's guess.
    const { sram } = this.mcu;
    for (let index = 0; index < sram.length; index++) sram[index] = garbage() * 256;
  }

  /** Takes the power away. What the firmware was doing is cut off; flash and clock chip keep what they hold. */
  powerOff(forNs = OFF_NS) {
    const now = this.nowNs();
    this.bench.powerOff(now);
    this.startNs = now + forNs;
    this.mcu = null;
  }

  powerCycle() {
    this.powerOff();
    this.powerOn();
  }

  /** Starts the chip; after a reset its RAM and the watchdog's scratch registers are as they were. */
  start({ reason, scratch, memory }) {
    const mcu = new RP2040();
    this.log = new Log();
    mcu.logger = this.log;
    mcu.flash = new Uint8Array(0); // loading the ROM erases it
    mcu.loadBootrom(bootRom());
    mcu.flash = this.flash.bytes;
    mcu.flash16 = new Uint16Array(mcu.flash.buffer);
    mcu.flashView = new DataView(mcu.flash.buffer);
    if (memory !== null) mcu.sram.set(memory);
    shortenWay(mcu);
    this.mcu = mcu;
    this.nsPerCycle = 1e9 / mcu.clkSys;
    mcu.addClockListener((hz) => (this.nsPerCycle = 1e9 / hz));
    this.resetWanted = null;
    const rom = new RomCalls(mcu, this.flash, (ns) => this.spend(ns));
    this.faults = applyRepairs(mcu, {
      except: this.except,
      uniqueId: this.uniqueId,
      serve: (number) => isInRom(mcu.core.PC) && rom.serve(number),
      onReset: (cause) => (this.resetWanted = cause),
      watchdog: { reason, scratch },
    });
    this.usb = new UsbHost(mcu, (bytes) => this.onBytes(bytes));
    const { i2c_data: data, i2c_clock: clock } = BOARD_PINS;
    this.bus = new Bus(mcu, mcu.i2c[I2C0], { data, clock }, this.bench, () => this.nowNs());
    this.excitation = connectFrontEnd(mcu, BOARD_PINS, this.bench, () => this.nowNs());
    mcu.core.PC = START;
    this.sleptNs = 0;
  }

  /** The processor stands still for a while, and everything else goes on. */
  spend(ns) {
    this.mcu.clock.tick(ns);
  }

  /** The chip was told to reset, by its watchdog or its program: RAM outlives it. */
  reset(cause) {
    const now = this.nowNs();
    const { sram, peripherals } = this.mcu;
    const { scratchData } = peripherals[0x40058];
    this.resets.push({ cause, atNs: now });
    this.bench.powerOff(now); // every pin floats; the converter sees its power go with the front end's
    this.startNs = now;
    this.start({ reason: cause.reason, scratch: [...scratchData], memory: sram });
  }

  /**
   * Lets emulated time pass, at most `ms`, or until `until` says so.
   * @returns true when it did
   */
  run(ms, until = null) {
    const endNs = this.nowNs() + ms * MS;
    while (this.nowNs() < endNs) {
      this.steps(until === null ? Infinity : LOOK_EVERY, endNs - this.startNs);
      if (this.resetWanted !== null) this.reset(this.resetWanted);
      if (until !== null && until()) return true;
    }
    return false;
  }

  /** So many instructions or sleeps, up to a moment of the chip's clock. */
  steps(count, endNs) {
    const { core, clock } = this.mcu;
    while (count-- > 0 && clock.nanos < endNs && this.resetWanted === null) {
      if (core.waiting) {
        this.sleep(endNs);
        continue;
      }
      const ns = core.executeInstruction() * this.nsPerCycle;
      const { nextAlarm } = clock;
      // The clock's own `tick`, in short where nothing is due.
      if (nextAlarm !== null && nextAlarm.nanos <= clock.nanosCounter + ns) clock.tick(ns);
      else clock.nanosCounter += ns;
      if (this.faults.cause !== null) this.faults.enter();
    }
  }

  /** To the next thing that happens. */
  sleep(endNs) {
    const { clock } = this.mcu;
    if (clock.nextAlarm === null) throw new Fault('asleep, and nothing will wake it');
    const ns = Math.max(0, Math.min(clock.nanosToNextAlarm, endNs - clock.nanos));
    clock.tick(ns);
    this.sleptNs += ns;
  }

  /** Sends bytes over USB. */
  send(bytes) {
    this.usb.send(bytes);
  }

  /** Makes the program stand still in thread mode, as an endless loop does; interrupts go on. */
  stall() {
    this.goTo(FOR_EVER);
  }

  /** Makes the program meet an instruction that the core does not know. */
  derail() {
    this.goTo(UNDEFINED);
  }

  /**
   * Makes the program panic, as of an index out of bounds at this place in its source; `elf` is the image.
   */
  panic(elf, file, line) {
    const { mcu } = this;
    const text = Buffer.from(file);
    // Rust's `Location`: the file's address and length, line, column.
    [UNUSED_RAM + 16, text.length, line, 1].forEach((word, index) => mcu.writeUint32(UNUSED_RAM + 4 * index, word));
    text.forEach((byte, index) => mcu.writeUint8(UNUSED_RAM + 16 + index, byte));
    this.goTo(elf.symbol(/9panicking18panic_bounds_check$/) & ~1);
    [3, 2, UNUSED_RAM].forEach((word, index) => (mcu.core.registers[index] = word));
  }

  goTo(address) {
    const { core } = this.mcu;
    if (!this.run(1000, () => core.IPSR === 0 && core.waiting)) throw new Fault('the program never waits');
    core.waiting = false;
    core.PC = address;
  }

  /** What there is to know of the chip from outside. */
  status() {
    return {
      resets: this.resets.map(({ cause }) => cause.what),
      awake: 1 - this.sleptNs / this.mcu.clock.nanos,
      warnings: [...this.log.counts.keys()],
      faults: this.faults.all,
    };
  }

  /** A control line of the bench. */
  control(line) {
    return this.bench.control(line, this.nowNs());
  }
}
