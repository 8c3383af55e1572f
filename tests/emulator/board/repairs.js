// Everything that the emulator needs to run the image, applied from outside the package; each repair
// says in its file what is wrong, and has a test of its own.

import { repair as carryOverflow } from './repairs/carry_overflow.js';
import { repair as flashPort } from './repairs/flash_port.js';
import { repair as hardFault } from './repairs/hard_fault.js';
import { repair as i2c } from './repairs/i2c.js';
import { repair as memoryProtection } from './repairs/memory_protection.js';
import { repair as pioClock } from './repairs/pio_clock.js';
import { repair as quietPeripherals } from './repairs/quiet_peripherals.js';
import { repair as sendEvent } from './repairs/send_event.js';
import { repair as systemReset } from './repairs/system_reset.js';
import { repair as usbAvailable } from './repairs/usb_available.js';
import { repair as watchdog } from './repairs/watchdog.js';
import { repair as xipControl } from './repairs/xip_control.js';

const ALWAYS = { sendEvent, carryOverflow, xipControl, memoryProtection, i2c, usbAvailable, pioClock, quietPeripherals };

/**
 * Repairs a chip.
 * @param except names of repairs to leave out, for tests that show what they are for
 * @returns the faults of the core, see `hard_fault.js`
 */
export function applyRepairs(mcu, { except = [], uniqueId, serve, onReset, watchdog: kept }) {
  for (const [name, repair] of Object.entries(ALWAYS)) {
    if (!except.includes(name)) repair(mcu);
  }
  flashPort(mcu, uniqueId);
  systemReset(mcu, () => onReset({ what: 'program', reason: 0 }));
  const dog = watchdog(mcu, (reason) => onReset({ what: 'watchdog', reason }));
  dog.reason = kept.reason;
  kept.scratch.forEach((word, index) => (dog.scratchData[index] = word));
  return hardFault(mcu, serve);
}
