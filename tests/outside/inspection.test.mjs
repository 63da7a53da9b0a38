// An inspection looks and tests: open, testing, returned. Nothing is isolated or worked on, and a test that fails
// leaves the position untested.
import assert from 'node:assert/strict';
import test from 'node:test';
import { checked, refused } from './harness/checked.mjs';
import { Repair } from './harness/repair.mjs';
import { scenario } from './harness/world.mjs';

const monthly = (more = {}) => ({
  procedure: 'monthly',
  title: 'Hanging hardware, monthly',
  kind: 'inspection',
  credentials: [['vapor-b']],
  prepare: [{ check: 'cones', ask: 'Cones out' }],
  tests: [
    { test: 'hose', rule: 'pass-fail' },
    { test: 'nozzle', rule: 'pass-fail' },
  ],
  finish: [{ check: 'away', ask: 'Cones away' }],
  ...more,
});
const INSPECTING = { tweak: (p) => (p.procedures.monthly = monthly()) };

async function begun(w, job = 'J-1') {
  const look = await new Repair(w, { job, procedure: 'monthly' }).to('open');
  await look.no('begin-test', {}, 'check-missing');
  await look.sign('cones');
  await look.ask('begin-test');
  await look.phase('testing');
  return look;
}

scenario('from open to testing to returned', INSPECTING, async (w) => {
  const look = await begun(w);
  await w.position('3A', (d) => d.service === 'out-of-service' && d.cause === 'job');
  await look.no('start-work', {}, 'wrong-phase');
  await look.pass();
  await look.ask('return-position');
  await look.phase('returned');
  await w.position('3A', (d) => d.service === 'in-service');
  const types = (await w.journal()).map((f) => f.type);
  assert.ok(!types.includes('work.started'));
});

scenario('a test that fails leaves the position untested', INSPECTING, async (w) => {
  const look = await begun(w);
  await look.record('hose', { pass: false });
  await look.ask('rework', { reason: 'cracked' });
  await look.ask('cancel-job', { reason: 'a repair is opened' }, 'k-1');
  await w.position('3A', (d) => d.service === 'out-of-service' && d.cause === 'untested');
  // The repair that follows passes the tests that are owed, too.
  const repair = await new Repair(w, { job: 'J-2' }).to('testing');
  await repair.record('leak');
  await repair.no('return-position', {}, 'test-missing');
  await repair.record('hose');
  await repair.record('nozzle');
  await repair.ask('return-position');
  await w.position('3A', (d) => d.service === 'in-service');
});

test('it has only prepare, tests and finish', async () => {
  await refused(
    (p) => (p.procedures.monthly = monthly({ isolate: ['product'] })),
    '/isolate',
    /an inspection has only "prepare", "tests" and "finish"/,
  );
  assert.equal((await checked((p) => (p.procedures.monthly = monthly()))).code, 0);
  const { code } = await checked((p) => (p.procedures.monthly = monthly({ kind: 'look' })));
  assert.equal(code, 3);
});
