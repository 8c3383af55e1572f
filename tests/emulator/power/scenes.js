// What the board is doing when its power goes: a calibration is saved, on a young store and on one
// whose pages turn with it.

import { newBoard } from '../board/shipped.js';
import { Conversation } from '../host/conversation.js';
import { FITTED, record } from '../host/records.js';

/** Emulated ms in which whatever the firmware does after its answer comes to an end. */
const AFTER_MS = 1000;
/** A store's pages turn long before this many saves. */
const MOST_SAVES = 1000;

/** The chip as the scene finds it, and the number of the record that is saved in it. */
export function youngStore() {
  const { board, conversation, id } = begun();
  conversation.ask({ Keep: record(conversation, id, 0) });
  board.powerOff();
  return { flash: board.flash, id, next: 1 };
}

/** The same, saved to again and again until the next save erases a page. */
export function turningStore() {
  const { board, conversation, id } = begun();
  for (let next = 0; next < MOST_SAVES; next++) {
    const before = board.flash.copy();
    const { operations } = board.flash;
    const done = operations.length;
    conversation.ask({ Keep: record(conversation, id, next) });
    board.run(AFTER_MS);
    // The first saves have to be there before one of them can turn a page.
    if (operations.slice(done).some(({ kind }) => kind === 'erase')) return { flash: before, id, next };
  }
  throw new Error(`no page turned within ${MOST_SAVES} saves`);
}

function begun() {
  const board = newBoard();
  const conversation = new Conversation(board);
  const { board: id } = conversation.start();
  conversation.equip(FITTED);
  return { board, conversation, id };
}

/**
 * Plays a scene on a copy of its chip: start, save, and what follows.
 * @param cut the power cut to plan, if any
 * @returns the chip, what was cut off (null when nothing was), and whether the save was confirmed
 */
export function play({ flash, id, next }, cut = null) {
  const board = newBoard({ flash: flash.copy() });
  const conversation = new Conversation(board);
  if (cut !== null) board.flash.planCut(cut);
  let isConfirmed = false;
  let what = null;
  try {
    conversation.start();
    conversation.ask({ Keep: record(conversation, id, next) });
    isConfirmed = true;
    board.run(AFTER_MS);
  } catch (error) {
    if (error.constructor.name !== 'PowerCut') throw error;
    what = error.message;
  }
  board.powerOff();
  board.flash.cut = null;
  return { board, conversation, what, isConfirmed };
}
