// The flash chip: stricter than a real one, and cut off where told.

import assert from 'node:assert/strict';
import { test } from 'node:test';
import { Fault, PowerCut } from '../board/faults.js';
import { CAPACITY, ERASE_NS, FlashChip, PAGE, PROGRAM_NS, SECTOR } from '../board/flash_chip.js';

const ignore = () => {};
const page = (fill) => new Uint8Array(PAGE).fill(fill);

test('takes its time, and counts', () => {
  const chip = new FlashChip();
  let spent = 0;
  const spend = (ns) => (spent += ns);
  chip.erase(0, 2 * SECTOR, spend);
  chip.program(SECTOR, new Uint8Array(2 * PAGE).fill(0x5a), spend);
  assert.equal(spent, 2 * ERASE_NS + 2 * PROGRAM_NS);
  assert.equal(chip.operations.length, 4);
  assert.deepEqual([...chip.erasures.subarray(0, 3)], [1, 1, 0]);
  assert.equal(chip.bytes[SECTOR + PAGE], 0x5a);
});

test('refuses what a driver must not do', () => {
  const chip = new FlashChip();
  assert.throws(() => chip.erase(PAGE, SECTOR, ignore), Fault);
  assert.throws(() => chip.erase(CAPACITY, SECTOR, ignore), Fault);
  assert.throws(() => chip.program(4, page(0), ignore), Fault);
  chip.program(0, page(0x0f), ignore);
  assert.throws(() => chip.program(0, page(0x0f), ignore), Fault, 'programmed twice');
  chip.program(0, page(0xff), ignore); // changes nothing
  chip.erase(0, SECTOR, ignore);
  chip.program(0, page(0x0f), ignore);
});

test('a cut leaves a part done: its front, or bits everywhere', () => {
  for (const spread of [false, true]) {
    for (const fraction of [0, 0.5, 1]) {
      const chip = new FlashChip();
      chip.planCut({ after: 1, fraction, spread });
      chip.program(0, page(0), ignore);
      assert.throws(() => chip.program(PAGE, page(0), ignore), PowerCut);
      const zeros = chip.bytes.subarray(PAGE, 2 * PAGE).reduce((sum, byte) => sum + 8 - bitsSet(byte), 0);
      const expected = fraction * PAGE * 8;
      // Half a byte at the front's end; 2048 fair bits have a deviation of 23: four of them.
      assert.ok(Math.abs(zeros - expected) <= (fraction === 0.5 ? (spread ? 91 : 8) : 0), `${zeros}`);
    }
  }
});

test('what a cut left blank may be programmed, and what it touched only with zeros', () => {
  const chip = new FlashChip();
  chip.planCut({ after: 0, fraction: 0.5 });
  assert.throws(() => chip.program(0, page(0x0f), ignore), PowerCut);
  const half = (from, fill) => page(0xff).map((byte, index) => (index >= from ? fill : byte));
  chip.program(0, half(PAGE / 2 + 4, 0x0f), ignore);
  assert.throws(() => chip.program(0, half(PAGE - 4, 0), ignore), Fault, 'written whole, not cut short');
  const first = (fill) => page(0xff).map((byte, index) => (index < 4 ? fill : byte));
  assert.throws(() => chip.program(0, first(0x0f), ignore), Fault, 'no mark');
  chip.program(0, first(0), ignore);
  assert.throws(() => chip.program(0, first(0), ignore), Fault, 'a mark is finished once');
});

function bitsSet(byte) {
  let count = 0;
  for (let rest = byte; rest > 0; rest >>= 1) count += rest & 1;
  return count;
}
