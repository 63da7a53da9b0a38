// The journal's write lock, held by somebody else.
import { spawn } from 'node:child_process';
import { join } from 'node:path';

// Holds it until the returned function is called.
export async function lockJournal(w) {
  const shell = spawn('sqlite3', [join(w.dir, 'journal/forelock.db')], {
    stdio: ['pipe', 'pipe', 'inherit'],
  });
  const locked = new Promise((done) => shell.stdout.once('data', done));
  shell.stdin.write('BEGIN IMMEDIATE;\nSELECT 1;\n');
  await locked;
  return async () => {
    const ended = new Promise((done) => shell.once('exit', done));
    shell.stdin.end('ROLLBACK;\n.quit\n');
    await ended;
  };
}
