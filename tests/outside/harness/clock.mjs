// The clocks of a daemon, set from outside: by how much its wall clock is ahead, and how long its machine slept,
// which every clock of it counts.
import { openSync, closeSync, writeFileSync, writeSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';

const LIBRARY =
  process.env.FORELOCK_CLOCK_LIBRARY ??
  join(
    dirname(fileURLToPath(import.meta.url)),
    '../../../build/tests/outside/libforelock_clock.so',
  );
const WORDS = ['ahead', 'slept'];

export class Clock {
  constructor(dir) {
    this.path = join(dir, 'clock.words');
    this.ms = { ahead: 0, slept: 0 };
    writeFileSync(this.path, Buffer.alloc(8 * WORDS.length));
  }

  // What starts the daemon with.
  get env() {
    return { LD_PRELOAD: LIBRARY, FORELOCK_CLOCK_FILE: this.path };
  }

  set(word, ms) {
    const bytes = Buffer.alloc(8);
    bytes.writeBigInt64LE(BigInt(ms));
    const file = openSync(this.path, 'r+');
    try {
      writeSync(file, bytes, 0, 8, 8 * WORDS.indexOf(word));
    } finally {
      closeSync(file);
    }
    this.ms[word] = ms;
  }

  // The daemon's wall clock.
  now() {
    return Date.now() + this.ms.ahead + this.ms.slept;
  }
}
