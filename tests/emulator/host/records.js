// Records for a store to keep: the golden pH calibration, made out for this board and told apart by
// their time.

import { readFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';

/** What is fitted in these records. */
export const FITTED = { electrode: 'E-1', cell: 'K-1', thermometer: 'T-1' };

/** A golden record of shared-proto, decoded: `ph` or `conductivity`. */
export function golden(conversation, quantity) {
  const file = new URL(`../../../shared-proto/tests/golden/record-v1-${quantity}.record`, import.meta.url);
  return conversation.decoded(readFileSync(fileURLToPath(file)));
}

/** Canonical bytes of the record number `index` for the board of this id. */
export function record(conversation, board, index) {
  const { Calibration: calibration } = golden(conversation, 'ph');
  const utc_ms = 1_767_225_600_000 + index;
  return conversation.encoded({ Calibration: { ...calibration, board, fitted: FITTED, utc_ms } });
}
