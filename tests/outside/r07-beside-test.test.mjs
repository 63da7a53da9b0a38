// R7: while one side of a cabinet is under test, nothing is proved on the other.
import assert from 'node:assert/strict';
import { Repair } from './harness/repair.mjs';
import { scenario } from './harness/world.mjs';

scenario('the crew of the other side waits for the test', {}, async (w) => {
  const tested = await new Repair(w).to('lifted');
  await tested.beginTest();
  const job = await new Repair(w, { job: 'J-2', position: '3B', leader: 't-105' }).to('tagged');
  const refusals = await job.only('sign-check', { check: 'no-flow' }, 'check-out-of-season');
  assert.equal(refusals[0].args.say, 'check-out-of-season.shared');
  assert.equal(refusals[0].args.with, 'J-1');
  assert.equal((await job.doc()).lockout, 'unconfirmed');
  await job.no('start-work', {}, ['shared-testing', 'check-missing']);
  await tested.ask('rework', { reason: 'the other side goes first' });
  await job.to('working');
});
