// A test that an authority wants announced (contract, section 2, `notice_h`): refused until so many hours after
// the signed notice, with the instant from which it may be recorded.
import assert from 'node:assert/strict';
import test from 'node:test';
import { checked, refused } from './harness/checked.mjs';
import { Repair } from './harness/repair.mjs';
import { scenario } from './harness/world.mjs';

const announce = (p) => {
  const told = { check: 'district-told', ask: 'The district was told of the test' };
  p.procedures.boot.prepare = [...(p.procedures.boot.prepare ?? []), told];
  Object.assign(p.procedures.boot.tests[0], { notice: 'district-told', notice_h: 2 });
};
const NOTICE_MS = 2 * 3600 * 1000;

scenario('it waits for its notice', { tweak: announce, clock: true }, async (w) => {
  const job = await new Repair(w).to('confirmed');
  await job.to('testing');
  const told = (await job.doc()).checks.find((c) => c.check === 'district-told');
  const from = Date.parse(told.at) + NOTICE_MS;
  // Signed again while it stands it is no younger: the hours count from the first time.
  await job.sign('district-told');
  const early = await job.no('record-test', { test: 'leak', readings: { pass: true } }, 'check-out-of-season');
  const refusal = early.find((r) => r.code === 'check-out-of-season');
  assert.equal(refusal.args.say, 'check-out-of-season.notice');
  assert.ok(Math.abs(Date.parse(refusal.args.until) - from) <= 5, refusal.args.until);
  const document = await job.doc((d) => d.missing.some((m) => m.args.say === 'test-missing.notice'));
  const missing = document.missing.find((m) => m.subject === 'leak');
  assert.equal(missing.code, 'test-missing');
  assert.match(missing.say, /may be recorded from 20/);
  // By time alone the document says that it may be recorded now.
  w.clock.set('slept', NOTICE_MS);
  await w.hw.set(job.sensors, 'live');
  for (const p of job.points) await w.point(p, 'live', 'fresh');
  await job.doc((d) => d.missing.some((m) => m.args.say === 'test-missing' && m.subject === 'leak'));
  const { at } = await job.record('leak');
  assert.ok(Date.parse(at) >= from - 5, `recorded at ${at}`);
});

test('a notice is a prepare check that outlasts it', async () => {
  assert.equal((await checked(announce)).code, 0);
  const change = (more) => (p) => {
    announce(p);
    Object.assign(p.procedures.boot.tests[0], more);
  };
  await refused(change({ notice: 'nobody' }), '/tests/0/notice', /there is no check "nobody" in "prepare"/);
  await refused(change({ notice_h: 72 }), '/tests/0/notice_h', /longer "valid_s"/);
});
