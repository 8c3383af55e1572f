// The board's pins and the front end that hangs on them.

import { GPIOPinState } from 'rp2040js';
import { Fault } from '../board/faults.js';
import { PINS } from './bench.js';

const { High, Low } = GPIOPinState;
const isDriven = (state) => state === High || state === Low;

/** Connects the pins; `pins` gives the number of each by its name. */
export function connectFrontEnd(mcu, pins, bench, now) {
  for (const name of PINS) {
    // Power off and everything open while a pin floats: the board's resistors see to it.
    const atRest = name === 'power_not';
    mcu.gpio[pins[name]].addListener((state) => {
      bench.pin(name, isDriven(state) ? state === High : atRest, now());
    });
  }
  return new Excitation(mcu, pins, bench, now);
}

/** How far an edge may be from where it belongs, as a part of the period. */
const TOLERANCE = 0.01;

/**
 * Watches drive and gates. Tells the bench the frequency that it sees, and that nothing drives; a
 * gate that is open elsewhere than at the centre 25–75 % of its half period is a fault.
 */
class Excitation {
  constructor(mcu, pins, bench, now) {
    Object.assign(this, { bench, now });
    this.forget();
    const gpio = (name) => mcu.gpio[pins[name]];
    gpio('drive').addListener((state, before) => this.drive(state, before));
    gpio('gate_plus').addListener((state) => this.gate('plus', state));
    gpio('gate_minus').addListener((state) => this.gate('minus', state));
  }

  forget() {
    Object.assign(this, { rise: null, fall: null, period: null, window: null });
  }

  drive(state, before) {
    const at = this.now();
    if (!isDriven(state)) {
      this.forget();
      this.bench.float(at);
      return;
    }
    // The level with which the drive begins is no edge.
    if (!isDriven(before)) return;
    if (state === Low) {
      this.check('plus', this.rise);
      this.fall = at;
    } else {
      this.check('minus', this.fall);
      if (this.rise !== null) this.turned(at - this.rise, at);
      this.rise = at;
    }
    this.window = null;
  }

  turned(period, at) {
    const isNew = this.period === null || Math.abs(period / this.period - 1) > TOLERANCE;
    this.period = period;
    if (isNew) this.bench.drive(1e9 / period, at);
  }

  gate(which, state) {
    if (state === High) this.window = { which, open: this.now(), shut: null };
    else if (this.window !== null) this.window.shut = this.now();
  }

  /** At the end of a half period: was its gate open where it belongs? */
  check(which, begin) {
    if (this.period === null) return;
    const part = (moment) => (moment - begin) / this.period;
    const { window } = this;
    // Quarters of a half period: an eighth and three eighths of a period.
    const isRight =
      window?.which === which &&
      Math.abs(part(window.open) - 0.125) < TOLERANCE &&
      Math.abs(part(window.shut) - 0.375) < TOLERANCE;
    if (!isRight) throw new Fault(`gate ${which} is not where it belongs: ${JSON.stringify(window)} after ${begin}`);
  }
}
