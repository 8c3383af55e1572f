// The computer at the other end of the USB cable: finds the device out, as far as a serial port
// needs it, and carries bytes both ways. What it has nothing for, and what nobody reads, is answered
// "not now", which costs the device nothing.

import { extractText, readConfiguration, readDevice } from './usb_descriptors.js';

const MS = 1e6;
/** From one request to the next: the status stage of the one before has to pass. */
const BETWEEN_NS = 0.2 * MS;
const PACKET = 64;

const TO_DEVICE = 0x00;
const FROM_DEVICE = 0x80;
const CLASS_OF_INTERFACE = 0x21;
const GET_DESCRIPTOR = 6;
const SET_ADDRESS = 5;
const SET_CONFIGURATION = 9;
const SET_CONTROL_LINE_STATE = 0x22;
const DEVICE = 1;
const CONFIGURATION = 2;
const STRING = 3;
const ENGLISH = 0x0409;

export class UsbHost {
  /** `onBytes` is called with what the device sends once it is a serial port. */
  constructor(mcu, onBytes) {
    Object.assign(this, { mcu, usb: mcu.usbCtrl, onBytes });
    /** Moment at which the device was a serial port that somebody listens to; null before. */
    this.readyNs = null;
    this.identity = {};
    /** Numbers of the endpoints that carry bytes; null before they are known. */
    this.data = null;
    this.toDevice = [];
    /** Bytes that the device has room for, or null. */
    this.room = null;
    this.isReading = true;
    this.request = null;
    this.conversation = this.enumerate();
    this.pause = mcu.clock.createAlarm(() => this.say());
    this.usb.onUSBEnabled = () => this.usb.resetDevice();
    this.usb.onResetReceived = () => this.goOn();
    this.usb.onEndpointWrite = (endpoint, bytes) => this.received(endpoint, bytes);
    this.usb.onEndpointRead = (endpoint, size) => this.hasRoom(endpoint, size);
    this.usb.isHeld = (endpoint) => !this.isReading && endpoint === this.data?.in;
  }

  /** Bytes for the device; they wait until it takes them. */
  send(bytes) {
    this.toDevice.push(...bytes);
    this.pump();
  }

  /** Stops fetching what the device has, as a program that hangs. */
  stopReading() {
    this.isReading = false;
  }

  /** Goes on fetching. */
  goOnReading() {
    this.isReading = true;
    this.usb.release();
  }

  *enumerate() {
    yield { type: TO_DEVICE, request: SET_ADDRESS, value: 1 };
    const device = readDevice(yield this.descriptor(DEVICE, 0, 18));
    const text = (index) => this.descriptor(STRING, index, 255, ENGLISH);
    const manufacturer = extractText(yield text(device.manufacturer));
    const product = extractText(yield text(device.product));
    const serial = extractText(yield text(device.serial));
    this.identity = { vendor: device.vendorId, product: device.productId, names: { manufacturer, product, serial } };
    const head = yield this.descriptor(CONFIGURATION, 0, 9);
    const all = yield this.descriptor(CONFIGURATION, 0, head[2] | (head[3] << 8));
    const { data, control } = readConfiguration(all);
    this.data = data; // the device makes room as soon as it is configured
    yield { type: TO_DEVICE, request: SET_CONFIGURATION, value: 1 };
    // Data terminal ready and request to send: somebody listens.
    yield { type: CLASS_OF_INTERFACE, request: SET_CONTROL_LINE_STATE, value: 3, index: control };
    this.readyNs = this.mcu.clock.nanos;
    this.pump();
  }

  descriptor(kind, index, length, language = 0) {
    return { type: FROM_DEVICE, request: GET_DESCRIPTOR, value: (kind << 8) | index, index: language, length };
  }

  /** The last request is done with this answer: on to the next. */
  goOn(answer) {
    const { value, done } = this.conversation.next(answer);
    this.request = done ? null : { ...value, answer: [] };
    if (!done) this.pause.schedule(BETWEEN_NS);
  }

  say() {
    const { type, request, value, index = 0, length = 0 } = this.request;
    const bytes = [type, request, value & 0xff, value >> 8, index & 0xff, index >> 8, length & 0xff, length >> 8];
    this.usb.sendSetupPacket(Uint8Array.from(bytes));
  }

  received(endpoint, bytes) {
    if (endpoint === this.data?.in) this.onBytes(bytes);
    if (endpoint !== 0 || this.request === null) return;
    const { answer, length = 0 } = this.request;
    answer.push(...bytes);
    if (bytes.length < PACKET || answer.length >= length) this.goOn(answer);
  }

  hasRoom(endpoint, size) {
    if (endpoint === this.data?.out) {
      this.room = size;
      this.pump();
    } else if (endpoint === 0) {
      // The status stage of a request with an answer.
      this.usb.endpointReadDone(0, new Uint8Array(0));
    }
  }

  pump() {
    if (this.room === null || this.toDevice.length === 0 || this.readyNs === null) return;
    const bytes = this.toDevice.splice(0, Math.min(this.room, PACKET));
    this.room = null;
    this.usb.endpointReadDone(this.data.out, Uint8Array.from(bytes));
  }
}
