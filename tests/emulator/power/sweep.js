// Cuts the power at every flash operation of a scene, at several points inside each, and looks what
// the board holds when it starts again.

import assert from 'node:assert/strict';
import { hex } from '../host/conversation.js';
import { record } from '../host/records.js';
import { play } from './scenes.js';

/**
 * Points inside an operation: how far it gets, from its front or with bits done all over. One that is
 * done and not yet reported is the last; one that has not begun is that of the operation before.
 */
const POINTS = [{ fraction: 0.4 }, { fraction: 0.5, spread: true }, { fraction: 1 }];

/** More of them, and other bits. */
const THOROUGH_POINTS = [
  ...[0, 0.01, 0.1, 0.25, 0.5, 0.75, 0.99, 1].map((fraction) => ({ fraction })),
  ...[0.02, 0.1, 0.5, 0.9, 0.98].map((fraction) => ({ fraction, spread: true })),
];

/** A page is turned ahead by writing the same small item until it is full: of so many one is cut. */
const OF_ALIKE = 24;
/** Operations at either end of a long series that are all cut. */
const ENDS = { first: 24, last: 12 };

/** Several points in every operation; of a long series of alike ones fewer than elsewhere. */
export function everywhere(operations) {
  const { length } = operations;
  return operations.flatMap(({ kind }, index) => {
    const isAlike = kind === 'program' && index >= ENDS.first && index < length - ENDS.last;
    const points = isAlike ? POINTS : THOROUGH_POINTS;
    return points.map((point, at) => ({ after: index, ...point, seed: index * THOROUGH_POINTS.length + at }));
  });
}

/**
 * Every point in every operation of a short series; in a long one every point in every erase and in the last
 * operations, one point in each of the first, and one now and then in between.
 */
export function inReason(operations) {
  const { length } = operations;
  const isShort = length <= ENDS.first;
  return operations.flatMap(({ kind }, index) => {
    const isAtTheEnd = isShort || kind === 'erase' || index >= length - ENDS.last;
    const isWorthOne = index < ENDS.first || index % OF_ALIKE === 0;
    const points = isAtTheEnd ? POINTS : isWorthOne ? [POINTS[index % POINTS.length]] : [];
    return points.map((point) => ({ after: index, ...point, seed: index }));
  });
}

/**
 * Cuts a scene wherever `choose` says of its operations; fails at the first board that lost something.
 */
export function sweep(scene, choose) {
  const whole = play(scene);
  const operations = [...whole.board.flash.operations];
  whole.conversation.start();
  const after = whole.conversation.store();
  const before = storeOf(scene);
  const cuts = choose(operations);
  const outcomes = { old: 0, new: 0 };
  for (const cut of cuts) {
    const played = play(scene, cut);
    const where = `${played.what}: ${JSON.stringify(cut)}`;
    assert.notEqual(played.what, null, `not cut: ${where}`);
    outcomes[check(played, { scene, before, after, where })]++;
  }
  const count = (kind) => operations.filter((operation) => operation.kind === kind).length;
  return { cuts: cuts.length, ...outcomes, programs: count('program'), erases: count('erase') };
}

/** What the store holds before. */
function storeOf({ flash, id, next }) {
  const { board, conversation } = play({ flash, id, next }, { after: 0, fraction: 0 });
  board.flash.bytes.set(flash.bytes);
  board.flash.written.set(flash.written);
  conversation.start();
  return conversation.store();
}

/** The board starts with the old or the new store, whole, and goes on storing. */
function check({ board, conversation, isConfirmed }, { scene, before, after, where }) {
  const { boot } = conversation.start();
  assert.ok(boot > 1, `boot count ${boot} after ${where}`);
  const found = conversation.store();
  const isNew = same(found, after);
  assert.ok(isNew || (same(found, before) && !isConfirmed), `${JSON.stringify(found)} after ${where}`);
  // It has not just kept what there was: it goes on.
  const later = record(conversation, scene.id, scene.next + 1);
  conversation.ask({ Keep: later });
  board.powerOff();
  conversation.start();
  const kept = conversation.store().records.at(-1);
  assert.equal(kept.bytes, hex(later), `a save after ${where}`);
  assert.ok(kept.in_force);
  return isNew ? 'new' : 'old';
}

const same = (one, other) => JSON.stringify(one) === JSON.stringify(other);
