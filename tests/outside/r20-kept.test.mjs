// R20: what the broker sends because we subscribed is told from what comes by itself, whatever its retain
// flag.
import assert from 'node:assert/strict';
import { Repair } from './harness/repair.mjs';
import { scenario } from './harness/world.mjs';

const keep = (w, sensor, state) =>
  w.hw.send(`signal/${sensor}`, { state }, { retain: true });

scenario('a panel that always publishes as retained is heard', { maxAge: 30 }, async (w) => {
  for (const sensor of ['3-power', '3-product']) {
    w.hw.mute(sensor);
    await keep(w, sensor, 'isolated');
    await w.point(sensor, 'isolated', 'fresh');
  }
  const job = await new Repair(w).to('open');
  job.at = 'isolated';
  await job.to('working');
  await keep(w, '3-product', 'live');
  await job.phase('stopped', 'broken');
  await w.point('3-product', 'live', 'fresh');
});

scenario('a live that is published as retained stops the work', { maxAge: 30 }, async (w) => {
  const job = await new Repair(w).to('working');
  w.hw.mute('3-product');
  await keep(w, '3-product', 'live');
  await job.phase('stopped', 'broken');
  await w.point('3-product', 'live', 'fresh');
});

scenario('what was kept while the daemon was away', { hardware: false, maxAge: 30 }, async (w) => {
  await keep(w, '3-product', 'live');
  await w.point('3-product', 'live', 'fresh');
  await keep(w, '4-power', 'isolated');
  await w.point('4-power', 'isolated', 'fresh');
  await w.stopDaemon();
  await w.startDaemon();
  // Live is kept: it refuses, and proves nothing. Isolated is nothing at all.
  await w.point('3-product', 'live', 'kept');
  await w.point('4-power', 'unknown', 'silent');
  // A word that comes by itself ends it, also one that is published as retained.
  await keep(w, '3-product', 'live');
  await w.point('3-product', 'live', 'fresh');
  await keep(w, '4-power', 'isolated');
  await w.point('4-power', 'isolated', 'fresh');
});

scenario('a live that was kept breaks after a restart', { maxAge: 30 }, async (w) => {
  const job = await new Repair(w).to('working');
  await w.stopDaemon();
  w.hw.mute('3-product');
  await keep(w, '3-product', 'live');
  await w.startDaemon();
  await job.phase('stopped', 'broken');
  await w.point('3-product', 'live', 'kept');
  assert.equal((await job.alarm()).why, 'point-live');
  await w.seen.doc('point/3-product', (d) => d.tags.length === 1 && !d.tags[0].counts);
});
