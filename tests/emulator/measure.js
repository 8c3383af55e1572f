// Measures the image: how long it takes to start, how many cycles a reading takes, how long the
// processor is awake for it. Cycles are those of a core that never waits for its flash: the emulator
// knows no cache, so a real board is slower.

import { readFileSync } from 'node:fs';
import { BareCore } from './board/bare_core.js';
import { Elf } from './board/elf.js';
import { newBoard } from './board/shipped.js';
import { stackUsed } from './board/stack.js';
import { Models } from './bench/models.js';
import { Conversation } from './host/conversation.js';
import { FITTED, golden, record } from './host/records.js';
import { evaluateImagePath } from './paths.js';

const MS = 1e6;
const READINGS = 5;
/** Readings before those that are counted: the sensors' supply comes on, a range is found. */
const BEFORE = 3;

const rows = [];
const tell = (what, value, unit) => rows.push([what, value, unit]);
const thousands = (number) => Math.round(number).toLocaleString('en').replaceAll(',', ' ');

// --- Starting

const board = newBoard();
const conversation = new Conversation(board);
for (const what of ['on an empty store', 'again']) {
  const { board: id } = conversation.start();
  tell(`start ${what}: reset to serial port`, (board.usb.readyNs / MS).toFixed(1), 'ms');
  tell(`start ${what}: reset to hello answered`, (board.mcu.clock.nanos / MS).toFixed(1), 'ms');
  if (what !== 'again') {
    conversation.equip(FITTED);
    save(id);
    board.powerOff();
  }
}

function save(id) {
  const before = board.nowNs();
  conversation.ask({ Keep: record(conversation, id, 0) });
  tell('saving a calibration', ((board.nowNs() - before) / MS).toFixed(1), 'ms');
}

// --- Readings

board.control('sample 7.6 480 18');
const SAMPLINGS = {
  'full reading, as fast as it goes': { Full: { interval_ms: 0 } },
  'full reading, every 10 s': { Full: { interval_ms: 10_000 } },
  'pH reading': 'Ph',
  'conductivity reading': 'Conductivity',
};
for (const [what, sampling] of Object.entries(SAMPLINGS)) {
  conversation.ask({ Sample: sampling });
  for (let count = 0; count < BEFORE; count++) conversation.wait('reading', undefined, 20_000);
  const { core, clock } = board.mcu;
  const before = { cycles: core.cycles, ns: clock.nanos, slept: board.sleptNs };
  for (let count = 0; count < READINGS; count++) conversation.wait('reading', undefined, 20_000);
  const each = (after, earlier) => (after - earlier) / READINGS;
  const ns = each(clock.nanos, before.ns);
  const awake = ns - each(board.sleptNs, before.slept);
  tell(`${what}: from one to the next`, (ns / MS).toFixed(0), 'ms');
  tell(`${what}: processor awake`, (awake / MS).toFixed(1), 'ms');
  tell(`${what}: processor awake`, ((100 * awake) / ns).toFixed(1), '%');
  tell(`${what}: cycles`, thousands(each(core.cycles, before.cycles)), '');
}

tell('stack used', thousands(stackUsed(board.mcu)), 'bytes');

// --- Evaluation alone

const models = new Models();
const result = (name) => Object.values(golden(conversation, name).Calibration.result)[0];
const raw = {
  potential_nv: -35_000_000,
  conductance: { conductance_ps: 420_000_000, range: 'Ohm10k' },
  thermometer_milliohm: 1_070_000,
};
const whole = { raw, ph: result('ph'), conductivity: result('conductivity'), temperature: null };
const CASES = {
  'evaluating pH, conductivity and specific conductance': whole,
  'evaluating pH': { ...whole, raw: { ...raw, conductance: null } },
  'evaluating conductivity and specific conductance': { ...whole, raw: { ...raw, potential_nv: null } },
};
const bare = new BareCore(new Elf(evaluateImagePath()));
bare.run();
for (const [what, one] of Object.entries(CASES)) {
  const bytes = models.take(models.exports.case_encode(models.giveText(JSON.stringify(one))));
  bare.at('CASE', bytes.length).set(bytes);
  bare.run();
  tell(what, thousands(bare.run()), 'cycles');
  bare.run();
}

const width = Math.max(...rows.map(([what]) => what.length));
for (const [what, value, unit] of rows) console.log(`${what.padEnd(width)}  ${value.padStart(10)} ${unit}`.trimEnd());
