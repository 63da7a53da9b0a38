// R32: who found that something is wrong is never told to hang a lock, name a meter or come back; and the
// answer says what was signed.
import assert from 'node:assert/strict';
import { Repair } from './harness/repair.mjs';
import { scenario } from './harness/world.mjs';

const tweak = (p) => {
  const { verify } = p.procedures['spout-and-boot'];
  verify.find((c) => c.check === 'no-voltage').instrument = 'torque-wrench';
};

scenario('out of season, without lock or meter, by whoever saw it', { tweak }, async (w) => {
  const job = await new Repair(w, { procedure: 'spout-and-boot' }).to('open');
  const volts = { check: 'no-voltage', value: 240, unit: 'V' };
  for (const person of ['t-104', 't-106', 't-105', 'm-1', 's-1']) { // t-105 is of no crew here
    if (person === 't-106') await job.ask('join-job', {}, person); // a helper
    const since = w.seen.mark();
    const answer = await job.ask('sign-check', volts, person);
    assert.deepEqual(answer.result, { pass: false, value: 240, unit: 'V', min: -1, max: 1 });
    const { data } = await w.seen.event('check.signed', { since });
    const codes = data.refusals.map((r) => r.code);
    assert.ok(codes.includes('check-out-of-season') && codes.includes('instrument-missing'));
    assert.equal(codes.includes('not-allowed'), person === 'm-1' || person === 's-1');
    assert.equal(codes.includes('not-in-crew'), person === 't-105');
  }
  // One that passes is held to all of it.
  await job.no('sign-check', { ...volts, value: 0 }, ['check-out-of-season', 'instrument-missing']);
});

scenario('"pass": false of a check without a reading', {}, async (w) => {
  const job = await new Repair(w).to('working');
  const answer = await job.ask('sign-check', { check: 'no-flow', pass: false }, 's-1');
  assert.deepEqual(answer.result, { pass: false, value: null, unit: null, min: null, max: null });
  await job.phase('stopped', 'broken');
  await job.alarm((a) => a.why === 'check-failed');
  await job.tag();
  assert.equal((await job.sign('no-flow')).result.pass, true);
  await job.only('sign-check', { check: 'no-flow', pass: 'no' }, 'malformed');
});
