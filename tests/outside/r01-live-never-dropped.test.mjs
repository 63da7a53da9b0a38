// R1: a live that came now is never dropped, whatever the clock or the counter of its sender says.
import assert from 'node:assert/strict';
import { Repair } from './harness/repair.mjs';
import { scenario } from './harness/world.mjs';

const at = (ms) => new Date(Date.now() + ms).toISOString();
const stamp = (w) => new Date(w.hw.stamp()).toISOString();
const live = (w, more) => w.hw.send('signal/3-product', { state: 'live', ...more });
// Older than what grows stale by itself, so that nothing else can stop the work.
const LONG = { maxAge: 60 };

scenario('the clock of a sensor went back an hour: its live stops the work', LONG, async (w) => {
  const job = await new Repair(w).to('working');
  w.hw.mute('3-product');
  await live(w, { at: at(-3600000) });
  await job.phase('stopped', 'broken');
  await job.alarm();
  await w.point('3-product', 'unknown', 'bad-quality');
  // Its date is before the lock was hung: that goes on counting.
  await w.seen.doc('point/3-product', (d) => d.tags.length === 1 && d.tags[0].counts);
  await w.seen.wait(
    () => w.seen.alarms('clock').some((a) => a.state === 'unacknowledged'),
    'the alarm of the clock',
  );
  // No older word of isolated makes it good again; a newer one does.
  await w.hw.send('signal/3-product', { state: 'isolated', at: at(-3000000) });
  await w.fence();
  assert.equal((await w.seen.doc('point/3-product')).trust, 'bad-quality');
  await w.hw.set('3-product', 'isolated');
  await w.point('3-product', 'isolated', 'fresh');
});

scenario('a lower number does not hide it either', LONG, async (w) => {
  w.hw.mute('3-product');
  await w.hw.send('signal/3-product', { state: 'isolated', at: stamp(w), seq: 5000 });
  await w.hw.set('3-power', 'isolated');
  await w.point('3-product', 'isolated', 'fresh');
  await w.point('3-power', 'isolated', 'fresh');
  const job = await new Repair(w).to('open');
  job.at = 'isolated';
  await job.to('working');
  await live(w, { seq: 7 });
  await job.phase('stopped', 'broken');
  await w.point('3-product', 'unknown', 'bad-quality');
});

scenario('a live is no copy by what words of isolated carried', LONG, async (w) => {
  w.hw.mute('3-product');
  const word = { at: stamp(w) };
  await w.hw.send('signal/3-product', { state: 'isolated', ...word });
  await live(w, {}); // the last live carried no time
  await w.hw.set('3-product', 'isolated');
  const job = await new Repair(w).to('working');
  w.hw.mute('3-product');
  await live(w, word);
  await job.phase('stopped', 'broken');
  await w.point('3-product', 'unknown', 'bad-quality');
});

scenario('a copy of the last live heard says nothing new', LONG, async (w) => {
  w.hw.mute('3-product');
  const word = { at: stamp(w) };
  await live(w, word);
  await w.hw.set('3-product', 'isolated');
  const job = await new Repair(w).to('working');
  w.hw.mute('3-product');
  await live(w, word);
  await w.fence();
  assert.deepEqual(
    await job.doc().then((d) => [d.phase, d.lockout]),
    ['working', 'confirmed'],
  );
  await live(w, { at: at(-3600000) });
  await job.phase('stopped', 'broken');
});
