// The board in trouble: a held bus, a loop that never ends, a host that does not read.

import assert from 'node:assert/strict';
import { test } from 'node:test';
import { UNDEFINED } from '../board/boot_rom.js';
import { Elf } from '../board/elf.js';
import { newBoard } from '../board/shipped.js';
import { Conversation } from '../host/conversation.js';
import { imagePath } from '../paths.js';

const ADC_SILENT = 1 << 0;
const CLOCK_LOST = 1 << 6;
const NOT_SETTLED = 1 << 9;
const READINGS = { Sample: { Full: { interval_ms: 0 } } };

function started() {
  const board = newBoard({ clockUnixS: 1_767_225_600 });
  const conversation = new Conversation(board);
  const { boot } = conversation.start();
  board.control('sample 7.6 480 18');
  return { board, conversation, boot };
}

test('a bus that a chip holds ends in flagged readings, and goes on when it is let go', () => {
  const { board, conversation } = started();
  conversation.ask(READINGS);
  // The glass is new in this water, and may be on its way still: nothing else is flagged.
  assert.equal(conversation.wait('reading').flags & ~NOT_SETTLED, 0);
  board.bus.hold();
  const held = [1, 2, 3].map(() => conversation.wait('reading')).at(-1);
  assert.equal(held.flags, ADC_SILENT | CLOCK_LOST);
  assert.deepEqual(held.raw, { potential_nv: null, conductance: null, thermometer_milliohm: null });
  board.bus.release();
  const free = [1, 2].map(() => conversation.wait('reading')).at(-1);
  assert.equal(free.flags, 0);
  assert.deepEqual(board.resets, []);
});

test('a chip that stopped in the middle of a byte is clocked free', () => {
  const { board, conversation } = started();
  conversation.ask(READINGS);
  conversation.wait('reading');
  board.bus.hold(7);
  const flags = [1, 2, 3].map(() => conversation.wait('reading').flags);
  assert.ok(flags[0] & ADC_SILENT || flags[1] & ADC_SILENT, `${flags}`);
  assert.equal(flags[2], 0);
  assert.equal(board.bus.isHeld, false);
});

test('an electrode that never comes to rest is a flagged reading, in time and without a restart', () => {
  const { board, conversation } = started();
  board.control('connect ph=100,1e10');
  conversation.ask({ Sample: { Full: { interval_ms: 30_000 } } });
  const before = board.nowNs();
  const { flags } = conversation.wait('reading');
  const tookS = (board.nowNs() - before) / 1e9;
  assert.ok(flags & NOT_SETTLED, `${flags}`);
  // Longer than the watchdog waits, shorter than a host does.
  assert.ok(tookS > 8.4 && tookS < 15, `${tookS} s`);
  assert.deepEqual(board.resets, []);
});

/** Runs until the chip has reset itself, and says hello again. */
function restarted({ board, conversation }, ms) {
  conversation.cut();
  assert.ok(board.run(ms, () => board.resets.length > 0), 'no reset');
  return conversation.hello();
}

test('a loop that never ends is a restart by the watchdog, and is told', () => {
  const { board, conversation, boot } = started();
  board.stall();
  const before = board.nowNs();
  // The chip's watchdog waits for 8.3 s at most.
  const hello = restarted({ board, conversation }, 8_400);
  assert.deepEqual(board.resets.map(({ cause }) => cause.what), ['watchdog']);
  assert.ok(board.resets[0].atNs - before > 1e9, 'a restart must not come before a long store is done');
  assert.equal(hello.boot, boot + 1);
  assert.deepEqual(hello.start, { cause: 'Stalled', restarts: 1, trouble: null });
});

test('an instruction that the core does not know is a restart, and its address is told', () => {
  const { board, conversation, boot } = started();
  board.derail();
  const hello = restarted({ board, conversation }, 1_000);
  assert.equal(hello.boot, boot + 1);
  const address = UNDEFINED;
  assert.deepEqual(hello.start, { cause: 'Fault', restarts: 1, trouble: `Fault { address: ${address} }` });
  // A power cycle forgets it.
  board.powerOff();
  assert.deepEqual(conversation.start().start, { cause: 'PowerOn', restarts: 0, trouble: null });
});

test('a panic is a restart, and its place is told until the power goes, by later restarts too', () => {
  const { board, conversation, boot } = started();
  board.panic(new Elf(imagePath()), 'a/folder/of/the/firmware/src/store/mod.rs', 271);
  // Of the file the last 32 bytes.
  const trouble = 'Panic { file: "of/the/firmware/src/store/mod.rs", line: 271 }';
  const hello = restarted({ board, conversation }, 1_000);
  assert.equal(hello.boot, boot + 1);
  assert.deepEqual(hello.start, { cause: 'Panic', restarts: 1, trouble });
  board.stall();
  board.resets.length = 0;
  assert.deepEqual(restarted({ board, conversation }, 8_400).start, { cause: 'Stalled', restarts: 2, trouble });
  board.powerOff();
  assert.deepEqual(conversation.start().start, { cause: 'PowerOn', restarts: 0, trouble: null });
});

test('a host that does not read for a minute misses readings and nothing else', () => {
  const { board, conversation } = started();
  conversation.ask(READINGS);
  const before = conversation.wait('reading');
  board.usb.stopReading();
  board.run(60_000);
  board.usb.goOnReading();
  const first = conversation.wait('reading');
  assert.equal(first.running, before.running + 1, 'what was under way comes first');
  const later = Array.from({ length: 12 }, () => conversation.wait('reading'));
  for (const [index, reading] of later.entries()) {
    if (index > 0) assert.ok(reading.running > later[index - 1].running);
  }
  // A full reading takes 2.4 s: what the board could not keep is missing, and it shows.
  assert.ok(later.at(-1).running > before.running + 20, JSON.stringify(later.at(-1)));
  assert.ok(later.at(-1).time.ms > 60_000 && later.at(-1).flags === 0);
  assert.deepEqual(board.resets, []);
  conversation.ask({ Sample: 'Off' });
});
