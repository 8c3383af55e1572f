// Boards with the image that ships.

import { Bench } from '../bench/bench.js';
import { imagePath } from '../paths.js';
import { Board } from './board.js';
import { Elf } from './elf.js';
import { FlashChip } from './flash_chip.js';

/** A flash chip with nothing but the image on it. */
export function newFlash() {
  const flash = new FlashChip();
  flash.load(new Elf(imagePath()).segments());
  return flash;
}

/** A board that is off. */
export function newBoard({ flash = newFlash(), seed = 1, clockUnixS } = {}) {
  return new Board({ flash, bench: new Bench({ seed, clockUnixS }) });
}
