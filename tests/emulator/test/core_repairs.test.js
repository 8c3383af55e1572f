// The processor: what the package gets wrong, and that the repairs mend it.

import assert from 'node:assert/strict';
import { test } from 'node:test';
import { Fault } from '../board/faults.js';
import { repair as carryOverflow } from '../board/repairs/carry_overflow.js';
import { repair as hardFault } from '../board/repairs/hard_fault.js';
import { repair as memoryProtection } from '../board/repairs/memory_protection.js';
import { repair as sendEvent } from '../board/repairs/send_event.js';
import { repair as systemReset } from '../board/repairs/system_reset.js';
import { BKPT, NOP, RAM, SEV, UDF, WFE, chip, step } from './chip.js';

test('an event that the program sends wakes its next wait', () => {
  const asleep = (repair) => {
    const mcu = chip(SEV, WFE, NOP);
    repair(mcu);
    step(mcu, 2);
    return mcu.core.waiting;
  };
  assert.equal(asleep(() => {}), true, 'the package itself misses it: the repair can go');
  assert.equal(asleep(sendEvent), false);
});

/** Result and flags of left + right + carry in 32 bits (ARMv6-M, AddWithCarry). */
function addWithCarry(left, right, carry) {
  const unsigned = BigInt(left) + BigInt(right) + BigInt(carry);
  const signed = BigInt(left | 0) + BigInt(right | 0) + BigInt(carry);
  const result = Number(unsigned & 0xffffffffn);
  return { result, N: result >>> 31 === 1, Z: result === 0, C: unsigned !== BigInt(result), V: signed !== BigInt(result | 0) };
}

const OPERANDS = [0, 1, 2, 0x7ffffffe, 0x7fffffff, 0x80000000, 0x80000001, 0xfffffffe, 0xffffffff];
const ADCS_R0_R1 = 0x4148;
const SBCS_R0_R1 = 0x4188;
const ADDS_R0_R0_R1 = 0x1840;
const SUBS_R0_R0_R1 = 0x1a40;
const CMP_R0_R1 = 0x4288;
const CASES = [
  { opcode: ADCS_R0_R1, expected: (a, b, carry) => addWithCarry(a, b, carry) },
  { opcode: SBCS_R0_R1, expected: (a, b, carry) => addWithCarry(a, ~b >>> 0, carry) },
  { opcode: ADDS_R0_R0_R1, expected: (a, b) => addWithCarry(a, b, 0) },
  { opcode: SUBS_R0_R0_R1, expected: (a, b) => addWithCarry(a, ~b >>> 0, 1) },
  { opcode: CMP_R0_R1, expected: (a, b) => ({ ...addWithCarry(a, ~b >>> 0, 1), result: a }) },
];

/** How many of all combinations come out wrong. */
function wrong(repair) {
  const mcu = chip();
  repair(mcu);
  const { core } = mcu;
  let count = 0;
  for (const { opcode, expected } of CASES) {
    mcu.writeUint16(RAM, opcode);
    for (const left of OPERANDS) {
      for (const right of OPERANDS) {
        for (const carry of [0, 1]) {
          core.PC = RAM;
          [core.registers[0], core.registers[1], core.C] = [left, right, carry === 1];
          core.executeInstruction();
          const { N, Z, C, V } = core;
          const found = { result: core.registers[0], N, Z, C, V };
          if (JSON.stringify(found) !== JSON.stringify(expected(left, right, carry))) count++;
        }
      }
    }
  }
  return count;
}

test('flags of additions and subtractions with carry are right for every pair of extremes', () => {
  assert.notEqual(wrong(() => {}), 0, 'the package itself is right: the repair can go');
  assert.equal(wrong(carryOverflow), 0);
});

/** A chip whose vector of HardFault leads to a loop at RAM + 0x100. */
function withHandler(...halfwords) {
  const mcu = chip(...halfwords);
  mcu.core.VTOR = RAM + 0x200;
  mcu.writeUint32(RAM + 0x200 + 4 * 3, (RAM + 0x100) | 1);
  const faults = hardFault(mcu, (number) => number === 7);
  return { mcu, faults };
}

test('what a core cannot do leads into its fault handler, and there a second time locks it up', () => {
  const LDR_R0_R1 = 0x6808;
  for (const [opcode, r1] of [[UDF, 0], [BKPT | 1, 0], [LDR_R0_R1, 0x70000000], [LDR_R0_R1, RAM + 2]]) {
    const { mcu, faults } = withHandler(opcode);
    mcu.core.registers[1] = r1;
    step(mcu, 1);
    assert.notEqual(faults.cause, null, opcode.toString(16));
    faults.enter();
    assert.equal(mcu.core.PC & ~1, RAM + 0x100);
    assert.equal(mcu.core.IPSR, 3);
    assert.equal(mcu.readUint32(mcu.core.SP + 0x18), RAM, 'where it happened is on the stack');
    faults.mark('again');
    assert.throws(() => faults.enter(), Fault);
  }
});

test('a breakpoint of the ROM is served and is no fault', () => {
  const { mcu, faults } = withHandler(BKPT | 7);
  step(mcu, 1);
  assert.equal(faults.cause, null);
});

test('a reset that the program asks for is told, with the right key alone', () => {
  const mcu = chip();
  let resets = 0;
  systemReset(mcu, () => resets++);
  mcu.writeUint32(0xe000ed0c, 0x00000004);
  assert.equal(resets, 0);
  mcu.writeUint32(0xe000ed0c, 0x05fa0004);
  assert.equal(resets, 1);
});

test('regions of memory protection can be set up and read back', () => {
  const mcu = chip();
  memoryProtection(mcu);
  assert.equal(mcu.readUint32(0xe000ed90) >>> 8, 8);
  mcu.writeUint32(0xe000ed9c, 0x20010000);
  assert.equal(mcu.readUint32(0xe000ed9c), 0x20010000);
  assert.equal(mcu.logger.counts.size, 0);
});
