// The I2C bus between the controller and the bench's chips, bit by bit in time.

import { GPIOPinState } from 'rp2040js';

const READ = 1;
/** A byte with its acknowledgement. */
const BYTE_BITS = 9;

export class Bus {
  /** `pins` are the numbers of the data and clock pins; `now` tells the bench's time. */
  constructor(mcu, controller, pins, bench, now) {
    Object.assign(this, { mcu, controller, bench, now });
    this.address = null;
    this.written = [];
    this.index = 0;
    /** A chip holds the data line low: nothing goes on. */
    this.isHeld = false;
    this.clocksLeft = null;
    this.data = mcu.gpio[pins.data];
    // Both lines have their pull-up.
    for (const pin of [pins.data, pins.clock]) mcu.gpio[pin].setInputValue(true);
    mcu.gpio[pins.clock].addListener((state) => state === GPIOPinState.Low && this.clocked());
    this.step = null;
    this.alarm = mcu.clock.createAlarm(() => this.act());
    controller.onStart = () => this.after(1, () => this.start());
    controller.onConnect = (address, mode) => this.after(BYTE_BITS, () => this.connect(address, mode));
    controller.onWriteByte = (byte) => this.after(BYTE_BITS, () => this.write(byte));
    controller.onReadByte = () => this.after(BYTE_BITS, () => this.read());
    controller.onStop = () => this.after(1, () => this.stop());
    controller.onAbandon = () => this.abandon();
  }

  /** ns of one bit, as the controller's registers set it. */
  get bit() {
    const { sclLowPeriod, sclHighPeriod } = this.controller;
    return ((sclLowPeriod + sclHighPeriod) * 1e9) / this.mcu.clkSys;
  }

  after(bits, step) {
    this.step = step;
    if (!this.isHeld) this.alarm.schedule(bits * this.bit);
  }

  act() {
    const { step } = this;
    this.step = null;
    step?.();
  }

  /** A chip stops in the middle of a byte, until it is let go or was clocked so often by hand. */
  hold(clocks = Infinity) {
    this.isHeld = true;
    this.clocksLeft = clocks;
    this.data.setInputValue(false);
    this.alarm.cancel();
  }

  release() {
    this.isHeld = false;
    this.data.setInputValue(true);
    if (this.step !== null) this.alarm.schedule(this.bit);
  }

  /** The clock line was pulled low by hand. */
  clocked() {
    if (this.isHeld && --this.clocksLeft === 0) this.release();
  }

  start() {
    this.flush();
    this.controller.completeStart();
  }

  connect(address, mode) {
    const answers = this.bench.answers(address);
    this.address = answers ? address : null;
    this.isReading = mode === READ;
    this.index = 0;
    this.controller.completeConnect(answers);
  }

  write(byte) {
    this.written.push(byte);
    this.controller.completeWrite(true);
  }

  read() {
    this.controller.completeRead(this.bench.read(this.address, this.index++, this.now()));
  }

  stop() {
    this.flush();
    this.controller.completeStop();
  }

  /** A write takes effect at its end. */
  flush() {
    if (this.address !== null && this.written.length > 0) {
      this.bench.write(this.address, Uint8Array.from(this.written), this.now());
    }
    this.written = [];
  }

  abandon() {
    this.alarm.cancel();
    this.step = null;
    this.written = [];
    this.address = null;
  }
}
