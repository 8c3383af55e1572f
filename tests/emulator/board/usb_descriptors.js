// What a USB device says of itself (USB 2.0, 9.6; CDC 1.2, 5.2).

const INTERFACE = 4;
const ENDPOINT = 5;
const CDC_CONTROL = 2;
const CDC_DATA = 10;
const BULK = 2;

const word = (bytes, at) => bytes[at] | (bytes[at + 1] << 8);

/** Ids and the indices of the strings. */
export function readDevice(bytes) {
  const [manufacturer, product, serial] = bytes.slice(14, 17);
  return { vendorId: word(bytes, 8), productId: word(bytes, 10), manufacturer, product, serial };
}

/** A string descriptor's text. */
export function extractText(bytes) {
  const units = [];
  for (let at = 2; at + 1 < bytes[0]; at += 2) units.push(word(bytes, at));
  return String.fromCharCode(...units);
}

/** The serial port in a configuration: number of its control interface and its bulk endpoints. */
export function readConfiguration(bytes) {
  const found = { control: null, data: { in: null, out: null } };
  let current = null;
  for (let at = 0; at < bytes.length && bytes[at] > 0; at += bytes[at]) {
    const kind = bytes[at + 1];
    if (kind === INTERFACE) {
      current = bytes[at + 5];
      if (current === CDC_CONTROL) found.control = bytes[at + 2];
    }
    if (kind === ENDPOINT && current === CDC_DATA && (bytes[at + 3] & 3) === BULK) {
      found.data[bytes[at + 2] & 0x80 ? 'in' : 'out'] = bytes[at + 2] & 0x0f;
    }
  }
  if (found.control === null || found.data.in === null || found.data.out === null) {
    throw new Error('the device is no serial port');
  }
  return found;
}
