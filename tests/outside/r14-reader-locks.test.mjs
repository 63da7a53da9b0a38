// R14: a lock that a reader sees is listed until the reader sees it go, whatever was asked by phone; a
// point may leave its locks to its reader alone.
import assert from 'node:assert/strict';
import { Repair } from './harness/repair.mjs';
import { pointOf } from './harness/site.mjs';
import { scenario } from './harness/world.mjs';

const tags = (w, point, predicate) =>
  w.seen.doc(`point/${point}`, (d) => predicate(d.tags)).then((d) => d.tags);

// Restoring; t-104's locks were hung at the readers and lifted by phone.
async function liftedByPhone(w) {
  const job = await new Repair(w).to('isolated');
  for (const point of job.points) await w.hw.tagging(point, 'hung', 't-104');
  await job.doc((d) => d.crew[0].protected);
  job.at = 'tagged';
  await job.to('lifted');
  await job.restore();
  return job;
}

scenario('lifted by phone while the reader sees it', {}, async (w) => {
  const job = await liftedByPhone(w);
  const refusals = await job.only('begin-test', {}, 'tag-hung');
  const [listed] = await tags(w, '3-power', (l) => l.length === 1);
  assert.deepEqual([listed.person, listed.job, listed.counts], ['t-104', null, false]);
  assert.deepEqual(refusals.map((r) => r.subject).sort(), ['3-power', '3-product']);
  await w.hw.tagging('3-power', 'lifted', 't-104');
  await tags(w, '3-power', (l) => l.length === 0);
  // The other reader missed it: who has seen the lock off says so, and nobody is to be told.
  const off = { point: '3-product', person: 't-104', reason: 'looked' };
  await w.only('s-1', 'lift-absent-tag', { ...off, attest: {} }, 'attestation-missing');
  // It is of no job any more, and that is all that is wrong where one is named.
  const named = { ...off, job: 'J-1', attest: { seen_off: true } };
  const [one] = await w.only('s-1', 'lift-absent-tag', named, 'tag-missing');
  assert.match(one.say, /not for J-1: leave the job out/);
  await w.ok('s-1', 'lift-absent-tag', { ...off, attest: { seen_off: true } });
  await tags(w, '3-product', (l) => l.length === 0);
  await job.ask('begin-test');
  assert.equal(w.seen.events('alarm.raised').length, 0);
});

scenario('a lock of no readable time or badge', {}, async (w) => {
  const job = await liftedByPhone(w);
  for (const point of job.points) await w.hw.tagging(point, 'lifted', 't-104');
  for (const [who, at] of [
    ['t-105', 'noon'],
    ['04:A2', new Date().toISOString()],
    [451, new Date().toISOString()],
  ])
    await w.hw.send('tagging/3-power', { state: 'hung', person: who, at });
  const listed = await tags(w, '3-power', (l) => l.length === 3);
  assert.deepEqual(
    listed.map((t) => [t.person ?? t.badge, t.counts]),
    [
      ['t-105', false],
      ['04:A2', false],
      ['451', false],
    ],
  );
  await job.only('begin-test', {}, 'tag-hung');
});

scenario('a lock of nobody who can be read, and of a badge of any length', {}, async (w) => {
  const job = await liftedByPhone(w);
  for (const point of job.points) await w.hw.tagging(point, 'lifted', 't-104');
  await tags(w, '3-power', (l) => l.length === 0);
  const long = `04:${'A2:'.repeat(30)}`;
  await w.hw.send('tagging/3-power', { state: 'hung' });
  await w.hw.send('tagging/3-power', { state: 'hung', person: { badge: 7 } });
  await w.hw.tagging('3-power', 'hung', long);
  await w.hw.tagging('3-power', 'hung', '04:A2');
  const listed = await tags(w, '3-power', (l) => l.length === 3);
  assert.ok(listed.every((t) => t.person === null && t.job === null));
  const [none, cut, short] = listed.map((t) => t.badge);
  assert.deepEqual([none, short], ['unreadable', '04:A2']);
  assert.ok(cut.startsWith('04:A2:A2:') && Buffer.byteLength(cut) === 64, cut);
  await job.only('begin-test', {}, 'tag-hung');
  // Nobody can tell which lock is off; a badge that was read is the one that hung.
  await w.hw.send('tagging/3-power', { state: 'lifted' });
  await w.hw.tagging('3-power', 'lifted', 'unreadable');
  await w.hw.tagging('3-power', 'lifted', `${long}B0`);
  await w.hw.tagging('3-power', 'lifted', long);
  assert.deepEqual(
    (await tags(w, '3-power', (l) => l.length === 2)).map((t) => t.badge),
    ['unreadable', '04:A2'],
  );
  const attest = { not_on_site: true, contact_tried: true, will_be_told: true };
  for (const badge of ['04:A2', 'unreadable'])
    await w.ok('s-1', 'lift-absent-tag', { point: '3-power', badge, reason: 'looked', attest });
  await tags(w, '3-power', (l) => l.length === 0);
  await job.ask('begin-test'); // the alarms of the removals are of no job
});

scenario('seeing it off lifts no lock that hangs', {}, async (w) => {
  await new Repair(w).to('isolated');
  await w.hw.tagging('3-power', 'hung', 't-104');
  await tags(w, '3-power', (l) => l.length === 1);
  const off = { point: '3-power', person: 't-104', reason: 'looked', attest: { seen_off: true } };
  await w.only('s-1', 'lift-absent-tag', off, 'attestation-missing');
});

const byReader = (p) => {
  pointOf(p, '3-power').locks = 'reader';
  pointOf(p, '4-product').locks = 'reader'; // of witnesses
};

scenario('a point whose locks are its reader’s alone', { tweak: byReader }, async (w) => {
  const job = await new Repair(w).to('isolated');
  await job.only('hang-tag', { point: '3-power' }, 'tag-by-reader');
  await job.ask('hang-tag', { point: '3-product' });
  await w.hw.tagging('3-power', 'hung', 't-104');
  await job.doc((d) => d.crew[0].protected);
  const other = await new Repair(w, { job: 'J-4', position: '4A' }).to('isolated');
  await other.only('hang-tag', { point: '4-product' }, 'tag-by-reader');
  await w.hw.tagging('4-product', 'hung', 't-104');
  await tags(w, '4-product', (l) => l[0]?.counts);
});
