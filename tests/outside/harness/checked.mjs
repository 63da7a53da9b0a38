// What the daemon's and the tool's own check say of a configuration.
import assert from 'node:assert/strict';
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { run } from './child.mjs';
import { plan, write } from './site.mjs';
import { DAEMON, TOOL } from './world.mjs';

// Both checks of a file, which have to agree: { code, text, errors }, an error without its place.
export async function check(file) {
  const daemon = await run(DAEMON, ['-t', '-c', file]);
  const tool = await run(TOOL, ['check', '-c', file]);
  const text = daemon.out + daemon.err;
  const errors = (said) =>
    said
      .split('\n')
      .map((line) => /^\S+:\d+:\d+: (\S*: .*)$/.exec(line)?.[1])
      .filter((line) => line && !line.includes(': warning: '));
  assert.equal(daemon.code, tool.code, `${text}\n${tool.out}${tool.err}`);
  assert.deepEqual(errors(text), errors(tool.err));
  return { code: daemon.code, text, errors: errors(text) };
}

// The same of a plan after a change of it.
export async function checked(tweak) {
  const dir = mkdtempSync(join(tmpdir(), 'forelock-checked-'));
  try {
    const p = plan();
    tweak(p);
    return await check(write(dir, p));
  } finally {
    rmSync(dir, { recursive: true, force: true });
  }
}

// A plan is refused for one reason, at this pointer.
export async function refused(tweak, pointer, words) {
  const { code, errors, text } = await checked(tweak);
  assert.equal(code, 3, text);
  assert.equal(errors.length, 1, text);
  assert.ok(errors[0].startsWith(`${pointer}: `), text);
  assert.match(errors[0], words);
}
