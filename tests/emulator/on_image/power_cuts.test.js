// Whatever moment the power goes at while a calibration is saved, the board starts with the old or the
// new store, whole. RILLMARK_THOROUGH=1 looks at many more points.

import assert from 'node:assert/strict';
import { test } from 'node:test';
import { turningStore, youngStore } from '../power/scenes.js';
import { everywhere, inReason, sweep } from '../power/sweep.js';

const choose = process.env.RILLMARK_THOROUGH ? everywhere : inReason;

const SCENES = [
  { name: 'a young store', scene: youngStore, turns: false },
  { name: 'a store whose page turns', scene: turningStore, turns: true },
];

for (const { name, scene, turns } of SCENES) {
  test(`power cuts while a calibration is saved on ${name}`, (context) => {
    const { cuts, programs, erases, ...left } = sweep(scene(), choose);
    assert.equal(erases > 0, turns);
    const operations = `${programs} programs and ${erases} erases`;
    context.diagnostic(`${cuts} power cuts in ${operations}: ${left.old} left the old, ${left.new} the new record`);
  });
}
