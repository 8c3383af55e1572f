// How much stack the image takes.

import assert from 'node:assert/strict';
import { test } from 'node:test';
import { newBoard } from '../board/shipped.js';
import { STACK_BYTES, stackUsed } from '../board/stack.js';
import { Conversation } from '../host/conversation.js';
import { FITTED, record } from '../host/records.js';

test('the whole work leaves a third of the stack, or more', (context) => {
  const board = newBoard({ clockUnixS: 1_767_225_600 });
  const conversation = new Conversation(board);
  const { board: id } = conversation.start();
  board.control('sample 7.6 480 18');
  conversation.equip(FITTED);
  for (const [index, sampling] of [{ Full: { interval_ms: 0 } }, 'Ph', 'Conductivity'].entries()) {
    conversation.ask({ Sample: sampling });
    for (let count = 0; count < 3; count++) conversation.wait('reading', undefined, 20_000);
    conversation.ask({ Keep: record(conversation, id, index) });
    conversation.store();
  }
  const used = stackUsed(board.mcu);
  context.diagnostic(`${used} of ${STACK_BYTES} bytes of stack`);
  // More than nothing, for the image paints what it does not use.
  assert.ok(used > 1_000 && used <= (STACK_BYTES * 2) / 3, `${used} of ${STACK_BYTES} bytes`);
  assert.deepEqual(board.resets, []);
});
