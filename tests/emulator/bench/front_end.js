// The board's pins and the front end that hangs on them.

import { GPIOPinState } from 'rp2040js';
import { Fault } from '../board/faults.js';
import { PINS } from './bench.js';

const { High, Input, Low } = GPIOPinState;
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
 * Watches drive and gates. Tells the bench the frequency that it sees, and that nothing drives. A fault
 * is: a first half period that is not positive and of half length; a gate that is open elsewhere than at
 * the centre 25–75 % of its half period, or while nothing drives; a drive let go of with a pull left on.
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
    Object.assign(this, { begun: null, first: null, rise: null, fall: null, period: null, window: null });
  }

  drive(state, before) {
    const at = this.now();
    if (!isDriven(state)) {
      if (isDriven(before) && state !== Input) throw new Fault('the drive does not float: a pull is on');
      if (this.window?.shut === null) throw new Fault(`gate ${this.window.which} is open and nothing drives`);
      this.forget();
      this.bench.float(at);
      return;
    }
    // The level with which the drive begins is no edge.
    if (!isDriven(before)) {
      if (state !== High) throw new Fault('the drive does not begin with a positive half period');
      this.begun = at;
      return;
    }
    if (state === Low) {
      if (this.fall === null) this.firstHalf(at);
      else this.check('plus', this.rise);
      this.fall = at;
    } else {
      if (this.rise !== null) this.turned(at - this.rise, at);
      this.check('minus', this.fall);
      this.rise = at;
    }
    this.window = null;
  }

  firstHalf(at) {
    if (this.window !== null) throw new Fault(`gate ${this.window.which} opens in the first half period`);
    this.first = at - this.begun;
  }

  turned(period, at) {
    const isNew = this.period === null || Math.abs(period / this.period - 1) > TOLERANCE;
    this.period = period;
    if (!isNew) return;
    if (Math.abs(this.first / period - 0.25) > TOLERANCE) {
      throw new Fault(`the first half period is ${this.first} ns of a period of ${period}`);
    }
    this.bench.drive(1e9 / period, at);
  }

  gate(which, state) {
    if (state === High) {
      if (this.begun === null) throw new Fault(`gate ${which} opens while nothing drives`);
      if (this.window !== null) throw new Fault(`gate ${which} opens after ${this.window.which} in one half period`);
      this.window = { which, open: this.now(), shut: null };
    } else if (this.window?.which === which) this.window.shut = this.now();
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
