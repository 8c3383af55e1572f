// The image as the linker left it: what is loaded where, and where its symbols are.

import { readFileSync } from 'node:fs';

const LOADABLE = 1;
const SYMBOL_TABLE = 2;

/** A 32-bit little-endian ELF file. */
export class Elf {
  constructor(path) {
    this.bytes = readFileSync(path);
    this.view = new DataView(this.bytes.buffer, this.bytes.byteOffset, this.bytes.length);
    const isElf32 = this.view.getUint32(0) === 0x7f454c46 && this.bytes[4] === 1;
    if (!isElf32) throw new Error(`${path} is not a 32-bit ELF file`);
  }

  /** What is to be loaded: physical address and bytes. */
  segments() {
    const { view, bytes } = this;
    const [offset, size, count] = [view.getUint32(28, true), view.getUint16(42, true), view.getUint16(44, true)];
    const found = [];
    for (let at = offset; at < offset + count * size; at += size) {
      const [from, length] = [view.getUint32(at + 4, true), view.getUint32(at + 16, true)];
      if (view.getUint32(at, true) !== LOADABLE || length === 0) continue;
      found.push({ address: view.getUint32(at + 12, true), bytes: bytes.subarray(from, from + length) });
    }
    return found;
  }

  /** Address of the symbol of this name, or of the first whose name fits a pattern. */
  symbol(name) {
    const fits = (found) => (name instanceof RegExp ? name.test(found) : found === name);
    const { view, bytes } = this;
    const [offset, size, count] = [view.getUint32(32, true), view.getUint16(46, true), view.getUint16(48, true)];
    const header = (index) => offset + index * size;
    for (let index = 0; index < count; index++) {
      const table = header(index);
      if (view.getUint32(table + 4, true) !== SYMBOL_TABLE) continue;
      const strings = view.getUint32(header(view.getUint32(table + 24, true)) + 16, true);
      const [from, length] = [view.getUint32(table + 16, true), view.getUint32(table + 20, true)];
      for (let at = from; at < from + length; at += 16) {
        const start = strings + view.getUint32(at, true);
        if (fits(bytes.toString('latin1', start, bytes.indexOf(0, start)))) return view.getUint32(at + 4, true);
      }
    }
    throw new Error(`the image has no symbol ${name}`);
  }
}
