// A state machine's pins change at the moments that its divider and delays say.

import assert from 'node:assert/strict';
import { test } from 'node:test';
import { GPIOPinState } from 'rp2040js';
import { repair as pioClock } from '../board/repairs/pio_clock.js';
import { chip } from './chip.js';

const PIO0 = 0x50200000;
const CTRL = PIO0;
const INSTRUCTIONS = PIO0 + 0x48;
const CLKDIV = PIO0 + 0xc8;
const EXECCTRL = PIO0 + 0xcc;
const INSTR = PIO0 + 0xd8;
const PINCTRL = PIO0 + 0xdc;
const SET_PINS = 0xe000;
const SET_PINDIRS = 0xe080;
const PIN = 10;
const { High, Low, InputPullDown } = GPIOPinState;

/** Toggles a pin: 3 cycles high, 5 low. */
function setUp({ whole, part }) {
  const mcu = chip();
  pioClock(mcu);
  mcu.writeUint32(0x40014004 + 8 * PIN, 6);
  mcu.writeUint32(PINCTRL, (1 << 26) | (PIN << 5));
  mcu.writeUint32(INSTRUCTIONS, SET_PINS | (2 << 8) | 1);
  mcu.writeUint32(INSTRUCTIONS + 4, SET_PINS | (4 << 8));
  mcu.writeUint32(EXECCTRL, 1 << 12); // wraps from 1 to 0
  mcu.writeUint32(CLKDIV, (whole << 16) | (part << 8));
  const edges = [];
  mcu.gpio[PIN].addListener((state) => edges.push([state, mcu.clock.nanos]));
  return { mcu, edges };
}

test('every edge is where divider and delay put it, and a stop stops it', () => {
  // 125 MHz / 156.25: a cycle is 1250 ns.
  const { mcu, edges } = setUp({ whole: 156, part: 64 });
  mcu.writeUint32(INSTR, SET_PINDIRS | 1);
  assert.deepEqual(edges.splice(0), [[Low, 0]], 'an instruction from outside shows at once');
  mcu.writeUint32(CTRL, 1);
  mcu.clock.tick(1250 * 20);
  const at = (cycles) => 1250 * cycles;
  assert.deepEqual(edges.splice(0), [[High, at(1)], [Low, at(4)], [High, at(9)], [Low, at(12)], [High, at(17)], [Low, at(20)]]);
  mcu.writeUint32(CTRL, 0);
  mcu.writeUint32(INSTR, SET_PINDIRS);
  mcu.clock.tick(1e6);
  assert.deepEqual(edges, [[InputPullDown, at(20)]]);
});

test('fractions of a nanosecond do not add up', () => {
  // 125 MHz / 3.4296875: a cycle is 27.4375 ns.
  const { mcu, edges } = setUp({ whole: 3, part: 110 });
  mcu.writeUint32(INSTR, SET_PINDIRS | 1);
  mcu.writeUint32(CTRL, 1);
  mcu.clock.tick(1e6);
  const [last, moment] = edges.at(-1);
  const cycles = moment / 27.4375;
  assert.ok(Math.abs(cycles - Math.round(cycles)) < 1e-3, `${cycles}`);
  assert.equal(Math.round(cycles) % 8, last === High ? 1 : 4);
});
