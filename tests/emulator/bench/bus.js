// The I2C bus between the controller and the bench's chips, bit by bit in time.

const READ = 1;
/** A byte with its acknowledgement. */
const BYTE_BITS = 9;

export class Bus {
  /** `now` tells the bench's time. */
  constructor(mcu, controller, bench, now) {
    Object.assign(this, { mcu, controller, bench, now });
    this.address = null;
    this.written = [];
    this.index = 0;
    /** Somebody holds the clock line low: nothing goes on. */
    this.isHeld = false;
    this.step = null;
    this.alarm = mcu.clock.createAlarm(() => this.act());
    controller.onStart = () => this.after(1, () => this.start());
    controller.onConnect = (address, mode) => this.after(BYTE_BITS, () => this.connect(address, mode));
    controller.onWriteByte = (byte) => this.after(BYTE_BITS, () => this.write(byte));
    controller.onReadByte = () => this.after(BYTE_BITS, () => this.read());
    controller.onStop = () => this.after(1, () => this.stop());
    controller.onAbandon = () => this.abandon();
  }

  /** ns of one bit, as the controller's registers set it. */
  get bit() {
    const { sclLowPeriod, sclHighPeriod } = this.controller;
    return ((sclLowPeriod + sclHighPeriod) * 1e9) / this.mcu.clkSys;
  }

  after(bits, step) {
    this.step = step;
    if (!this.isHeld) this.alarm.schedule(bits * this.bit);
  }

  act() {
    const { step } = this;
    this.step = null;
    step?.();
  }

  /** Holds the clock line, or lets it go. */
  hold(isHeld) {
    this.isHeld = isHeld;
    if (isHeld) this.alarm.cancel();
    else if (this.step !== null) this.alarm.schedule(this.bit);
  }

  start() {
    this.flush();
    this.controller.completeStart();
  }

  connect(address, mode) {
    const answers = this.bench.answers(address);
    this.address = answers ? address : null;
    this.isReading = mode === READ;
    this.index = 0;
    this.controller.completeConnect(answers);
  }

  write(byte) {
    this.written.push(byte);
    this.controller.completeWrite(true);
  }

  read() {
    this.controller.completeRead(this.bench.read(this.address, this.index++, this.now()));
  }

  stop() {
    this.flush();
    this.controller.completeStop();
  }

  /** A write takes effect at its end. */
  flush() {
    if (this.address !== null && this.written.length > 0) {
      this.bench.write(this.address, Uint8Array.from(this.written), this.now());
    }
    this.written = [];
  }

  abandon() {
    this.alarm.cancel();
    this.step = null;
    this.written = [];
    this.address = null;
  }
}
