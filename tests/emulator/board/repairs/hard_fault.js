// A bad access only warns, and an undefined instruction or a breakpoint without a debugger does
// nothing. Here each becomes a HardFault after the instruction that caused it, and a second one
// within its handler ends the run, as it locks a real core up (ARMv6-M, B1.5.6 and B1.5.15).

import { Fault } from '../faults.js';

const HARD_FAULT = 3;
const BAD_ACCESS = /invalid memory address|undefined address|not 32 bit aligned|is not implemented yet/;

/**
 * `serve` says whether a breakpoint is one of the ROM's, and serves it. After every instruction
 * whoever runs the core has to `enter` when there is a `cause`.
 */
export function repair(mcu, serve) {
  const { core, logger } = mcu;
  const faults = {
    cause: null,
    /** Address of the instruction. */
    at: 0,
    /** What caused the faults so far. */
    all: [],
    mark(cause) {
      if (this.cause !== null) return;
      this.cause = cause;
      this.at = (core.PC & ~1) - 2; // the core has gone on already
    },
    enter() {
      const why = `${this.cause} at ${this.at.toString(16)}`;
      this.cause = null;
      this.all.push(why);
      if (core.IPSR === HARD_FAULT) throw new Fault(`lock-up: ${this.all.join('; ')}`);
      core.waiting = false;
      core.PC = this.at;
      core.exceptionEntry(HARD_FAULT);
    },
  };
  mcu.onBreak = (number) => {
    if (!serve(number)) faults.mark(`breakpoint or undefined instruction ${number}`);
  };
  for (const level of ['warn', 'error']) {
    const log = logger[level].bind(logger);
    logger[level] = (component, text) => {
      if (BAD_ACCESS.test(text)) faults.mark(text);
      else log(component, text);
    };
  }
  return faults;
}
