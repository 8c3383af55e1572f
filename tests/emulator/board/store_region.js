// Where the image keeps its store: STORE of firmware/pico/src/partition.rs.

import { CAPACITY } from './flash_chip.js';

export const STORE_BYTES = 128 * 1024;
export const STORE_AT = CAPACITY - STORE_BYTES;

/** The store's bytes up to the last that was ever written. */
export function storeImage(flash) {
  const region = flash.bytes.subarray(STORE_AT, STORE_AT + STORE_BYTES);
  const last = region.findLastIndex((byte) => byte !== 0xff);
  return region.slice(0, Math.ceil((last + 1) / 256) * 256);
}

/** Puts such an image onto a chip whose store is blank. */
export function loadStore(flash, image) {
  flash.load([{ address: STORE_AT, bytes: image }], 0);
  for (let at = 0; at < image.length; at += 4) {
    const isBlank = image.subarray(at, at + 4).every((byte) => byte === 0xff);
    flash.written[(STORE_AT + at) / 4] = isBlank ? 0 : 1;
  }
}
