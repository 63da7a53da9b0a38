// R31: a configuration that lacks what a standing job needs fails its check before the daemon is restarted on it,
// and checking makes no journal.
import assert from 'node:assert/strict';
import test from 'node:test';
import { existsSync, mkdtempSync, rmSync, statSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { check } from './harness/checked.mjs';
import { run } from './harness/child.mjs';
import { Repair } from './harness/repair.mjs';
import { plan, write } from './harness/site.mjs';
import { DAEMON, scenario } from './harness/world.mjs';

// The plan written anew after a change, checked, and put back.
async function without(w, tweak) {
  const p = structuredClone(w.plan);
  tweak(p);
  rmSync(join(w.dir, 'procedures'), { recursive: true });
  write(w.dir, p);
  try {
    return await check(w.file);
  } finally {
    write(w.dir, w.plan);
  }
}

async function lacks(w, tweak, words) {
  const { code, errors, text } = await without(w, tweak);
  assert.equal(code, 3, text);
  assert.ok(
    errors.some((e) => words.test(e)),
    text,
  );
}

const drop = (list, key, id) => list.splice(list.findIndex((x) => x[key] === id), 1);
const site = (p) => p.sites.juniper;

scenario('while the daemon runs', { repeats: true }, async (w) => {
  const job = await new Repair(w, { position: '4A' }).to('tagged');
  assert.equal((await without(w, () => {})).code, 0);
  await lacks(w, (p) => drop(site(p).points, 'point', '4-power'), /^\/journal: job J-1 .*stands on 4-power/);
  await lacks(
    w,
    (p) => {
      drop(site(p).positions, 'position', '4A');
      site(p).points.forEach((x) => (x.isolates = x.isolates.map((i) => (i === '4A' ? '9A' : i))));
    },
    /^\/journal: job J-1 .*stands on 4A/,
  );
  const { code, errors } = await without(w, (p) => drop(p.people, 'person', 't-104'));
  assert.equal(code, 3);
  assert.ok(errors.some((e) => /job J-1 at juniper is led by t-104/.test(e)));
  assert.ok(errors.some((e) => /job J-1 at juniper: a tag of t-104 hangs on 4-power/.test(e)));
  // What was refused is what the daemon would have refused to start on.
  await job.to('returned');
  assert.equal((await without(w, (p) => drop(p.people, 'person', 't-104'))).code, 0);
});

scenario('owed tests keep their procedure', { repeats: true }, async (w) => {
  const job = await new Repair(w, { position: '4A', procedure: 'cabinet' }).to('working');
  await job.signGroup('clear', 'leave');
  await job.ask('set-aside', { reason: 'a part is missing' });
  await job.lift();
  await job.ask('cancel-job', { reason: 'another day' }, 'k-1');
  await lacks(
    w,
    (p) => delete p.procedures.cabinet,
    /job J-1 at juniper left tests of procedure cabinet owed/,
  );
});

// A folder with a configuration whose journal was never made.
async function fresh(body) {
  const dir = mkdtempSync(join(tmpdir(), 'forelock-unmade-'));
  try {
    await body(write(dir, plan()), join(dir, 'journal'));
  } finally {
    rmSync(dir, { recursive: true, force: true });
  }
}

test('no journal is made', async () => {
  await fresh(async (file, folder) => {
    const { code, text } = await check(file);
    assert.equal(code, 0, text);
    assert.equal(existsSync(join(folder, 'forelock.db')), false);
  });
});

test('one that cannot be read is a warning', async () => {
  await fresh(async (file, folder) => {
    rmSync(folder, { recursive: true });
    writeFileSync(folder, ''); // a file where the folder was: nobody comes through
    const { code, text } = await check(file);
    assert.equal(code, 0, text);
    assert.match(text, /\/journal: warning: the journal .* cannot be read/);
  });
});

test('another instance’s journal is an error', async () => {
  await fresh(async (file, folder) => {
    writeFileSync(join(folder, 'forelock.db'), 'no journal at all, but a note somebody left here');
    const { code, text } = await check(file);
    assert.equal(code, 3, text);
    assert.match(text, /\/journal: /);
    assert.ok(statSync(join(folder, 'forelock.db')).size > 0);
    assert.equal((await run(DAEMON, ['-c', file])).code, 4);
  });
});
