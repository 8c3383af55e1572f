// Evaluates cases on the emulated processor: reads them from standard input, writes what comes of
// each to standard output, both with their length in two bytes before them, and tells on standard
// error how many cycles the evaluations took.

import { readFileSync, writeSync } from 'node:fs';
import { BareCore } from './board/bare_core.js';
import { Elf } from './board/elf.js';
import { evaluateImagePath } from './paths.js';

const OUTCOME_BYTES = 128;

const input = readFileSync(0);
const core = new BareCore(new Elf(evaluateImagePath()));
core.run();
const cycles = [];
const outcomes = [];
for (let at = 0; at < input.length; ) {
  const length = input.readUInt16LE(at);
  core.at('CASE', length).set(input.subarray(at + 2, at + 2 + length));
  at += 2 + length;
  core.run();
  cycles.push(core.run());
  core.run();
  const head = Buffer.alloc(2);
  head.writeUInt16LE(OUTCOME_BYTES);
  outcomes.push(head, Buffer.from(core.at('OUTCOME', OUTCOME_BYTES)));
}
writeAll(Buffer.concat(outcomes));
cycles.sort((a, b) => a - b);
const at = (part) => cycles[Math.floor((cycles.length - 1) * part)];
console.error(JSON.stringify({ cases: cycles.length, cycles: { least: at(0), median: at(0.5), most: at(1) } }));

function writeAll(bytes) {
  for (let from = 0; from < bytes.length; ) from += writeSync(1, bytes, from);
}
