// The control registers of execute-in-place are missing, and flash drivers wait for them. Here the
// cache is always ready and no background read is under way (RP2040 data sheet, 2.6.3.6).

import { BasePeripheral } from 'rp2040js';

const PAGE = 0x14000;
const STATUS = 0x08;
const FIFO_EMPTY = 1 << 1;
const FLUSH_READY = 1 << 0;

class XipControl extends BasePeripheral {
  readUint32(offset) {
    return offset === STATUS ? FIFO_EMPTY | FLUSH_READY : 0;
  }

  writeUint32() {}
}

export function repair(mcu) {
  mcu.peripherals[PAGE] = new XipControl(mcu, 'XIP_CTRL');
}
