// How far the stack reached: the image paints it at its start. The numbers are those of
// firmware/pico/src/partition.rs and board/stack.rs there.

const STACK_END = 0x20030000;
const RAM_BYTES = 0x42000;
const RAM = 0x20000000;
const PAINT = 0x5a5aa5a5;

export const STACK_BYTES = RAM + RAM_BYTES - STACK_END;

/** The most bytes of stack in use since the chip started. */
export function stackUsed({ sramView }) {
  let at = STACK_END - RAM;
  while (at < RAM_BYTES && sramView.getUint32(at, true) === PAINT) at += 4;
  return RAM_BYTES - at;
}
