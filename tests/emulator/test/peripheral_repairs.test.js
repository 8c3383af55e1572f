// The peripherals: what the package gets wrong, and that the repairs mend it.

import assert from 'node:assert/strict';
import { test } from 'node:test';
import { repair as flashPort } from '../board/repairs/flash_port.js';
import { repair as quietPeripherals } from '../board/repairs/quiet_peripherals.js';
import { repair as usbAvailable } from '../board/repairs/usb_available.js';
import { repair as watchdog } from '../board/repairs/watchdog.js';
import { repair as xipControl } from '../board/repairs/xip_control.js';
import { chip } from './chip.js';

test('execute-in-place is ready, and no background read is under way', () => {
  const mcu = chip();
  xipControl(mcu);
  assert.equal(mcu.readUint32(0x14000008), 0b11);
  assert.equal(mcu.readUint32(0x14000014), 0);
  assert.equal(mcu.logger.counts.size, 0);
});

test('the watchdog goes off once, and time goes on', () => {
  const mcu = chip();
  const reasons = [];
  watchdog(mcu, (reason) => reasons.push(reason));
  mcu.writeUint32(0x40058004, 2 * 1000); // a thousand µs: it counts twice as fast (RP2040-E1)
  mcu.writeUint32(0x40058000, 1 << 30);
  mcu.clock.tick(0.9e6);
  assert.deepEqual(reasons, []);
  mcu.clock.tick(5e6);
  assert.deepEqual(reasons, [1]);
});

test('the flash chip tells its unique number after four dummy bytes', () => {
  const mcu = chip();
  const id = [1, 2, 3, 4, 5, 6, 7, 8];
  flashPort(mcu, id);
  mcu.writeUint32(0x18000000, 0x300); // EEPROM read
  mcu.writeUint8(0x18000060, 0x4b);
  const answer = Array.from({ length: 12 }, () => mcu.readUint8(0x18000060));
  assert.deepEqual(answer, [0, 0, 0, 0, ...id]);
});

test('peripherals that are not modelled keep what is written, and the last reset was power-on', () => {
  const mcu = chip();
  quietPeripherals(mcu);
  mcu.writeUint32(0x4001800c, 0x300);
  assert.equal(mcu.readUint32(0x4001800c), 0x300);
  assert.equal(mcu.readUint32(0x40064008), 1 << 8);
  assert.equal(mcu.logger.counts.size, 0);
});

const AVAILABLE = 1 << 10;
const FULL = 1 << 15;
const OUT_1 = 0x50100000 + 0x8c;
const IN_2 = 0x50100000 + 0x90;

test('a buffer for the host to fill stays available until it has', () => {
  const armed = (repair) => {
    const mcu = chip();
    repair(mcu);
    mcu.usbCtrl.onEndpointRead = () => {};
    mcu.writeUint32(OUT_1, AVAILABLE | 64);
    return mcu;
  };
  assert.equal(armed(() => {}).readUint32(OUT_1) & AVAILABLE, 0, 'the package is right: the repair can go');
  const mcu = armed(usbAvailable);
  assert.equal(mcu.readUint32(OUT_1) & (AVAILABLE | FULL), AVAILABLE);
  mcu.usbCtrl.endpointReadDone(1, Uint8Array.of(5, 6));
  mcu.clock.tick(20e3);
  assert.equal(mcu.readUint32(OUT_1) & (AVAILABLE | FULL | 0x3ff), FULL | 2);
});

test('what a host does not fetch stays where it is', () => {
  const mcu = chip();
  usbAvailable(mcu);
  const { usbCtrl: usb } = mcu;
  const fetched = [];
  let isReading = false;
  usb.isHeld = (endpoint) => endpoint === 2 && !isReading;
  usb.onEndpointWrite = (endpoint, bytes) => fetched.push(endpoint, bytes.length);
  mcu.writeUint32(IN_2, AVAILABLE | FULL | 3);
  mcu.clock.tick(1e6);
  assert.deepEqual(fetched, []);
  assert.equal(mcu.readUint32(IN_2) & AVAILABLE, AVAILABLE);
  isReading = true;
  usb.release();
  mcu.clock.tick(1e6);
  assert.deepEqual(fetched, [2, 3]);
  assert.equal(mcu.readUint32(IN_2) & AVAILABLE, 0);
});
