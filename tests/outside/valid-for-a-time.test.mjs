// `valid_s` of relieve, verify and tests: documents say until when, that a check ages is told, and what
// lapses while people work stops them.
import assert from 'node:assert/strict';
import { Repair } from './harness/repair.mjs';
import { scenario } from './harness/world.mjs';

const checkOf = (document, id) => document.checks.find((c) => c.check === id);
const tweak = (p) => {
  p.procedures.boot.verify[0].valid_s = 4;
  p.procedures.boot.tests[0].valid_s = 2;
};

scenario('a verify that lapses while working stops the work', { tweak }, async (w) => {
  const job = await new Repair(w).to('working');
  const document = await job.doc((d) => checkOf(d, 'no-flow').until !== null);
  const { at, until } = checkOf(document, 'no-flow');
  assert.equal(Date.parse(until) - Date.parse(at), 4000);
  const { data } = await w.seen.event('check.ageing');
  assert.deepEqual([data.job, data.check, data.until], ['J-1', 'no-flow', until]);
  // Signed in time it goes on for as long again; then nobody signs.
  const renewed = await job.sign('no-flow');
  assert.equal(renewed.phase, 'working');
  await job.phase('stopped', 'broken');
  const alarm = await job.alarm();
  assert.equal(alarm.why, 'check-void');
  assert.ok(Date.parse(alarm.raised) - Date.parse(renewed.at) >= 3900, 'stopped too early');
  await job.no('start-work', {}, ['alarm-open', 'check-void']);
  await job.proveAgain();
  await job.acknowledge();
  await job.start();
});

scenario('in open the lockout is lost, and a test lapses before the return', { tweak }, async (w) => {
  const job = await new Repair(w).to('confirmed');
  await job.phase('open', 'unconfirmed');
  assert.equal(w.seen.alarms('lockout-broken').length, 0);
  await job.only('start-work', {}, 'check-void');
  await job.sign('no-flow');
  await job.to('testing');
  await job.record('leak');
  const document = await job.doc((d) => d.tests[0].until !== null);
  assert.equal(Date.parse(document.tests[0].until) - Date.parse(document.tests[0].at), 2000);
  await job.doc((d) => d.tests[0].void);
  await job.only('return-position', {}, 'test-missing');
  await job.record('leak');
  await job.giveBack();
});
