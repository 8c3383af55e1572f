// State machines run in the host's time, without their clock divider and delays, and a pin that an
// instruction from outside sets is not told to anybody. Here every instruction happens at its moment
// of emulated time (RP2040 data sheet, 3.5.5).

export function repair(mcu) {
  for (const pio of mcu.pio) {
    const clocks = pio.machines.map((machine) => new MachineClock(mcu, pio, machine));
    pio.run = () => {};
    const write = pio.writeUint32.bind(pio);
    pio.writeUint32 = (offset, value) => {
      write(offset, value);
      pio.checkChangedPins();
      for (const clock of clocks) clock.update();
    };
  }
}

/** Carries out the instructions of one state machine when they are due. */
class MachineClock {
  constructor(mcu, pio, machine) {
    Object.assign(this, { mcu, pio, machine, runs: false, due: 0 });
    this.alarm = mcu.clock.createAlarm(() => this.go());
    const checkWait = machine.checkWait.bind(machine);
    machine.checkWait = () => {
      checkWait();
      if (this.runs && this.stalled && !machine.waiting) this.resume();
    };
    // It restarts with the next instruction anyway: nothing here keeps a phase of its own.
    machine.clkDivRestart = () => {};
    this.stalled = false;
  }

  /** ns of one cycle. */
  get cycle() {
    const { clockDivInt, clockDivFrac } = this.machine;
    return ((clockDivInt || 65536) + clockDivFrac / 256) * (1e9 / this.mcu.clkSys);
  }

  update() {
    if (this.machine.enabled === this.runs) return;
    this.runs = this.machine.enabled;
    if (this.runs) this.resume();
    else this.alarm.cancel();
  }

  resume() {
    this.stalled = false;
    this.due = this.mcu.clock.nanos + this.cycle;
    this.alarm.schedule(this.cycle);
  }

  go() {
    const { machine } = this;
    const before = machine.cycles;
    machine.step();
    this.pio.checkChangedPins();
    this.stalled = machine.waiting;
    if (this.stalled || !this.runs) return;
    // From due time to due time, so that fractions of a nanosecond do not add up.
    this.due += (machine.cycles - before) * this.cycle;
    this.alarm.schedule(Math.max(0, this.due - this.mcu.clock.nanos));
  }
}
