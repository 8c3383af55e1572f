// A chip with a few instructions in its RAM.

import { RP2040 } from 'rp2040js';
import { Log } from '../board/log.js';

export const RAM = 0x20000000;
export const WFE = 0xbf20;
export const SEV = 0xbf40;
export const UDF = 0xde00;
export const BKPT = 0xbe00;
export const NOP = 0x46c0;

/** A chip that carries out these halfwords next. */
export function chip(...halfwords) {
  const mcu = new RP2040();
  mcu.logger = new Log();
  halfwords.forEach((half, index) => mcu.writeUint16(RAM + 2 * index, half));
  mcu.core.PC = RAM;
  mcu.core.SP = RAM + 0x1000;
  return mcu;
}

/** Carries out so many instructions. */
export function step(mcu, count) {
  for (let index = 0; index < count; index++) mcu.clock.tick(mcu.core.executeInstruction() * 8);
}
