// R5: voltage found where there should be none, before the start: everybody whose lock hangs is told, and
// nothing that was locked and signed counts until it is done anew.
import assert from 'node:assert/strict';
import { Repair } from './harness/repair.mjs';
import { scenario } from './harness/world.mjs';

scenario('240 V in open, with the locks of another on', {}, async (w) => {
  const job = await new Repair(w, { procedure: 'spout-and-boot' }).to('tagged');
  await job.ask('join-job', {}, 't-105');
  await job.tag('t-105');
  await job.signGroup('prepare', 'relieve');
  const since = w.seen.mark();
  const answer = await job.sign('no-voltage', { value: 240 });
  assert.deepEqual([answer.phase, answer.lockout], ['open', 'broken']);
  const alarm = await job.alarm((a) => a.state === 'unacknowledged');
  assert.equal(alarm.why, 'check-failed');
  await w.seen.event('lockout.broken', { since });
  for (const point of job.points)
    await w.seen.doc(`point/${point}`, (d) => d.tags.length === 2 && !d.tags.some((t) => t.counts));
  for (const person of ['t-104', 't-105'])
    await w.seen.event('crew.unprotected', { since, where: (d) => d.person === person });
  // A better reading a moment later is none, and starts nothing.
  await job.only('sign-check', { check: 'no-voltage', value: 0.2, unit: 'V' }, 'check-out-of-season');
  await job.no('start-work', {}, ['alarm-open', 'tag-missing', 'check-void']);
  // The way back.
  await job.tag();
  await job.tag('t-105');
  await job.signGroup('relieve', 'verify');
  await job.phase('open', 'confirmed');
  await job.only('start-work', {}, 'alarm-open');
  await job.acknowledge();
  await job.start();
});

scenario('who still drains raises no alarm', {}, async (w) => {
  const job = await new Repair(w, { procedure: 'spout-and-boot' }).to('tagged');
  await job.signGroup('prepare');
  await job.sign('drained', { value: -1 });
  await job.doc((d) => d.checks.some((c) => c.check === 'drained' && c.pass === false));
  assert.equal(w.seen.alarms('lockout-broken').length, 0);
  await job.sign('drained');
  await job.sign('drained', { value: -1 }); // it was drained, and is not
  await job.alarm((a) => a.why === 'check-failed');
  await job.phase('open', 'broken');
});

scenario('live under a lock hung while testing', {}, async (w) => {
  const job = await new Repair(w).to('testing');
  await job.record('leak');
  await w.hw.set('3-power', 'isolated');
  await w.point('3-power', 'isolated', 'fresh');
  await job.ask('hang-tag', { point: '3-power' });
  await w.hw.set('3-power', 'live');
  await job.alarm((a) => a.why === 'point-live');
  const document = await job.phase('restoring', 'broken');
  assert.equal(document.tests.find((t) => t.test === 'leak').void, true);
});
