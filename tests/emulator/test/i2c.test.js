// The I2C controller, and the bus on it.

import assert from 'node:assert/strict';
import { test } from 'node:test';
import { Bus } from '../bench/bus.js';
import { repair as i2c } from '../board/repairs/i2c.js';
import { chip } from './chip.js';

const BASE = 0x40044000;
const TAR = BASE + 0x04;
const DATA_CMD = BASE + 0x10;
const INTR_STAT = BASE + 0x2c;
const INTR_MASK = BASE + 0x30;
const ENABLE = BASE + 0x6c;
const TX_ABRT_SOURCE = BASE + 0x80;
const READ = 1 << 8;
const STOP = 1 << 9;
const RX_FULL = 1 << 2;
const TX_EMPTY = 1 << 4;

/** Answers at one address, with the numbers of the bytes read; keeps what is written. */
const memory = () => ({
  written: [],
  answers: (address) => address === 0x48,
  write(address, bytes) {
    this.written.push([address, ...bytes]);
  },
  read: (address, index) => index,
});

function setUp(repair = i2c) {
  const mcu = chip();
  repair(mcu);
  const bench = memory();
  const bus = new Bus(mcu, mcu.i2c[0], { data: 4, clock: 5 }, bench, () => mcu.clock.nanos);
  mcu.writeUint32(TAR, 0x48);
  mcu.writeUint32(ENABLE, 1);
  return { mcu, bench, bus };
}

const commands = (mcu, ...words) => words.forEach((word) => mcu.writeUint32(DATA_CMD, word));

test('the mask lets through what it names, as levels', () => {
  const { mcu } = setUp();
  mcu.writeUint32(INTR_MASK, 0);
  assert.equal(mcu.readUint32(INTR_STAT), 0);
  mcu.writeUint32(INTR_MASK, RX_FULL | TX_EMPTY);
  assert.equal(mcu.readUint32(INTR_STAT), TX_EMPTY);
  commands(mcu, READ, READ | STOP);
  mcu.clock.tick(1e6);
  assert.equal(mcu.readUint32(INTR_STAT) & RX_FULL, RX_FULL);
  mcu.readUint32(DATA_CMD);
  assert.equal(mcu.readUint32(INTR_STAT) & RX_FULL, RX_FULL, 'one byte is left');
  mcu.readUint32(DATA_CMD);
  assert.equal(mcu.readUint32(INTR_STAT) & RX_FULL, 0);
});

test('reading after writing addresses the chip anew, without being told', () => {
  const { mcu, bench } = setUp();
  commands(mcu, 0x01, READ, READ | STOP);
  mcu.clock.tick(1e6);
  assert.deepEqual(bench.written, [[0x48, 0x01]]);
  assert.deepEqual([0, 0].map(() => mcu.readUint32(DATA_CMD) & 0xff), [0, 1]);
});

test('nobody at the address is an abort', () => {
  const { mcu } = setUp();
  mcu.writeUint32(TAR, 0x21);
  commands(mcu, 0x01 | STOP);
  mcu.clock.tick(1e6);
  assert.equal(mcu.readUint32(TX_ABRT_SOURCE) & 1, 1);
});

test('a transfer on a held bus waits, and switching off or a reset drops it', () => {
  const drops = {
    'switching off': (mcu) => mcu.writeUint32(ENABLE, 0),
    'a reset': (mcu) => mcu.writeUint32(0x4000c000, 1 << 3),
  };
  for (const [what, drop] of Object.entries(drops)) {
    const { mcu, bench, bus } = setUp();
    bus.hold();
    commands(mcu, 0x01, 0x02 | STOP);
    mcu.clock.tick(1e9);
    assert.deepEqual(bench.written, []);
    drop(mcu);
    bus.release();
    mcu.writeUint32(ENABLE, 1);
    commands(mcu, 0x03 | STOP);
    mcu.clock.tick(1e6);
    assert.deepEqual(bench.written, [[0x48, 0x03]], what);
  }
});

test('a transfer goes on when a held bus is let go', () => {
  const { mcu, bench, bus } = setUp();
  bus.hold();
  commands(mcu, 0x01 | STOP);
  mcu.clock.tick(1e9);
  bus.release();
  mcu.clock.tick(1e6);
  assert.deepEqual(bench.written, [[0x48, 0x01]]);
});
