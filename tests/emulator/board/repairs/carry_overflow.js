// ADCS and SBCS add the carry to the operand before they work out the overflow flag, so 0x7fffffff
// with a carry counts as negative: 0 < i64::MAX came out false. Here the flag is that of the three
// numbers (ARMv6-M, AddWithCarry).

const ADCS = 0b0100000101;
const SBCS = 0b0100000110;
const WRAPPED = 0x80000000;
const LARGEST = 0x7fffffff;

export function repair(mcu) {
  const { core } = mcu;
  const add = core.addUpdateFlags;
  const subtract = core.substractUpdateFlags;
  /** The instruction that is being carried out. */
  const opcode = () => core.readUint16((core.PC - 2) & ~1);

  core.addUpdateFlags = function (left, right) {
    const sum = add.call(this, left, right);
    if (right === WRAPPED) {
      const instruction = opcode();
      const folded = instruction >> 6 === ADCS && this.registers[instruction & 7] === LARGEST;
      // Two that are not negative make a negative one.
      if (folded) this.V = left >>> 31 === 0 && sum >>> 31 === 1;
    }
    return sum;
  };

  core.substractUpdateFlags = function (left, right) {
    const difference = subtract.call(this, left, right);
    if (right === WRAPPED) {
      const instruction = opcode();
      const folded = instruction >> 6 === SBCS && this.registers[(instruction >> 3) & 7] === LARGEST;
      // A negative one less one that is not makes one that is not.
      if (folded) this.V = left >>> 31 === 1 && difference >>> 31 === 0;
    }
    return difference;
  };
}
