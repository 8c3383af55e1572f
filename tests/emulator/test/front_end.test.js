// What the pins do reaches the bench; an excitation that is not as it should be is noticed.

import assert from 'node:assert/strict';
import { test } from 'node:test';
import { GPIOPinState } from 'rp2040js';
import { connectFrontEnd } from '../bench/front_end.js';
import { BOARD_PINS } from '../board/board.js';
import { Fault } from '../board/faults.js';

const { High, Low, Input } = GPIOPinState;

/** Pins that are set by hand, and a bench that writes down what it is told. */
function setUp() {
  const listeners = new Map();
  const states = new Map();
  const gpio = Array.from({ length: 30 }, (_, index) => ({
    addListener: (listener) => listeners.set(index, listener),
  }));
  const told = [];
  const bench = {
    pin: (name, isHigh) => told.push([name, isHigh]),
    drive: (hz) => told.push(['drive', Math.round(hz)]),
    float: () => told.push(['float']),
  };
  let now = 0;
  connectFrontEnd({ gpio }, BOARD_PINS, bench, () => now);
  const set = (name, state, at = now) => {
    now = at;
    const index = BOARD_PINS[name];
    const before = states.get(index) ?? Input;
    states.set(index, state);
    if (state !== before) listeners.get(index)(state, before);
  };
  return { set, told };
}

/** One period from `at` on, rising edge first; each gate open between these parts of it. */
function period(set, at, ns, { plus = [0.125, 0.375], minus = [0.625, 0.875] } = {}) {
  const moment = (part) => at + part * ns;
  set('drive', High, moment(0));
  set('gate_plus', High, moment(plus[0]));
  set('gate_plus', Low, moment(plus[1]));
  set('drive', Low, moment(0.5));
  set('gate_minus', High, moment(minus[0]));
  set('gate_minus', Low, moment(minus[1]));
}

test('a pin that floats is where the board’s resistors hold it', () => {
  const { set, told } = setUp();
  set('power_not', Low);
  set('cell', High);
  set('power_not', Input);
  set('cell', Input);
  assert.deepEqual(told, [['power_not', false], ['cell', true], ['power_not', true], ['cell', false]]);
});

test('the frequency of the drive is told once, and again when it is another', () => {
  const { set, told } = setUp();
  set('drive', Low, 0);
  for (let count = 0; count < 4; count++) period(set, 1e6 + count * 125e3, 125e3);
  set('drive', Input, 2e6);
  set('drive', Low, 2e6);
  for (let count = 0; count < 4; count++) period(set, 3e6 + count * 500e3, 500e3);
  assert.deepEqual(told, [['drive', 8000], ['float'], ['drive', 2000]]);
});

test('a gate that is open elsewhere, or not at all, is a fault', () => {
  const wrong = [{ plus: [0.125, 0.4] }, { plus: [0.1, 0.375] }, { minus: [0.6, 0.875] }, { minus: [0.7, 0.7] }];
  for (const gates of wrong) {
    const { set } = setUp();
    set('drive', Low, 0);
    const run = () => {
      for (let count = 0; count < 3; count++) period(set, 1e6 + count * 125e3, 125e3, gates);
      set('drive', High, 2e6);
    };
    assert.throws(run, Fault, JSON.stringify(gates));
  }
});
