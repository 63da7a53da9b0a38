// R2: a gas reading over its limit, a check of `prepare`, stops whoever may be hurt by it.
import assert from 'node:assert/strict';
import { Repair } from './harness/repair.mjs';
import { scenario } from './harness/world.mjs';

const tweak = (p) => {
  p.procedures.boot.prepare = [
    { check: 'gas', ask: 'Gas at the cabinet, % of the lower explosive limit', unit: '%LEL', max: 5 },
  ];
};
const gas = (job, value) => job.sign('gas', { value, unit: '%LEL' });

class Sniffed extends Repair {
  async signGroup(...groups) {
    if (groups.includes('prepare')) await gas(this, 0);
    await super.signGroup(...groups.filter((g) => g !== 'prepare'));
  }
}

scenario('60 % while working', { tweak }, async (w) => {
  const job = await new Sniffed(w).to('working');
  const answer = await gas(job, 60);
  assert.deepEqual([answer.phase, answer.lockout], ['stopped', 'broken']);
  assert.deepEqual(answer.result, { pass: false, value: 60, unit: '%LEL', min: null, max: 5 });
  const alarm = await job.alarm((a) => a.state === 'unacknowledged');
  assert.equal(alarm.why, 'check-failed');
  await job.no('start-work', {}, ['alarm-open', 'check-failed']);
  // The way back: the air is good, and everything is proved anew.
  await gas(job, 0);
  await job.proveAgain();
  await job.acknowledge();
  await job.start();
});

scenario('70 % before the test, and under it', { tweak }, async (w) => {
  const job = await new Sniffed(w).to('live');
  await gas(job, 70); // no lock hangs any more: nobody has their hands in
  assert.equal(w.seen.alarms('lockout-broken').length, 0);
  await job.only('begin-test', {}, 'check-failed');
  await gas(job, 2);
  await job.to('testing');
  await job.record('leak');
  await gas(job, 60);
  const document = await job.phase('restoring', 'broken');
  assert.equal(document.tests.find((t) => t.test === 'leak').void, true);
  await job.alarm((a) => a.why === 'check-failed');
  await job.no('begin-test', {}, ['alarm-open', 'check-failed']);
  await gas(job, 0);
  await job.acknowledge();
  await job.beginTest();
  await job.pass();
  await job.giveBack();
});
