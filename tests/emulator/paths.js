// Where cargo left what it built. Another place can be named in the environment.

import { fileURLToPath } from 'node:url';

const built = (path) => fileURLToPath(new URL(`../../target/${path}`, import.meta.url));

/** The board's image, as it ships. */
export const imagePath = () =>
  process.env.RILLMARK_IMAGE ?? built('thumbv6m-none-eabi/image/rillmark-pico');

/** The same with the record version after ours. */
export const nextImagePath = () =>
  process.env.RILLMARK_NEXT_IMAGE ?? built('thumbv6m-none-eabi/image/rillmark-pico-next');

/** The virtual bench's models. */
export const modelsPath = () =>
  process.env.RILLMARK_MODELS ?? built('wasm32-unknown-unknown/release/rillmark_emulator_models.wasm');

/** The program that evaluates readings and nothing else. */
export const evaluateImagePath = () =>
  process.env.RILLMARK_EVALUATE_IMAGE ?? built('thumbv6m-none-eabi/image/rillmark-evaluate-image');
