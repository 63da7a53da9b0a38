// R14: the broker lost the daemon's session, and with it what readers said meanwhile: a lock whose last
// word is a reader's counts no longer until it is hung again, and work that counted on it stops.
import assert from 'node:assert/strict';
import { Repair } from './harness/repair.mjs';
import { scenario } from './harness/world.mjs';

const away = { maxAge: 20, repeats: true };

// The broker is killed before it saved anything, and is back.
async function loseSession(w) {
  await w.broker.stop('SIGKILL');
  await w.broker.start();
  await w.seen.wait(() => w.seen.subscribed && w.seen.client.connected, 'the observer to be back');
  await w.seen.doc('daemon/edge-1', (d) => d.state === 'online', 'online again');
}

// Working; the lock of `whose` on 3-power was hung at its reader, the others by phone.
async function working(w, whose) {
  const job = await new Repair(w).to('isolated');
  await job.ask('join-job', {}, 't-105');
  for (const person of ['t-104', 't-105']) await job.tag(person);
  await w.hw.tagging('3-power', 'hung', whose);
  await w.seen.wait(
    () =>
      w.seen.events().filter((e) => e.body.type.endsWith('tag.hung') && e.body.data.reader).length,
    'the reader to be heard',
  );
  job.at = 'tagged';
  return job.to('working');
}

const counting = (w, person) =>
  w.seen
    .doc('point/3-power', (d) => d.tags.length === 2)
    .then((d) => d.tags.find((x) => x.person === person).counts);

scenario('a mate’s lock at the reader: the work stops', away, async (w) => {
  const job = await working(w, 't-105');
  await loseSession(w);
  await job.phase('stopped');
  // The stop is told before the disk, the points after it.
  await w.seen.doc('point/3-power', (d) => d.tags.some((x) => x.person === 't-105' && !x.counts));
  assert.equal(await counting(w, 't-104'), true); // hung by phone
  await job.no('start-work', {}, 'tag-missing');
  await w.hw.tagging('3-power', 'hung', 't-105');
  await w.seen.doc('point/3-power', (d) => d.tags.every((x) => x.counts));
});

scenario('the leader’s: the lockout breaks', away, async (w) => {
  const job = await working(w, 't-104');
  await loseSession(w);
  await job.phase('stopped', 'broken');
  assert.equal((await job.alarm()).why, 'tag-missing');
});

scenario('locks hung by phone go on counting, and the work goes on', away, async (w) => {
  const job = await working(w, 't-105');
  await job.ask('hang-tag', { point: '3-power' }, 't-105'); // by phone, after the reader
  await loseSession(w);
  await w.responsive();
  await job.phase('working', 'confirmed');
  assert.equal(await counting(w, 't-105'), true);
});

// What readers say in the meantime is not heard.
scenario(
  'a durable connection that stays away: the work stops',
  { proxy: true, maxAge: 4, repeats: true },
  async (w) => {
    const job = await new Repair(w).to('working');
    const begun = Date.now();
    w.proxy.block('durable');
    await job.phase('stopped', 'broken');
    const after = Date.now() - begun;
    assert.ok(after > 3000 && after < 7000, `stopped after ${after} ms`);
    assert.equal((await job.alarm()).why, 'link-down');
    await w.point('3-power', 'isolated', 'fresh'); // hardware was heard all the while
    w.proxy.allow('durable');
    await w.responsive();
  },
);
