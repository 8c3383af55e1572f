// What the image does to its pins.

import assert from 'node:assert/strict';
import { test } from 'node:test';
import { GPIOPinState } from 'rp2040js';
import { BOARD_PINS } from '../board/board.js';
import { newBoard } from '../board/shipped.js';
import { Conversation } from '../host/conversation.js';

const { High, Low, Input, InputPullUp } = GPIOPinState;

/**
 * While nothing is sampled: power off, drive floating without a pull, gates and cell open, the range switch
 * on the thermometer.
 */
const AT_REST = {
  range_low: High,
  range_high: High,
  tap_low: Low,
  tap_high: Low,
  drive: Input,
  gate_plus: Low,
  gate_minus: Low,
  cell: Low,
  power_not: High,
  clock_alarm: InputPullUp,
};

/** Waters for each range of the cell, with a cell constant of about 1/cm, and the frequencies there. */
const THERMOMETER_HZ = 2_030;
const WATERS = [
  { us_cm: 20, hz: [220] },
  { us_cm: 300, hz: [2_030] },
  { us_cm: 5_000, hz: [8_000, 4_000, 2_000] },
];

test('pins rest as the front end wants them, and each range is driven at its frequencies', () => {
  const board = newBoard();
  const conversation = new Conversation(board);
  conversation.start();
  const pins = () => Object.fromEntries(Object.keys(AT_REST).map((name) => [name, board.mcu.gpio[BOARD_PINS[name]].value]));
  assert.deepEqual(pins(), AT_REST);

  const heard = new Set();
  const drive = board.bench.drive.bind(board.bench);
  board.bench.drive = (hz, nowNs) => {
    heard.add(Math.round(hz));
    drive(hz, nowNs);
  };
  for (const { us_cm, hz } of WATERS) {
    board.control(`sample 7.6 ${us_cm} 25`);
    conversation.ask({ Sample: { Full: { interval_ms: 0 } } });
    // The first ones may still look for the range.
    for (let count = 0; count < 3; count++) conversation.wait('reading');
    heard.clear();
    conversation.wait('reading');
    assert.deepEqual(sorted(heard), sorted(new Set([...hz, THERMOMETER_HZ])), `${us_cm} µS/cm`);
  }
  conversation.ask({ Sample: 'Off' });
  board.run(3_000);
  assert.deepEqual(pins(), AT_REST);
});

const sorted = (numbers) => [...numbers].sort((one, other) => one - other);
