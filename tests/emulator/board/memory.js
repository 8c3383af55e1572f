// A shorter way from the core to its RAM and its program: nothing else is as frequent. What happens is
// the same.

const RAM = 0x20000000;
const PROGRAM = 0x10000000;

export function shortenWay(mcu) {
  const { core, sram, sramView, flash, flashView } = mcu;
  const [ramBytes, flashBytes] = [sram.length, flash.length];
  core.readUint32 = (address) => {
    const inRam = (address >>> 0) - RAM;
    if (inRam >= 0 && inRam + 3 < ramBytes && !(inRam & 3)) return sramView.getUint32(inRam, true);
    return mcu.readUint32(address);
  };
  core.writeUint32 = (address, value) => {
    const inRam = (address >>> 0) - RAM;
    if (inRam >= 0 && inRam + 3 < ramBytes && !(inRam & 3)) sramView.setUint32(inRam, value, true);
    else mcu.writeUint32(address, value);
  };
  core.readUint16 = (address) => {
    const inFlash = (address >>> 0) - PROGRAM;
    if (inFlash >= 0 && inFlash + 1 < flashBytes) return flashView.getUint16(inFlash, true);
    return mcu.readUint16(address);
  };
}
