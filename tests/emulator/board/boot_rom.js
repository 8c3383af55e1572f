// A boot ROM of our own: the tables that programs look functions up in, and functions that are
// nothing but a breakpoint. The board serves the breakpoints (RP2040 data sheet, 2.8: boot sequence
// and bootrom contents).

/** Breakpoint of the reset vector. */
export const RESET = 0x10;
/** Breakpoint of the lookup function: table in r0, code in r1. */
export const LOOKUP = 0x20;
/** Breakpoint of each function, by its two-letter code. */
export const FUNCTIONS = {
  IF: 0x41, // connect the flash to its pins
  EX: 0x42, // leave execute-in-place
  RE: 0x43, // erase a range
  RP: 0x44, // program a range
  FC: 0x45, // flush the cache
  CX: 0x46, // enter execute-in-place
  MC: 0x47, // copy bytes
  C4: 0x48, // copy words
  MS: 0x49, // set bytes
  S4: 0x4a, // set words
};

const BYTES = 16 * 1024;
const STACK = 0x20041f00;
const RESET_CODE = 0x100;
const LOOP_CODE = 0x140;
const LOOKUP_CODE = 0x180;
const FUNCTION_TABLE = 0x200;
const DATA_TABLE = 0x300;
const BX_R0 = 0x4700;
const BX_LR = 0x4770;
const breakpoint = (number) => 0xbe00 | number;
const code = (number) => 0x400 + 8 * number;

/** Where execution begins. */
export const START = RESET_CODE;

/** A loop without an end, for a program to be put into. */
export const FOR_EVER = LOOP_CODE;
/** An instruction that no core knows, likewise. */
export const UNDEFINED = LOOP_CODE + 2;

/** True for an address in the ROM. */
export const isInRom = (address) => address >>> 0 < BYTES;

/** The function that a lookup finds; 0 when there is none. */
export function lookUp(table, letters) {
  const number = table === FUNCTION_TABLE ? FUNCTIONS[letters] : undefined;
  return number === undefined ? 0 : code(number) | 1;
}

/** The ROM's words. */
export function bootRom() {
  const words = new Uint32Array(BYTES / 4);
  const view = new DataView(words.buffer);
  const put = (at, ...halves) => halves.forEach((half, index) => view.setUint16(at + 2 * index, half, true));
  view.setUint32(0, STACK, true);
  view.setUint32(4, RESET_CODE | 1, true);
  put(0x10, 0x754d, 0x0201); // 'M', 'u', 1, and version 2 of the ROM
  put(0x14, FUNCTION_TABLE, DATA_TABLE, LOOKUP_CODE | 1);
  put(RESET_CODE, breakpoint(RESET), BX_R0);
  put(LOOP_CODE, 0xe7fe, 0xde00); // a branch to itself; an undefined instruction
  put(LOOKUP_CODE, breakpoint(LOOKUP), BX_LR);
  for (const number of Object.values(FUNCTIONS)) put(code(number), breakpoint(number), BX_LR);
  return words;
}

/** The checksum of a second boot stage: CRC-32/MPEG-2 (data sheet, 2.8.1.3.1). */
export function boot2Checksum(bytes) {
  let crc = 0xffffffff;
  for (const byte of bytes) {
    crc ^= byte << 24;
    for (let bit = 0; bit < 8; bit++) crc = crc & 0x80000000 ? (crc << 1) ^ 0x04c11db7 : crc << 1;
  }
  return crc >>> 0;
}
