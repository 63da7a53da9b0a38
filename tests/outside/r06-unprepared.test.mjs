// R6: nothing is proved in the cabinet before the area is prepared, nor by who no longer holds the
// credential.
import assert from 'node:assert/strict';
import { Repair } from './harness/repair.mjs';
import { scenario } from './harness/world.mjs';

scenario('no barricade: relieve and verify wait for it', {}, async (w) => {
  const job = await new Repair(w, { procedure: 'spout-and-boot' }).to('tagged');
  const drained = { check: 'drained', value: 1.5, unit: 'L' };
  const refusals = await job.only('sign-check', drained, 'check-out-of-season');
  assert.deepEqual(
    refusals.map((r) => [r.subject, r.args.say, r.args.check]),
    [
      ['drained', 'check-out-of-season.prepare', 'barricade'],
      ['drained', 'check-out-of-season.prepare', 'site-told'],
    ],
  );
  await job.only('sign-check', { check: 'no-flow' }, 'check-out-of-season');
  await job.sign('barricade');
  await job.only('sign-check', drained, 'check-out-of-season');
  await job.sign('site-told');
  await job.signGroup('relieve', 'verify');
  await job.phase('open', 'confirmed');
});

scenario('a credential that ended signs nothing', {}, async (w) => {
  const job = await new Repair(w, { procedure: 'spout-and-boot' }).to('tagged');
  await job.ask('join-job', {}, 't-106');
  await job.tag('t-106');
  await job.signGroup('prepare');
  const check = { check: 'no-voltage', value: 0.2, unit: 'V' };
  await job.only('sign-check', check, 'credential-missing', 't-106');
  await job.only('sign-check', { check: 'barricade' }, 'credential-missing', 't-106');
  await job.signGroup('relieve', 'verify');
  await job.phase('open', 'confirmed');
});

scenario('nor does a leader whose credential ended', {}, async (w) => {
  const job = await new Repair(w, { procedure: 'spout-and-boot', leader: 't-106' }).to('tagged');
  await job.only('sign-check', { check: 'barricade' }, 'credential-expired');
  await job.no('sign-check', { check: 'no-flow' }, ['credential-expired', 'check-out-of-season']);
});
