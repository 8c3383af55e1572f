// An update and back: the image, the image of the record version after it, and the image again, over the
// same store. And stores as images of every record version left them, kept in `golden`: RILLMARK_REGOLD=1
// writes those of the image's own version anew, as long as that is not released; older ones stay.

import assert from 'node:assert/strict';
import { readFileSync, readdirSync, writeFileSync } from 'node:fs';
import { test } from 'node:test';
import { fileURLToPath } from 'node:url';
import { newBoard, newFlash } from '../board/shipped.js';
import { Elf } from '../board/elf.js';
import { loadStore, storeImage } from '../board/store_region.js';
import { Conversation } from '../host/conversation.js';
import { FITTED, record } from '../host/records.js';
import { imagePath, nextImagePath } from '../paths.js';

const STORE_FAULT = 1 << 7;
const ONE_READING = { Sample: { Full: { interval_ms: 0 } } };

/** A record of our version as the next version would have it: `next.rs` of shared-proto. */
const asNext = ([version, ...body]) => [version + 1, ...body, 0x2a];

/** Switches on a board with this image in place of what it had, and what it was. */
function flashed(flash, path) {
  flash.load(new Elf(path).segments());
  const board = newBoard({ flash });
  const conversation = new Conversation(board);
  return { board, conversation, hello: conversation.start() };
}

/** Which calibrations the next reading used, and whether the store is at fault. */
function reading({ board, conversation }) {
  board.control('sample 7.6 480 18');
  conversation.ask(ONE_READING);
  const { calibrations, flags } = conversation.wait('reading');
  conversation.ask({ Sample: 'Off' });
  return { ph: calibrations.ph !== null, hasFault: (flags & STORE_FAULT) !== 0 };
}

/** Versions of the records in force: the first of their bytes. */
const inForce = (store) =>
  store.records.filter((kept) => kept.in_force).map((kept) => Number.parseInt(kept.bytes.slice(0, 2), 16));

test('the record version after ours is kept unread by our image, and nothing is lost on the way', () => {
  const flash = newFlash();
  const ours = flashed(flash, imagePath());
  const { board: id, record_max } = ours.hello;
  ours.conversation.equip(FITTED);
  ours.conversation.ask({ Keep: record(ours.conversation, id, 0) });
  const before = ours.conversation.store();
  assert.deepEqual(reading(ours), { ph: true, hasFault: false });
  ours.board.powerOff();
  golden(`store-v${record_max}`, flash, before);

  const next = flashed(flash, nextImagePath());
  assert.equal(next.hello.record_max, record_max + 1);
  assert.deepEqual(next.conversation.store(), before);
  assert.deepEqual(reading(next), { ph: true, hasFault: false });
  next.conversation.ask({ Keep: asNext(record(next.conversation, id, 1)) });
  const updated = next.conversation.store();
  assert.deepEqual(inForce(updated), [record_max + 1]);
  assert.deepEqual(reading(next), { ph: true, hasFault: false });
  next.board.powerOff();

  const back = flashed(flash, imagePath());
  assert.equal(back.hello.record_max, record_max);
  assert.deepEqual(back.conversation.store(), updated, 'every byte, the unread ones too');
  // The calibration before it is not put in its place: that would be a silent change.
  assert.deepEqual(reading(back), { ph: false, hasFault: false });
  back.board.powerOff();
  golden(`store-v${record_max}-with-a-newer-record`, flash, updated);

  back.conversation.start();
  const refused = back.conversation.refusal({ Keep: asNext(record(back.conversation, id, 2)) });
  assert.deepEqual(refused, { RecordVersion: { found: record_max + 1, newest: record_max } });
  back.conversation.ask({ Keep: record(back.conversation, id, 3) });
  assert.deepEqual(reading(back), { ph: true, hasFault: false });
  back.board.powerOff();

  const again = flashed(flash, nextImagePath());
  const kept = again.conversation.store();
  const newer = updated.records.at(-1);
  assert.ok(kept.records.some(({ bytes }) => bytes === newer.bytes), 'the newer record is still there');
  assert.deepEqual(inForce(kept), [record_max]);
});

test('a store of every record version is read as its image left it', () => {
  const names = readdirSync(goldenAt('')).filter((name) => name.endsWith('.flash'));
  assert.ok(names.length >= 2, `${names}`);
  for (const name of names) {
    const flash = newFlash();
    loadStore(flash, readFileSync(goldenAt(name)));
    const conversation = new Conversation(newBoard({ flash }));
    conversation.start();
    const expected = readFileSync(goldenAt(name.replace(/flash$/, 'json')), 'utf8');
    assert.deepEqual(conversation.store(), JSON.parse(expected), name);
  }
});

/** Where a golden file is. */
function goldenAt(name) {
  return fileURLToPath(new URL(`../golden/${name}`, import.meta.url));
}

/** Holds what a store keeps against the golden one, or writes that anew. */
function golden(name, flash, store) {
  if (process.env.RILLMARK_REGOLD) {
    writeFileSync(goldenAt(`${name}.flash`), storeImage(flash));
    writeFileSync(goldenAt(`${name}.json`), `${JSON.stringify(store, null, 1)}\n`);
  }
  assert.deepEqual(store, JSON.parse(readFileSync(goldenAt(`${name}.json`), 'utf8')), name);
}
