// What the emulator has to say: counted, for tests to look at.

/** What the emulator does not model and nothing here depends on. */
const KNOWN = [
  /^USB: Unimplemented peripheral write to 0x(48|5c|7c|80|84|88|8c|98): 0x0$/, // cleared at the start
  /^IO_BANK0_BASE: Unimplemented peripheral (read|write) .*0x164/, // wake-up from dormancy
];

export class Log {
  constructor() {
    this.counts = new Map();
  }

  count(component, text) {
    const key = `${component}: ${text}`;
    if (KNOWN.some((known) => known.test(key))) return;
    this.counts.set(key, (this.counts.get(key) ?? 0) + 1);
  }

  debug() {}

  info(component, text) {
    this.count(component, text);
  }

  warn(component, text) {
    this.count(component, text);
  }

  error(component, text) {
    this.count(component, text);
  }
}
