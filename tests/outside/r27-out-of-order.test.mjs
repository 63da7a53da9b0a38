// R27: a dead sensor, or a reader, is said to be out of order; two people who look then speak for the point.
import assert from 'node:assert/strict';
import { Repair } from './harness/repair.mjs';
import { pointOf } from './harness/site.mjs';
import { tokens, Web } from './harness/web.mjs';
import { scenario } from './harness/world.mjs';

const power = { sensor: '3-power' };
const outOfOrder = (w, what, more) =>
  w.ok('s-1', 'distrust-sensor', { ...what, hours: 2, reason: 'it sticks', ...more });
const word = (w, person, state, job) =>
  w.ok(person, 'witness-point', { point: '3-power', state, ...(job && { job }) });

scenario('a sensor dead in testing: there is a way to the return', { maxAge: 1.5, tweak: tokens }, async (w) => {
  const web = new Web(w);
  const job = await new Repair(w).to('live');
  w.hw.mute('3-power');
  await w.point('3-power', 'unknown', 'stale');
  await job.to('testing');
  await job.no('record-test', { test: 'leak', readings: { pass: true } }, 'point-not-restored');
  // What comes next says so, to the crew and to the supervisor.
  const next = async (person) => (await web.get('/api/juniper/job/J-1/gate', person)).next;
  const crews = await next('t-104');
  assert.deepEqual([crews.verb, crews.mine, crews.by], ['distrust-sensor', false, ['supervisor']]);
  const theirs = await next('s-1');
  assert.deepEqual([theirs.verb, theirs.sensor, theirs.mine], ['distrust-sensor', '3-power', true]);
  await outOfOrder(w, power);
  const told = await w.seen.doc('point/3-power', (d) => d.distrusted.length === 1);
  assert.equal(told.distrusted[0].sensor, '3-power');
  assert.equal(told.distrusted[0].by, 's-1');
  assert.equal(told.distrusted[0].reason, 'it sticks');
  const left = Date.parse(told.distrusted[0].until) - Date.now();
  assert.ok(left > 7190000 && left <= 7200000, `until ${told.distrusted[0].until}`);
  await job.doc((d) => d.distrusted?.[0].sensor === '3-power', 'the job to say so');
  // Two people look, and neither is who distrusts it.
  await word(w, 's-1', 'live');
  await word(w, 't-104', 'live', 'J-1');
  await w.point('3-power', 'live', 'witnessed');
  await job.no('record-test', { test: 'leak', readings: { pass: true } }, 'point-not-restored');
  await word(w, 'm-1', 'live');
  await job.to('returned');
  const returned = await w.seen.event('job.returned');
  assert.deepEqual(
    returned.data.evidence.filter((e) => e.distrusted).map((e) => e.point),
    ['3-power'],
  );
  const { out } = await w.tool('record', 'J-1');
  assert.match(out, /3-power OUT OF ORDER, says s-1: it sticks/);
});

scenario('before the start: two words of isolated, and a live of its own ends it', { maxAge: 30 }, async (w) => {
  const job = await new Repair(w).to('open');
  await w.no('s-1', 'distrust-sensor', { ...power, hours: 1, reason: 'r' }, 'point-live');
  await w.no('t-104', 'distrust-sensor', { ...power, hours: 1, reason: 'r' }, 'not-allowed');
  await w.no('s-1', 'distrust-sensor', { sensor: '3-pover', hours: 1, reason: 'r' }, 'unknown-sensor');
  await w.no('s-1', 'distrust-sensor', { ...power, hours: 13, reason: 'r' }, 'malformed');
  await w.no('s-1', 'distrust-sensor', { hours: 1, reason: 'r' }, 'malformed');
  await w.hw.send('signal/3-power', { state: 'isolated', quality: 'bad' });
  w.hw.mute('3-power');
  await w.hw.set('3-product', 'isolated');
  await w.point('3-power', 'unknown', 'bad-quality');
  await outOfOrder(w, power);
  await job.ask('join-job', {}, 't-105');
  await word(w, 't-104', 'isolated', 'J-1');
  await w.point('3-power', 'unknown', 'settling');
  await w.no('s-1', 'witness-point', { job: 'J-1', point: '3-power', state: 'isolated' }, 'not-allowed');
  await word(w, 't-105', 'isolated', 'J-1');
  await w.point('3-power', 'isolated', 'witnessed');
  await job.tag();
  await job.tag('t-105');
  job.at = 'tagged';
  await job.to('working');
  // It survives a restart, and so do the words.
  await w.stopDaemon();
  await w.startDaemon();
  await job.phase('working', 'confirmed');
  assert.equal((await w.seen.doc('point/3-power')).distrusted.length, 1);
  await w.hw.set('3-power', 'live');
  await job.phase('stopped', 'broken');
  await w.point('3-power', 'live', 'fresh');
  const { data } = await w.seen.event('sensor.trusted');
  assert.deepEqual([data.sensor, data.point, data.why], ['3-power', '3-power', 'live']);
  await w.seen.doc('point/3-power', (d) => d.distrusted.length === 0);
});

scenario('said while working, it stops the work; another sensor carries the point', { maxAge: 30 }, async (w) => {
  const job = await new Repair(w, { position: '5A' }).to('working');
  await outOfOrder(w, { sensor: '5-power-b' });
  await w.seen.doc('point/5-power', (d) => d.distrusted.length === 1 && d.trust === 'fresh');
  assert.equal((await job.doc()).phase, 'working');
  await w.ok('s-1', 'trust-sensor', { sensor: '5-power-b' });
  assert.equal((await w.seen.event('sensor.trusted')).data.by, 's-1');
  await outOfOrder(w, { sensor: '5-product' });
  await job.phase('stopped', 'broken');
});

const readers = { maxAge: 30, tweak: (p) => (pointOf(p, '3-power').locks = 'reader') };

scenario('a reader out of order: meanwhile a tag is hung by request', readers, async (w) => {
  const job = await new Repair(w).to('isolated');
  await job.no('hang-tag', { point: '3-power' }, 'tag-by-reader');
  await outOfOrder(w, { reader: '3-power' });
  await w.seen.doc('point/3-power', (d) => d.distrusted[0]?.reader === '3-power');
  assert.equal((await w.seen.event('sensor.distrusted')).data.reader, '3-power');
  await w.hw.tagging('3-power', 'hung', 't-104');
  await w.seen.doc('point/3-power', (d) => d.tags.length === 1 && !d.tags[0].counts);
  await job.ask('hang-tag', { point: '3-power' });
  await w.seen.doc('point/3-power', (d) => d.tags.length === 1 && d.tags[0].counts);
});
