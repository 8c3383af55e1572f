// Whatever moment the power goes at while a calibration is saved, the board starts with the old or the
// new store, whole. RILLMARK_THOROUGH=1 looks at many more points.

import { test } from 'node:test';
import { turningStore, youngStore } from '../power/scenes.js';
import { everywhere, inReason, sweep } from '../power/sweep.js';

const choose = process.env.RILLMARK_THOROUGH ? everywhere : inReason;

for (const [name, scene] of [['a young store', youngStore], ['a store whose page turns', turningStore]]) {
  test(`power cuts while a calibration is saved on ${name}`, (context) => {
    const { cuts, programs, erases, ...left } = sweep(scene(), choose);
    const operations = `${programs} programs and ${erases} erases`;
    context.diagnostic(`${cuts} power cuts in ${operations}: ${left.old} left the old, ${left.new} the new record`);
  });
}
