// Tag readers: locks that people hang without a phone, known and unknown badges, and their order.
import assert from 'node:assert/strict';
import { Repair } from './harness/repair.mjs';
import { scenario } from './harness/world.mjs';

const tags = (w, point, predicate) =>
  w.seen.doc(`point/${point}`, (d) => predicate(d.tags)).then((d) => d.tags);
const at = (ms) => new Date(Date.now() + ms).toISOString();

scenario('a reader’s lock is a tag of the job', {}, async (w) => {
  const job = await new Repair(w).to('isolated');
  for (const point of job.points) await w.hw.tagging(point, 'hung', 't-104');
  const [tag] = await tags(w, '3-power', (l) => l.length === 1);
  assert.deepEqual([tag.person, tag.job, tag.counts], ['t-104', 'J-1', true]);
  await w.seen.event('tag.hung');
  job.at = 'tagged';
  await job.to('restoring');
  for (const point of job.points) await w.hw.tagging(point, 'lifted', 't-104');
  await tags(w, '3-power', (l) => l.length === 0);
  await tags(w, '3-product', (l) => l.length === 0);
  job.at = 'lifted';
  await job.to('returned');
});

scenario(
  'one lock counts for every job of the person, and its lifting ends them all',
  {},
  async (w) => {
    const a = await new Repair(w, { job: 'J-A' }).to('isolated');
    await new Repair(w, { job: 'J-B', position: '3B' }).to('open');
    await w.hw.tagging('3-power', 'hung', 't-104');
    const both = await tags(w, '3-power', (l) => l.length === 2);
    assert.deepEqual(both.map((t) => t.job).sort(), ['J-A', 'J-B']);
    assert.ok(both.every((t) => t.counts && t.person === 't-104'));
    await a.ask('hang-tag', { point: '3-product' });
    await w.hw.tagging('3-product', 'lifted', 't-104');
    await tags(w, '3-product', (l) => l.length === 0);
    await w.hw.tagging('3-power', 'lifted', 't-104');
    await tags(w, '3-power', (l) => l.length === 0);
  },
);

scenario('a lock on a point that is not isolated does not count', {}, async (w) => {
  const job = await new Repair(w).to('open');
  await w.hw.tagging('3-power', 'hung', 't-104');
  const [tag] = await tags(w, '3-power', (l) => l.length === 1);
  assert.equal(tag.counts, false);
  await job.isolate();
  const missing = (await job.no('start-work', {}, 'tag-missing')).find(
    (r) => r.code === 'tag-missing' && r.subject === '3-power',
  );
  assert.ok(missing.found, 'why the tag does not count is not said');
  // Hanging it again renews it.
  await w.hw.tagging('3-power', 'hung', 't-104');
  await tags(w, '3-power', (l) => l.length === 1 && l[0].counts);
});

scenario(
  'reader events are ordered; an old hung is listed, a lifted is always taken',
  { maxAge: 4 },
  async (w) => {
    await new Repair(w).to('isolated');
    await w.hw.tagging('3-power', 'hung', 't-104', { at: at(-60000) });
    const [old] = await tags(w, '3-power', (l) => l.length === 1);
    assert.equal(old.counts, false);
    const when = at(0);
    await w.hw.tagging('3-power', 'hung', 't-104', { at: when });
    await tags(w, '3-power', (l) => l.length === 1 && l[0].counts);
    await w.hw.tagging('3-power', 'lifted', 't-104', { at: at(-60000) });
    await tags(w, '3-power', (l) => l.length === 0);
    // Not newer than the newest.
    await w.hw.tagging('3-power', 'hung', 't-104', { at: when });
    const [again] = await tags(w, '3-power', (l) => l.length === 1);
    assert.equal(again.counts, false);
  },
);

scenario('an unknown badge protects nobody and blocks', {}, async (w) => {
  const job = await new Repair(w).to('lifted');
  await w.hw.tagging('3-power', 'hung', 'B-0451');
  const [tag] = await tags(w, '3-power', (l) => l.length === 1);
  assert.deepEqual([tag.person, tag.job, tag.badge, tag.counts], [null, null, 'B-0451', false]);
  const refusals = await job.only('begin-test', {}, 'tag-hung');
  assert.ok(JSON.stringify(refusals).includes('3-power'));
  const attest = { not_on_site: true, contact_tried: true, will_be_told: true };
  await w.no(
    's-1',
    'lift-absent-tag',
    { point: '3-power', badge: 'B-0451', reason: 'unknown', attest: {} },
    'attestation-missing',
  );
  await w.ok('s-1', 'lift-absent-tag', {
    point: '3-power',
    badge: 'B-0451',
    reason: 'unknown lock cut',
    attest,
  });
  await tags(w, '3-power', (l) => l.length === 0);
  await w.hw.tagging('3-product', 'hung', 'B-0451');
  await tags(w, '3-product', (l) => l.length === 1);
  await w.hw.tagging('3-product', 'lifted', 'B-0451');
  await tags(w, '3-product', (l) => l.length === 0);
  await job.ask('begin-test');
});

scenario('a lock hung during the tests makes them void', {}, async (w) => {
  const job = await new Repair(w).to('passed');
  await w.hw.tagging('3-power', 'hung', 'B-0451');
  await tags(w, '3-power', (l) => l.length === 1);
  await w.hw.tagging('3-power', 'lifted', 'B-0451');
  await tags(w, '3-power', (l) => l.length === 0);
  await job.no('return-position', {}, 'test-missing');
  await job.doc((d) => d.tests.every((t) => t.void));
  await job.record('leak');
  await job.giveBack();
});

scenario('a lock that hung before its owner joined becomes a tag of the job', {}, async (w) => {
  const job = await new Repair(w).to('isolated');
  await w.hw.tagging('3-power', 'hung', 't-105');
  const [stranger] = await tags(w, '3-power', (l) => l.length === 1);
  assert.deepEqual([stranger.person, stranger.job, stranger.counts], ['t-105', null, false]);
  await job.ask('join-job', {}, 't-105');
  const [adopted] = await tags(w, '3-power', (l) => l[0]?.job === 'J-1');
  assert.equal(adopted.person, 't-105');
  await job.only('leave-job', {}, 'tag-hung', 't-105');
});

scenario('a tagging that was published retained is ignored', {}, async (w) => {
  await new Repair(w).to('isolated');
  await w.hw.send(
    'tagging/3-power',
    { state: 'hung', person: 't-104', at: at(0) },
    { retain: true },
  );
  await w.hw.tagging('3-product', 'hung', 't-104');
  await tags(w, '3-product', (l) => l.length === 1);
  assert.deepEqual((await w.seen.doc('point/3-power')).tags, []);
});

scenario('a reader’s nonsense changes nothing', {}, async (w) => {
  const job = await new Repair(w).to('tagged');
  for (const word of [
    '',
    'hung',
    '[]',
    '{"person":"t-104"}',
    '{"state":"gone","person":"t-104"}',
    '{"state":"lifted","person":7}',
  ])
    await w.hw.send('tagging/3-power', word);
  await w.hw.send('tagging/no-such', { state: 'hung', person: 't-104' });
  await w.hw.tagging('3-product', 'hung', 'B-1');
  await tags(w, '3-product', (l) => l.length === 2);
  const list = (await w.seen.doc('point/3-power')).tags;
  assert.deepEqual(
    list.map((t) => [t.person, t.counts]),
    [['t-104', true]],
  );
  await job.doc((d) => d.crew[0].protected);
});
