// What the board says of itself as a USB device.

import assert from 'node:assert/strict';
import { test } from 'node:test';
import { newBoard } from '../board/shipped.js';
import { Conversation } from '../host/conversation.js';

test('ids, names, and the flash chip’s number as serial and board id', () => {
  const board = newBoard();
  const { board: id } = new Conversation(board).start();
  const serial = Buffer.from(board.uniqueId).toString('hex');
  assert.deepEqual(board.usb.identity, {
    vendor: 0x1209,
    product: 0x0001,
    names: { manufacturer: 'Rillmark project', product: 'Rillmark probe', serial },
  });
  assert.deepEqual(id, board.uniqueId);
});
