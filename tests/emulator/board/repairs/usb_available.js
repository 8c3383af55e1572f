// A buffer for what the host sends counts as filled as soon as it is armed, so a device that looks
// at it reads the last packet again. Here the 'available' bit stays until a packet has arrived
// (RP2040 data sheet, 4.1.2.5.1). And a host that does not fetch what a device has for it leaves that
// bit set too: the buffer is held back while `usb.isHeld` says so.

const AVAILABLE = 1 << 10;
const FIRST = 0x80;
const LAST = 0xfc;
const FROM_HOST = 4;

export function repair(mcu) {
  const usb = mcu.usbCtrl;
  const memory = mcu.usbDPRAMView;
  const updated = usb.DPRAMUpdated.bind(usb);
  const finish = usb.finishRead.bind(usb);
  const isBufferControl = (offset) => offset >= FIRST && offset <= LAST;
  /** Buffers for the host that it has not fetched. */
  const waiting = new Set();

  usb.isHeld = () => false;
  usb.DPRAMUpdated = (offset, value) => {
    const isArmed = isBufferControl(offset) && (value & AVAILABLE) !== 0;
    if (isArmed && !(offset & FROM_HOST) && usb.isHeld((offset - FIRST) >> 3)) {
      waiting.add(offset);
      return;
    }
    updated(offset, value);
    if (isArmed && offset & FROM_HOST) {
      memory.setUint32(offset, memory.getUint32(offset, true) | AVAILABLE, true);
    }
  };
  /** The host fetches what was held back. */
  usb.release = () => {
    for (const offset of waiting) {
      waiting.delete(offset);
      updated(offset, memory.getUint32(offset, true));
    }
  };
  usb.finishRead = (endpoint, bytes) => {
    const offset = FIRST + FROM_HOST + 8 * endpoint;
    memory.setUint32(offset, memory.getUint32(offset, true) & ~AVAILABLE, true);
    finish(endpoint, bytes);
  };
}
