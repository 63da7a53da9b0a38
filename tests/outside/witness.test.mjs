// Points without a sensor: whose word counts, for which job, for how long, and what ends it.
import assert from 'node:assert/strict';
import { Repair } from './harness/repair.mjs';
import { pointOf } from './harness/site.mjs';
import { scenario } from './harness/world.mjs';

const say = (state, more = {}) => ({ job: 'J-1', point: '4-product', state, ...more });
const repair = (w, more = {}) => new Repair(w, { position: '4A', ...more });

scenario('a whole repair on a witnessed point', {}, async (w) => {
  // Nothing was said about it yet, and its sensor-less point keeps nobody out.
  await w.position('4A', (d) => d.service === 'in-service');
  await w.point('4-product', 'unknown', 'silent');
  const job = await repair(w).to('returned');
  await w.position('4A', (d) => d.service === 'in-service');
  await w.seen.event('point.witnessed');
  assert.equal((await job.doc()).phase, 'returned');
});

scenario('whose word counts', {}, async (w) => {
  const job = await repair(w).to('open');
  await job.only('witness-point', say('isolated'), 'not-in-crew', 't-105');
  await job.only('witness-point', say('isolated'), 'not-allowed', 'v-1');
  const without = await w.seen.request('t-104', 'witness-point', say('isolated', { job: null }));
  assert.equal(without.accepted, false, 'a word of isolated for no job');
  const stranger = await w.seen.request('t-108', 'witness-point', say('live', { job: null }));
  assert.equal(stranger.accepted, false, 'a word of somebody of another site');
  for (const state of ['isolated', 'live']) {
    await w.only('t-104', 'witness-point', say(state, { point: '4-power' }), 'not-allowed');
    for (const person of ['t-104', 's-1', 'm-1']) {
      await w.ok(person, 'witness-point', say(state));
      await w.point('4-product', state, 'witnessed');
    }
  }
  await w.only('t-104', 'witness-point', say('closed'), 'malformed');
});

scenario('the word live of anybody of the site ends the words at once', {}, async (w) => {
  const job = await repair(w).to('working');
  await w.ok('v-1', 'witness-point', { point: '4-product', state: 'live' });
  await job.phase('stopped', 'broken');
  const alarm = await job.alarm();
  assert.equal(alarm.point, '4-product');
  await w.seen.doc(
    'point/4-product',
    (d) => d.state !== 'isolated' && d.tags.every((t) => !t.counts),
  );
});

scenario('who may prove it live', {}, async (w) => {
  const job = await repair(w).to('lifted');
  await w.hw.set('4-power', 'live');
  await w.ok('v-1', 'witness-point', { point: '4-product', state: 'live' });
  await job.beginTest();
  await job.no('record-test', { test: 'leak', readings: { pass: true } }, 'point-not-restored');
  await w.ok('t-104', 'witness-point', say('live'));
  await w.point('4-product', 'live', 'witnessed');
  await job.record('leak');
  await job.giveBack();
});

scenario(
  'two people have to say it',
  { tweak: (p) => (pointOf(p, '4-product').witnesses = 2) },
  async (w) => {
    const job = await repair(w).to('open');
    await w.hw.set('4-power', 'isolated');
    await w.ok('t-104', 'witness-point', say('isolated'));
    await w.point('4-product', 'unknown', 'settling');
    await w.ok('t-104', 'witness-point', say('isolated'));
    await w.fence();
    await w.point('4-product', 'unknown', 'settling');
    await job.no('hang-tag', { point: '4-product' }, 'point-settling');
    await w.ok('m-1', 'witness-point', say('isolated'));
    await w.point('4-product', 'isolated', 'witnessed');
    job.at = 'isolated';
    await job.to('working');
    await w.ok('k-1', 'witness-point', { point: '4-product', state: 'live' });
    await job.phase('stopped', 'broken');
  },
);

scenario(
  'words age',
  { tweak: (p) => (pointOf(p, '4-product').witness_valid_s = 3) },
  async (w) => {
    const job = await repair(w).to('working');
    await job.phase('stopped', 'broken');
    const alarm = await job.alarm();
    assert.deepEqual([alarm.point, alarm.why], ['4-product', 'point-stale']);
    await w.point('4-product', 'unknown', 'stale');
  },
);

scenario(
  'a word renewed in time does not age',
  { tweak: (p) => (pointOf(p, '4-product').witness_valid_s = 3) },
  async (w) => {
    const job = await repair(w).to('working');
    const end = Date.now() + 4000;
    while (Date.now() < end) {
      await w.ok('t-104', 'witness-point', say('isolated'));
      await w.fence();
    }
    await job.phase('working', 'confirmed');
  },
);

scenario('a word given for another job or before this one does not count', {}, async (w) => {
  const first = await repair(w).to('isolated');
  await first.ask('cancel-job', { reason: 'another kit' }, 'k-1');
  const second = await repair(w, { job: 'J-2', leader: 't-105' }).to('open');
  const refusals = await second.no('start-work', {}, 'tag-missing');
  assert.ok(
    refusals.some((r) => r.subject === '4-product' && r.code.startsWith('point-')),
    JSON.stringify(refusals),
  );
  const tag = await w.seen.request('t-105', 'hang-tag', { job: 'J-2', point: '4-product' });
  assert.equal(tag.accepted, false, 'a tag on a point that nobody of this job has looked at');
  await second.ask('witness-point', { point: '4-product', state: 'isolated' });
  second.at = 'isolated';
  await second.to('working');
});

scenario('words and tags survive a restart', {}, async (w) => {
  const job = await repair(w).to('working');
  await w.killDaemon();
  await w.startDaemon();
  await job.phase('working', 'confirmed');
  await w.point('4-product', 'isolated', 'witnessed');
  await w.ok('v-1', 'witness-point', { point: '4-product', state: 'live' });
  await job.phase('stopped', 'broken');
});
