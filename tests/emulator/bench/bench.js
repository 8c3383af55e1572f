// The bench beside the board: chips, water, and a person's hands. Moments are nanoseconds of the
// bench, which go on while the board is off.

import { Models } from './models.js';

/** The front end's pins in the order in which the models number them. */
export const PINS = ['range_low', 'range_high', 'tap_low', 'tap_high', 'cell', 'power_not'];

export class Bench {
  /** `clockUnixS`: what the clock chip keeps; without it it has lost its time. */
  constructor({ seed = 1, clockUnixS = NaN } = {}) {
    this.models = new Models();
    this.calls = this.models.exports;
    this.calls.bench_new(seed, clockUnixS);
  }

  answers(address) {
    return this.calls.bench_answers(address) !== 0;
  }

  write(address, bytes, nowNs) {
    this.calls.bench_write(address, this.models.give(bytes), nowNs);
  }

  read(address, index, nowNs) {
    return this.calls.bench_read(address, index, nowNs);
  }

  pin(name, isHigh, nowNs) {
    this.calls.bench_pin(PINS.indexOf(name), isHigh ? 1 : 0, nowNs);
  }

  drive(hz, nowNs) {
    this.calls.bench_drive(hz, nowNs);
  }

  float(nowNs) {
    this.calls.bench_float(nowNs);
  }

  /** True while the clock chip pulls its alarm pin low. */
  alarm(nowNs) {
    return this.calls.bench_alarm(nowNs) !== 0;
  }

  powerOff(nowNs) {
    this.calls.bench_power_off(nowNs);
  }

  /** Carries out a control line, such as `beaker technical-7.00 25`. */
  control(line, nowNs) {
    return this.models.takeJson(this.calls.bench_control(this.models.giveText(line), nowNs));
  }
}
