// docs/integrate.md, as an integrator follows it: every command is run, in one shell and in order, and what the
// page says that it prints is printed.
import assert from 'node:assert/strict';
import { cpSync, mkdtempSync, readFileSync, rmSync, symlinkSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { dirname, join } from 'node:path';
import test from 'node:test';
import { freePort } from './harness/broker.mjs';
import { run } from './harness/child.mjs';
import { TOP } from './harness/schemas.mjs';
import { TOOL } from './harness/world.mjs';

const page = readFileSync(join(TOP, 'docs/integrate.md'), 'utf8');

// The page's blocks in order: what is to be run, each with the lines that it has to print.
function stepsOf(text) {
  const steps = [];
  for (const [, kind, body] of text.matchAll(/^```(\w*)\n([\s\S]*?)^```$/gm)) {
    if (kind === 'sh') steps.push({ run: body, prints: [] });
    else if (kind === 'text') steps.at(-1).prints.push(...body.trim().split('\n'));
    else assert.fail(`a block of kind "${kind}" is not run`);
  }
  return steps;
}

test('every command of the page does what the page says', async () => {
  const steps = stepsOf(page);
  assert.ok(steps.length > 8, `${steps.length} steps`);
  const dir = mkdtempSync(join(tmpdir(), 'forelock-outside-'));
  try {
    for (const part of ['config', 'docs'])
      cpSync(join(TOP, part), join(dir, part), { recursive: true });
    symlinkSync(dirname(dirname(TOOL)), join(dir, 'build'));
    const port = await freePort();
    assert.match(steps[0].run, /^PORT=1883$/m);
    steps[0].run = steps[0].run.replace(/^PORT=1883$/m, `PORT=${port}`);
    const http = await freePort();
    const script = [
      'set -e',
      `trap 'kill $(jobs -p) 2>/dev/null || true' EXIT`,
      // The one thing that is not the page's: the example's HTTP address may be taken here.
      `sed -i 's|127.0.0.1:8080|127.0.0.1:${http}|' config/forelock.json`,
      ...steps.flatMap((step, i) => [step.run, `echo "=== step ${i} done"`]),
    ].join('\n');
    const { code, out, err } = await run('bash', ['-c', script], { cwd: dir, timeout: 90000 });
    const parts = out.split(/^=== step \d+ done$/m);
    assert.equal(code, 0, `after step ${parts.length - 2}:\n${out}\n${err}`);
    steps.forEach((step, i) => {
      for (const line of step.prints)
        assert.ok(parts[i].includes(line), `step ${i} does not print "${line}":\n${parts[i]}`);
    });
  } finally {
    rmSync(dir, { recursive: true, force: true });
  }
});
