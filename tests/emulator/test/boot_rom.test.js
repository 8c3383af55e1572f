// The boot ROM of our own.

import assert from 'node:assert/strict';
import { test } from 'node:test';
import { FUNCTIONS, RESET, boot2Checksum, bootRom, isInRom, lookUp } from '../board/boot_rom.js';

test('every function that is found is a breakpoint of its number and a return', () => {
  const rom = new DataView(bootRom().buffer);
  const half = (address) => rom.getUint16(address & ~1, true);
  const table = half(0x14);
  for (const [letters, number] of Object.entries(FUNCTIONS)) {
    const found = lookUp(table, letters);
    assert.equal(found & 1, 1, 'Thumb code');
    assert.ok(isInRom(found));
    assert.deepEqual([half(found), half(found + 2)], [0xbe00 | number, 0x4770]);
  }
  assert.equal(lookUp(table, 'XX'), 0);
  assert.equal(half(rom.getUint32(4, true) - 1), 0xbe00 | RESET);
  assert.equal(rom.getUint8(0x13), 2, 'version of the ROM');
});

test('the checksum of the second boot stage is CRC-32/MPEG-2', () => {
  // The check value of the catalogue of parametrised CRC algorithms, recalled, not checked.
  assert.equal(boot2Checksum(Buffer.from('123456789')), 0x0376e6e7);
});
