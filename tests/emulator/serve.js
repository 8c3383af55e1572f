// Serves an emulated board on TCP, as `rillmark virtual` serves a virtual one: control lines come in
// on standard input, each answered by a JSON object.

import { createServer } from 'node:net';
import { createInterface } from 'node:readline';
import { parseArgs } from 'node:util';
import { newBoard } from './board/shipped.js';

/** Emulated time in one go, in ms; between two, bytes and lines come in. */
const STEP_MS = 5;
/** An idle board runs faster than a host that starts can follow: not more than this many times real time. */
const FASTEST = 50;

const { values: options } = parseArgs({ options: { seed: { type: 'string', default: '1' } } });

const board = newBoard({ seed: Number(options.seed) });
let client = null;
board.onBytes = (bytes) => {
  if (client === null) return;
  // What a program does not read stays in the computer for a while; then the board is asked no more.
  if (!client.write(bytes)) board.usb.stopReading();
};
board.powerOn();

const server = createServer((socket) => {
  client?.destroy();
  client = socket;
  socket.setNoDelay(true);
  socket.on('data', (bytes) => board.send(bytes));
  socket.on('drain', () => board.usb.goOnReading());
  socket.on('error', () => {});
  socket.on('close', () => {
    if (client !== socket) return;
    client = null;
    board.usb.goOnReading();
  });
});
server.listen(0, '127.0.0.1', () => {
  const { port } = server.address();
  say({ serving: `tcp:127.0.0.1:${port}` });
  goOn();
});

function say(value) {
  process.stdout.write(`${JSON.stringify(value)}\n`);
}

const lines = createInterface({ input: process.stdin });
lines.on('line', (line) => {
  try {
    say(carryOut(line.trim()));
  } catch (error) {
    say({ ok: false, sentence: String(error) });
  }
});
lines.on('close', () => process.exit(0));

function carryOut(line) {
  switch (line) {
    case 'power-cycle':
      board.powerCycle();
      return { ok: true };
    case 'hold-bus':
      board.bus.hold();
      return { ok: true };
    case 'release-bus':
      board.bus.release();
      return { ok: true };
    case 'stall':
      board.stall();
      return { ok: true };
    case 'derail':
      board.derail();
      return { ok: true };
    case 'status':
      return { ...board.control(line), ...board.status() };
    default:
      return board.control(line);
  }
}

const began = { real: performance.now(), emulated: board.nowNs() };

function goOn() {
  board.run(STEP_MS);
  const emulatedMs = (board.nowNs() - began.emulated) / 1e6;
  const early = emulatedMs / FASTEST - (performance.now() - began.real);
  if (early < -1000) Object.assign(began, { real: performance.now(), emulated: board.nowNs() });
  if (early > 1) setTimeout(goOn, early);
  else setImmediate(goOn);
}
