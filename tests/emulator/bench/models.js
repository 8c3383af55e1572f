// The virtual bench's models: one implementation, compiled to WebAssembly.

import { readFileSync } from 'node:fs';
import { modelsPath } from '../paths.js';

const compiled = new Map();

function module(path) {
  if (!compiled.has(path)) compiled.set(path, new WebAssembly.Module(readFileSync(path)));
  return compiled.get(path);
}

/** An instance of the module, with the exchange buffer made easy. */
export class Models {
  constructor(path = modelsPath()) {
    this.exports = new WebAssembly.Instance(module(path), {}).exports;
  }

  get buffer() {
    const { memory, buffer, buffer_len: length } = this.exports;
    return new Uint8Array(memory.buffer, buffer(), length());
  }

  /** Puts bytes into the buffer and says how many. */
  give(bytes) {
    this.buffer.set(bytes);
    return bytes.length;
  }

  giveText(text) {
    return this.give(new TextEncoder().encode(text));
  }

  /** Copies the first bytes out of the buffer. */
  take(length) {
    return this.buffer.slice(0, length);
  }

  takeJson(length) {
    return JSON.parse(new TextDecoder().decode(this.take(length)));
  }
}
