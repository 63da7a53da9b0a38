// R4: -240 V is not "at most 1 V". In units of two signs a max alone bounds both sides of zero: in a check, in a
// range test, in what a district tightens, and in the calculator.
import assert from 'node:assert/strict';
import test from 'node:test';
import { run } from './harness/child.mjs';
import { checked, refused } from './harness/checked.mjs';
import { Repair } from './harness/repair.mjs';
import { TOOL, scenario } from './harness/world.mjs';

const verify = (p) => p.procedures['spout-and-boot'].verify[1];
const tighten = (p, check) =>
  (p.districts['north-basin'].adds = { 'spout-and-boot': { verify: [check] } });

scenario('a reading of -240 V verifies nothing', {}, async (w) => {
  const job = await new Repair(w, { procedure: 'spout-and-boot' }).to('tagged');
  await job.doc((d) => d.checks.some((c) => c.check === 'drained'));
  await w.point('3-power', 'isolated', 'fresh');
  await w.point('3-product', 'isolated', 'fresh');
  await job.signGroup('prepare', 'relieve');
  await job.sign('no-flow');
  await job.sign('no-voltage', { value: -240 });
  const { checks } = await job.doc((d) => d.checks.some((c) => c.value === -240));
  assert.equal(checks.find((c) => c.check === 'no-voltage').pass, false);
  // The other pole of what should be dead was touched: that is energy found.
  await job.alarm();
  const refusals = await job.no('start-work', {}, 'alarm-open');
  const { args } = refusals.find((r) => r.subject === 'no-voltage');
  assert.deepEqual([args.min, args.max, args.value], [-1, 1, -240]);
});

scenario(
  'a range test in kPa fails below zero as above it',
  {
    tweak: (p) => {
      p.procedures.boot.tests.push({ test: 'line', rule: 'range', unit: 'kPa', max: 5 });
    },
  },
  async (w) => {
    const job = await new Repair(w).to('testing');
    const low = await job.record('line', { value: -30 });
    assert.equal(low.result.pass, false);
    assert.deepEqual(low.result.limit, { min: -5, max: 5 });
  },
);

test('a district may only tighten: a wider min loosens', async () => {
  await refused(
    (p) => tighten(p, { check: 'no-voltage', min: -2 }),
    '/adds/spout-and-boot/verify/0/min',
    /loosens the procedure's limit of -1/,
  );
  assert.equal((await checked((p) => tighten(p, { check: 'no-voltage', max: 0.5 }))).code, 0);
  assert.equal((await checked((p) => tighten(p, { check: 'no-voltage', min: -0.5 }))).code, 0);
});

test('a max below zero needs a min', async () => {
  await refused((p) => (verify(p).max = -1), '/verify/1/max', /below it: nothing would pass/);
  const { code } = await checked((p) => Object.assign(verify(p), { min: -3, max: -1 }));
  assert.equal(code, 0);
});

test('the calculator takes the unit', async () => {
  for (const unit of ['V', 'A', 'psi', 'kPa', 'Pa', 'bar', 'mbar', 'inH2O']) {
    const { code, out } = await run(TOOL, [
      'calc',
      'range',
      'value=-240',
      'max=1',
      `unit=${unit}`,
      '--json',
    ]);
    assert.equal(code, 1, unit);
    const { limit, pass, margin } = JSON.parse(out);
    assert.deepEqual([limit, pass, margin], [{ min: -1, max: 1 }, false, -239]);
  }
  const { code } = await run(TOOL, ['calc', 'range', 'value=-240', 'max=1', 'unit=degC', '--json']);
  assert.equal(code, 0);
});
