// The daemon with the shim before it: what is to fail, and what was counted.
import { closeSync, openSync, readSync, writeFileSync, writeSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { start } from '../outside/harness/child.mjs';
import { DAEMON } from '../outside/harness/world.mjs';

export const SHIM =
  process.env.FORELOCK_FAULT_SHIM ??
  join(
    dirname(fileURLToPath(import.meta.url)),
    '../../build/tests/faults/libforelock_fault_shim.so',
  );

// The words of the shim's file, in its order.
const WORDS = ['memory', 'write', 'sync', 'connect', 'failed'];
const COUNTER = {
  memory: 'memory',
  'disk-full': 'write',
  'disk-error': 'write',
  sync: 'sync',
  refused: 'connect',
  unreachable: 'connect',
};
export const KINDS = Object.keys(COUNTER);

export class Words {
  constructor(dir) {
    this.path = join(dir, 'fault.words');
    this.clear();
  }

  clear() {
    writeFileSync(this.path, Buffer.alloc(8 * WORDS.length));
  }

  #with(flags, use) {
    const file = openSync(this.path, flags);
    try {
      return use(file);
    } finally {
      closeSync(file);
    }
  }

  get(word) {
    const bytes = Buffer.alloc(8);
    this.#with('r', (file) => readSync(file, bytes, 0, 8, 8 * WORDS.indexOf(word)));
    return Number(bytes.readBigInt64LE());
  }

  set(word, value) {
    const bytes = Buffer.alloc(8);
    bytes.writeBigInt64LE(BigInt(value));
    this.#with('r+', (file) => writeSync(file, bytes, 0, 8, 8 * WORDS.indexOf(word)));
  }

  // How many calls of a kind there were.
  count(kind) {
    return this.get(COUNTER[kind]);
  }
}

// Starts the daemon of a world under the shim. `fault` is `KIND:N:once|on`, or nothing.
export function startShimmed(w, words, fault = '') {
  return start(DAEMON, ['-c', w.file], {
    cwd: w.dir,
    env: {
      LD_PRELOAD: SHIM,
      FORELOCK_FAULT: fault,
      FORELOCK_FAULT_FILE: words.path,
      FORELOCK_FAULT_PROGRAM: 'forelockd',
    },
  });
}
