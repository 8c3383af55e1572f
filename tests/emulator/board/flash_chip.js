// The flash chip: keeps its bytes over resets and power cuts, is stricter than a real one (a word is
// programmed once between two erasures), and loses its power in the middle of an operation when told
// to. One thing it lets through: a word of zeros over what a cut left of it. The chip's driver says that
// its words may be programmed again towards zero (`MultiwriteNorFlash`), and the store finishes so the
// mark that closes a page.

import { Fault, PowerCut } from './faults.js';
import { random } from './random.js';

/** Bytes of the chip (W25Q16JV: 2 MiB). */
export const CAPACITY = 2 * 1024 * 1024;
/** Bytes that are erased at once. */
export const SECTOR = 4096;
/** Bytes that are programmed at once. */
export const PAGE = 256;
const WORD = 4;
/** What is known of a word since its last erasure. */
const BLANK = 0;
const WRITTEN = 1;
const CUT_SHORT = 2;
/** Typical times of the chip's data sheet, in ns. */
export const ERASE_NS = 45e6;
export const PROGRAM_NS = 0.4e6;

export class FlashChip {
  constructor() {
    this.bytes = new Uint8Array(CAPACITY).fill(0xff);
    this.written = new Uint8Array(CAPACITY / WORD);
    /** Every operation since the chip was made: kind and address. */
    this.operations = [];
    this.erasures = new Uint32Array(CAPACITY / SECTOR);
    this.cut = null;
  }

  /** Another chip that holds the same. */
  copy() {
    const copy = new FlashChip();
    copy.bytes.set(this.bytes);
    copy.written.set(this.written);
    copy.erasures.set(this.erasures);
    return copy;
  }

  /** Puts a program's segments onto the chip, as a programmer does, over what was there. */
  load(segments, flashAddress = 0x10000000) {
    for (const { address, bytes } of segments) {
      const offset = address - flashAddress;
      if (offset < 0 || offset + bytes.length > CAPACITY) throw new Fault(`load address ${address.toString(16)}`);
      this.bytes.set(bytes, offset);
    }
  }

  /**
   * Plans a power cut in the operation of this number, counted from now. `fraction` tells how far
   * it gets; `spread` scatters what is done over the whole page or sector instead of its front.
   */
  planCut({ after, fraction, spread = false, seed = 1 }) {
    this.cut = { left: after, fraction, spread, random: random(seed) };
  }

  isCut() {
    return this.cut !== null && this.cut.left-- === 0;
  }

  /** Erases one sector after the other; `spend` lets time pass. */
  erase(address, length, spend) {
    if (address % SECTOR || length % SECTOR) throw new Fault('erase of part of a sector');
    for (let at = address; at < address + length; at += SECTOR) {
      if (at + SECTOR > CAPACITY) throw new Fault(`erase outside the chip at ${at.toString(16)}`);
      this.operations.push({ kind: 'erase', address: at });
      if (this.isCut()) {
        this.partly(at, SECTOR, WRITTEN, (old) => old, () => 0xff);
        throw new PowerCut(`erasing ${at.toString(16)}`);
      }
      this.bytes.fill(0xff, at, at + SECTOR);
      this.written.fill(0, at / WORD, (at + SECTOR) / WORD);
      this.erasures[at / SECTOR]++;
      spend(ERASE_NS);
    }
  }

  /** Programs one page after the other. */
  program(address, data, spend) {
    if (address % PAGE || data.length % PAGE) throw new Fault('programming part of a page');
    for (let from = 0; from < data.length; from += PAGE) {
      const at = address + from;
      if (at + PAGE > CAPACITY) throw new Fault(`programming outside the chip at ${at.toString(16)}`);
      const page = data.subarray(from, from + PAGE);
      this.operations.push({ kind: 'program', address: at });
      this.check(at, page);
      if (this.isCut()) {
        this.partly(at, PAGE, CUT_SHORT, (old) => old, (old, index) => old & page[index]);
        throw new PowerCut(`programming ${at.toString(16)}`);
      }
      for (let index = 0; index < PAGE; index++) this.bytes[at + index] &= page[index];
      this.claim(at, page);
      spend(PROGRAM_NS);
    }
  }

  /** The words of a page that change: one that is 0xFF throughout leaves the chip's word as it is. */
  *changed(address, page) {
    for (let index = 0; index < PAGE; index += WORD) {
      const isBlank = page.subarray(index, index + WORD).every((byte) => byte === 0xff);
      if (!isBlank) yield (address + index) / WORD;
    }
  }

  check(address, page) {
    for (const word of this.changed(address, page)) {
      const from = word * WORD - address;
      const isMark = page.subarray(from, from + WORD).every((byte) => byte === 0);
      if (this.written[word] === CUT_SHORT && isMark) continue;
      if (this.written[word] !== BLANK) throw new Fault(`word ${(word * WORD).toString(16)} programmed twice`);
    }
  }

  claim(address, page) {
    for (const word of this.changed(address, page)) this.written[word] = WRITTEN;
  }

  /**
   * Does a part of an operation: the front of it and half a byte, or some bits everywhere; `touched` is
   * what becomes of its words.
   */
  partly(address, length, touched, before, after) {
    const { fraction, spread, random: next } = this.cut;
    const front = Math.floor(length * fraction);
    for (let index = 0; index < length; index++) {
      const old = this.bytes[address + index];
      const [from, to] = [before(old, index), after(old, index)];
      let done = index < front ? 0xff : index === front && fraction > 0 && fraction < 1 ? 0x5a : 0;
      if (spread) {
        done = 0;
        for (let bit = 1; bit < 0x100; bit <<= 1) if (next() < fraction) done |= bit;
      }
      this.bytes[address + index] = (from & ~done) | (to & done);
    }
    // What does not read as erased was touched; of the rest nobody can know.
    for (let index = 0; index < length; index += WORD) {
      const [at, word] = [address + index, (address + index) / WORD];
      const isBlank = this.bytes.subarray(at, at + WORD).every((byte) => byte === 0xff);
      if (isBlank) this.written[word] = BLANK;
      else if (this.written[word] === BLANK || touched === WRITTEN) this.written[word] = touched;
    }
  }
}
