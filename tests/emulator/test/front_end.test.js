// What the pins do reaches the bench; an excitation that is not as it should be is noticed.

import assert from 'node:assert/strict';
import { test } from 'node:test';
import { GPIOPinState } from 'rp2040js';
import { connectFrontEnd } from '../bench/front_end.js';
import { BOARD_PINS } from '../board/board.js';
import { Fault } from '../board/faults.js';

const { High, Low, Input, InputPullDown } = GPIOPinState;

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

/**
 * So many periods from `at` on, after a first half period of `first` of one; each gate open between these
 * parts of a period that begins with its rising edge.
 */
function run(set, at, ns, count, { first = 0.25, plus = [0.125, 0.375], minus = [0.625, 0.875] } = {}) {
  set('drive', High, at);
  let begin = at + (first - 0.5) * ns;
  const moment = (part) => begin + part * ns;
  for (let period = 0; period <= count; period++) {
    if (period > 0) {
      set('drive', High, moment(0));
      set('gate_plus', High, moment(plus[0]));
      set('gate_plus', Low, moment(plus[1]));
    }
    set('drive', Low, moment(0.5));
    set('gate_minus', High, moment(minus[0]));
    set('gate_minus', Low, moment(minus[1]));
    begin += ns;
  }
  set('drive', High, moment(0));
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
  run(set, 1e6, 125e3, 4);
  set('drive', Input, 2e6);
  run(set, 3e6, 500e3, 4);
  assert.deepEqual(told, [['drive', 8000], ['float'], ['drive', 2000]]);
});

test('a gate that is open elsewhere, or not at all, and a first half period of another length are faults', () => {
  const wrong = [
    { plus: [0.125, 0.4] },
    { plus: [0.1, 0.375] },
    { minus: [0.6, 0.875] },
    { minus: [0.7, 0.7] },
    { first: 0.5 },
    { first: 0.2 },
  ];
  for (const gates of wrong) {
    const { set } = setUp();
    assert.throws(() => run(set, 1e6, 125e3, 3, gates), Fault, JSON.stringify(gates));
  }
});

test('both gates in one half period, a gate without a drive, and a drive that is pulled are faults', () => {
  const wrong = {
    'overlapping gates': [['gate_plus', High], ['gate_minus', High]],
    'one gate after the other': [['gate_minus', High], ['gate_minus', Low], ['gate_plus', High]],
    'a gate in the first half period': [['drive', Input], ['drive', High], ['gate_plus', High], ['drive', Low]],
    'a gate while nothing drives': [['drive', Input], ['gate_plus', High]],
    'a gate left open': [['gate_plus', High], ['drive', Input]],
    'a pull left on': [['drive', InputPullDown]],
    'a negative half period first': [['drive', Input], ['drive', Low]],
  };
  for (const [what, steps] of Object.entries(wrong)) {
    const { set } = setUp();
    run(set, 1e6, 125e3, 3);
    const [name, state] = steps.pop();
    for (const [index, step] of steps.entries()) set(...step, 2e6 + index);
    assert.throws(() => set(name, state, 3e6), Fault, what);
  }
});
