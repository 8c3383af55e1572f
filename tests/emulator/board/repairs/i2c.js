// The I2C controller ignores its interrupt mask, latches 'receive FIFO full' and 'transmit FIFO
// empty', which are levels, reads on without addressing the chip anew when writing turns into reading,
// goes on with a transfer after it was switched off, and knows no reset. Here it is otherwise
// (RP2040 data sheet, 4.3.17).

import { RPI2C } from 'rp2040js';

const DATA_CMD = 0x10;
const INTR_MASK = 0x30;
const RX_TL = 0x38;
const TX_TL = 0x3c;
const ENABLE = 0x6c;
const SDA_HOLD = 0x7c;
const DMA_CR = 0x88;
const RX_FULL = 1 << 2;
const TX_EMPTY = 1 << 4;
const READ = 1 << 8;
const RESTART = 1 << 10;
const IDLE = 0;
const CONNECTED = 3;

class I2cController extends RPI2C {
  get intRaw() {
    let raw = this.latched & ~(RX_FULL | TX_EMPTY);
    if (this.rxFIFO.itemCount > this.rxThreshold) raw |= RX_FULL;
    if (this.txFIFO.itemCount <= this.txThreshold && !this.busy) raw |= TX_EMPTY;
    return raw;
  }

  set intRaw(raw) {
    this.latched = raw;
  }

  readUint32(offset) {
    const value = super.readUint32(offset);
    if (offset === DATA_CMD) this.checkInterrupts();
    return value;
  }

  writeUint32(offset, value) {
    switch (offset) {
      case INTR_MASK:
        this.intEnable = value & 0x1fff;
        break;
      case SDA_HOLD:
      case DMA_CR:
        return; // the hold time is not modelled, and nobody asks for DMA
      case ENABLE:
        if (!(value & 1)) this.abandon();
        super.writeUint32(offset, value);
        break;
      case DATA_CMD:
      case RX_TL:
      case TX_TL:
        super.writeUint32(offset, value);
        break;
      default:
        return super.writeUint32(offset, value);
    }
    this.checkInterrupts();
  }

  /** The next byte begins with a restart when the direction changes. */
  nextCommand() {
    const { txFIFO } = this;
    if (this.state === CONNECTED && !this.busy && !txFIFO.empty && (txFIFO.peek() & READ) !== this.direction) {
      txFIFO.buffer[txFIFO.start] |= RESTART;
    }
    super.nextCommand();
  }

  completeStart() {
    this.direction = this.txFIFO.peek() & READ;
    super.completeStart();
  }

  /** Drops the transfer that is under way; the bus is told to forget it. */
  abandon() {
    if (this.state === IDLE && !this.busy) return;
    this.state = IDLE;
    [this.busy, this.stop, this.pendingRestart, this.firstByte] = [false, false, false, false];
    this.onAbandon?.();
  }
}

/** Both controllers; the base addresses are I2C0 and I2C1. */
export function repair(mcu) {
  for (const [index, page] of [0x40044, 0x40048].entries()) {
    const { name, irq } = mcu.i2c[index];
    const fresh = new I2cController(mcu, name, irq);
    mcu.i2c[index] = fresh;
    mcu.peripherals[page] = fresh;
  }
  resetWithTheRest(mcu);
}

/** Bits of the reset register (data sheet, 2.14.3). */
const RESETS = 0x4000c;
const RESET_BITS = [1 << 3, 1 << 4];

function resetWithTheRest(mcu) {
  const resets = mcu.peripherals[RESETS];
  const write = resets.writeUint32.bind(resets);
  resets.writeUint32 = (offset, value) => {
    write(offset, value);
    if (offset !== 0) return;
    for (const [index, bit] of RESET_BITS.entries()) {
      if (!(value & bit)) continue;
      const controller = mcu.i2c[index];
      controller.abandon();
      controller.txFIFO.reset();
      controller.rxFIFO.reset();
      [controller.enable, controller.latched, controller.intEnable, controller.abortSource] = [0, 0, 0, 0];
      controller.checkInterrupts();
    }
  };
}
