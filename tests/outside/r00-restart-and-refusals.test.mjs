// Without a mark of their own: what is lost after a restart in `stopped` is told as before it, and a refusal gives
// every reason, but for those that stand alone.
import assert from 'node:assert/strict';
import { Repair } from './harness/repair.mjs';
import { scenario } from './harness/world.mjs';

scenario('lost after a restart in stopped, the alarm is raised again', { maxAge: 30 }, async (w) => {
  const job = await new Repair(w).to('working');
  await w.hw.set('3-power', 'live');
  await job.phase('stopped', 'broken');
  await w.hw.set('3-power', 'isolated');
  await w.point('3-power', 'isolated', 'fresh');
  await job.acknowledge();
  await job.alarm((a) => a.state === 'acknowledged');
  await w.killDaemon();
  w.hw.mute('3-product');
  await w.startDaemon();
  await w.hw.set('3-product', 'isolated', 'bad'); // its first word
  const again = await job.alarm((a) => a.state === 'unacknowledged');
  assert.deepEqual([again.point, again.why], ['3-product', 'point-unknown']);
});

scenario('what is malformed is told alone', {}, async (w) => {
  const job = await new Repair(w, { procedure: 'spout-and-boot' }).to('open');
  const volts = { check: 'no-voltage', value: 0.2 }; // without its unit, by no member of the crew
  await job.only('sign-check', volts, 'malformed', 't-105');
  await job.only('sign-check', { ...volts, unit: 'V', volts: 3 }, 'malformed', 't-105');
});

scenario('of an ended job there is one reason', {}, async (w) => {
  const job = await new Repair(w).to('returned');
  for (const verb of ['start-work', 'finish-work', 'begin-test'])
    await job.only(verb, {}, 'wrong-phase', 't-105');
  await job.only('hang-tag', { point: 'no-point' }, 'wrong-phase', 't-105');
});

scenario('an unknown check hides nobody who is not of the crew', {}, async (w) => {
  const job = await new Repair(w).to('open');
  await job.no('sign-check', { check: 'no-check' }, ['not-in-crew', 'unknown-check'], 't-105');
});

scenario('a finish out of its time speaks of no point', {}, async (w) => {
  const job = await new Repair(w).to('open');
  const refusals = await job.no('finish-work', {}, 'wrong-phase');
  assert.deepEqual(
    refusals.map((r) => r.code).filter((code) => /^point-|^tag-/.test(code)),
    [],
  );
});
