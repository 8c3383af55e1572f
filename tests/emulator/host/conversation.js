// The host's end of the conversation with an emulated board, for tests that need no other host.

import { Models } from '../bench/models.js';
import { Fault } from '../board/faults.js';

/** How long something is waited for at most: a full reading of an electrode that has just been moved takes 15 s. */
const PATIENCE_MS = 20_000;

export class Conversation {
  constructor(board) {
    this.board = board;
    this.models = new Models();
    this.heard = [];
    this.nextId = 1;
    board.onBytes = (bytes) => this.listen(bytes);
  }

  listen(bytes) {
    const { models } = this;
    this.heard.push(...models.takeJson(models.exports.wire_heard(models.give(bytes))));
  }

  /** Forgets a frame that a power cut or a reset has broken off, and what was heard. */
  cut() {
    this.models.exports.wire_cut();
    this.heard = [];
  }

  frame(length) {
    return this.models.take(length);
  }

  /** Takes the first thing heard that has this key. */
  take(key, fits = () => true) {
    const index = this.heard.findIndex((said) => key in said && fits(said[key]));
    return index < 0 ? null : this.heard.splice(index, 1)[0][key];
  }

  /** Lets time pass until something with this key is heard. */
  wait(key, fits, ms = PATIENCE_MS) {
    let found = null;
    const isThere = () => (found = this.take(key, fits)) !== null;
    if (!isThere() && !this.board.run(ms, isThere)) throw new Fault(`no ${key} within ${ms} ms`);
    return found;
  }

  /** Switches the board on and says hello when it is a serial port; what it answers. */
  start() {
    this.cut();
    this.board.powerOn();
    return this.hello();
  }

  hello() {
    if (!this.board.run(PATIENCE_MS, () => this.board.usb.readyNs !== null)) throw new Fault('no serial port');
    this.board.send(this.frame(this.models.exports.wire_hello()));
    return this.wait('hello');
  }

  /** Says a command without waiting; its number. */
  say(order) {
    const { models } = this;
    const id = this.nextId++;
    const length = models.exports.wire_command(id, models.giveText(JSON.stringify(order)));
    this.board.send(this.frame(length));
    return id;
  }

  /** Says a command and waits for what was done; a refusal is a fault. */
  ask(order, ms) {
    const outcome = this.outcome(order, ms);
    if (!('Ok' in outcome)) throw new Fault(`refused: ${JSON.stringify(outcome.Err)}`);
    return outcome.Ok;
  }

  /** Says a command that is refused; why it is. */
  refusal(order, ms) {
    const outcome = this.outcome(order, ms);
    if (!('Err' in outcome)) throw new Fault(`not refused: ${JSON.stringify(outcome.Ok)}`);
    return outcome.Err;
  }

  outcome(order, ms) {
    const id = this.say(order);
    return this.wait('answer', (answer) => answer.id === id, ms).outcome;
  }

  equip(fitted) {
    return this.ask({ Equip: { fitted, utc_ms: 1_767_225_600_000 } });
  }

  /** All that the store holds: equipment and records with their bytes. */
  store() {
    const equipment = this.ask('TellEquipment').Equipment;
    const records = this.ask('ListRecords').Records.map(({ id, in_force }) => {
      const bytes = this.ask({ TellRecord: id }).Record;
      return { id: hex(id), in_force, bytes: hex(bytes) };
    });
    return { equipment, records };
  }

  /** A record in JSON as its canonical bytes. */
  encoded(record) {
    const { models } = this;
    return [...models.take(models.exports.record_encode(models.giveText(JSON.stringify(record))))];
  }

  decoded(bytes) {
    const { models } = this;
    return models.takeJson(models.exports.record_decode(models.give(bytes)));
  }
}

export const hex = (bytes) => Buffer.from(bytes).toString('hex');
