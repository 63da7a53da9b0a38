// R36: live said again of a point that is proved live changes nothing; what came late proves nothing.
import assert from 'node:assert/strict';
import { Repair } from './harness/repair.mjs';
import { scenario } from './harness/world.mjs';

const word = (w, person, more) =>
  w.ok(person, 'witness-point', { point: '4-product', state: 'live', ...more });

scenario('an outsider does not un-prove what the crew proved', { maxAge: 30 }, async (w) => {
  const job = await new Repair(w, { position: '4A' }).to('passed');
  const since = w.seen.mark();
  await word(w, 'v-1');
  await job.to('returned');
  assert.equal(w.seen.events('point.witnessed', since).length, 0);
});

scenario('a word that came late ends the words, and proves nothing', { maxAge: 30 }, async (w) => {
  const job = await new Repair(w, { position: '4A' }).to('lifted');
  await w.hw.set('4-power', 'live');
  await w.point('4-power', 'live', 'fresh');
  const late = new Date(Date.now() - 60000).toISOString();
  await word(w, 't-104', { job: job.job, asked: late });
  await w.point('4-product', 'live', 'witnessed');
  await job.ask('begin-test');
  await job.no('record-test', { test: 'leak', readings: { pass: true } }, 'point-not-restored');
  await word(w, 't-104', { job: job.job });
  await job.ask('record-test', { test: 'leak', readings: { pass: true } });
});
