// A small disk that a scenario can fill and empty while the daemon writes its journal on it. As root it is
// a real one in memory; else a limit on the size of the daemon's files stands in for it.
import { execFileSync } from 'node:child_process';
import { mkdirSync, openSync, closeSync, rmSync, writeSync } from 'node:fs';
import { join } from 'node:path';

const BLOCK = Buffer.alloc(4096, 1);

export class Disk {
  constructor(dir, size = '24m') {
    this.path = join(dir, 'disk');
    mkdirSync(this.path, { recursive: true });
    try {
      execFileSync('mount', ['-t', 'tmpfs', '-o', `size=${size}`, 'none', this.path], {
        stdio: 'ignore',
      });
      this.mounted = true;
    } catch {
      this.mounted = false;
    }
  }

  // Leaves no room at all, not even for a byte.
  fill(pid) {
    if (!this.mounted)
      return void execFileSync('prlimit', ['--pid', String(pid), '--fsize=1:unlimited']);
    const file = openSync(join(this.path, 'filler'), 'a');
    try {
      for (;;) writeSync(file, BLOCK);
    } catch (error) {
      if (error.code !== 'ENOSPC') throw error;
    } finally {
      closeSync(file);
    }
  }

  // Makes a real one larger.
  grow(size) {
    execFileSync('mount', ['-o', `remount,size=${size}`, this.path], { stdio: 'ignore' });
  }

  empty(pid) {
    if (this.mounted) rmSync(join(this.path, 'filler'), { force: true });
    else execFileSync('prlimit', ['--pid', String(pid), '--fsize=unlimited:unlimited']);
  }

  remove() {
    if (this.mounted) execFileSync('umount', ['-l', this.path]);
    this.mounted = false;
  }
}
