// Child processes that cannot outlive the test: each is started with a parent-death signal where the
// system offers one, is killed when this process exits, and keeps its output for a failure's report.
import { spawn } from 'node:child_process';
import { existsSync } from 'node:fs';
import { PATIENCE } from './until.mjs';

const living = new Set();
process.on('exit', () => {
  for (const child of living) child.kill('SIGKILL');
});

const SETPRIV = ['/usr/bin/setpriv', '/bin/setpriv'].find((p) => existsSync(p));

// Starts `command` and returns a handle; `env` is added to ours. Signals that the shell prefix
// ignores stay ignored in the program, which is how a file size limit becomes a write error.
export function start(command, args, { cwd, env = {}, ignore = [] } = {}) {
  let argv = [command, ...args];
  if (ignore.length)
    argv = ['/bin/sh', '-c', `trap '' ${ignore.join(' ')}; exec "$@"`, 'sh', ...argv];
  if (SETPRIV) argv = [SETPRIV, '--pdeathsig', 'KILL', ...argv];
  const child = spawn(argv[0], argv.slice(1), {
    cwd,
    env: { ...process.env, ...env },
    stdio: ['ignore', 'pipe', 'pipe'],
  });
  living.add(child);
  const handle = { pid: child.pid, out: '', err: '', status: null, child };
  child.stdout.on('data', (d) => (handle.out += d));
  child.stderr.on('data', (d) => (handle.err += d));
  handle.exited = new Promise((resolve) => {
    child.on('error', (error) => {
      living.delete(child);
      handle.err += `\n${error.message}\n`;
      resolve((handle.status = { code: 127, signal: null }));
    });
    child.on('close', (code, signal) => {
      living.delete(child);
      resolve((handle.status = { code, signal }));
    });
  });
  return handle;
}

// Ends a child by `signal` and gives it `patience` ms before it is killed; resolves to its status.
export async function end(handle, signal = 'SIGTERM', patience = PATIENCE) {
  if (handle.status === null) {
    handle.child.kill(signal);
    const timer = setTimeout(() => {
      handle.overdue = true;
      handle.child.kill('SIGKILL');
    }, patience);
    await handle.exited;
    clearTimeout(timer);
  }
  return handle.status;
}

// Runs a command to its end: {code, out, err}. `code` is null if a signal ended it.
export async function run(command, args, { timeout = PATIENCE, ...options } = {}) {
  const handle = start(command, args, options);
  const timer = setTimeout(() => handle.child.kill('SIGKILL'), timeout);
  const { code, signal } = await handle.exited;
  clearTimeout(timer);
  return { code, signal, out: handle.out, err: handle.err };
}
