// Another daemon of the site is online while its document changes, whatever time stands in it.
import assert from 'node:assert/strict';
import { Repair } from './harness/repair.mjs';
import { until } from './harness/until.mjs';
import { scenario } from './harness/world.mjs';

const document = (more = {}) => ({
  state: 'online',
  version: '9.9.9',
  boot: 'f'.repeat(32),
  since: '2026-01-01T00:00:00.000Z',
  at: new Date().toISOString(),
  sites: ['juniper'],
  ...more,
});
const behind = (ms) => new Date(Date.now() - ms).toISOString();
const say = (w, instance, more) =>
  w.seen.publish(`daemon/${instance}`, document(more), { retain: true });

scenario('a rival whose clock is behind is seen', {}, async (w) => {
  const job = await new Repair(w).to('confirmed');
  w.seen.strangers = ['daemon/edge-2'];
  await say(w, 'edge-2', { at: behind(200000) });
  await w.seen.alarm('site-contested');
  await job.only('start-work', {}, 'site-contested');
  await say(w, 'edge-2', { at: behind(200000), state: 'offline' });
  await w.seen.alarm('site-contested', (a) => a.state === 'returned-unacknowledged');
  await job.ask('start-work');
});

scenario(
  'what the broker kept of one that is no more contests nothing, until it changes',
  { daemon: false },
  async (w) => {
    const kept = document();
    w.seen.strangers = ['daemon/edge-2'];
    await w.seen.publish('daemon/edge-2', kept, { retain: true });
    await w.startDaemon();
    await w.startHardware();
    const job = await new Repair(w).to('confirmed');
    await w.seen.publish('daemon/edge-2', kept, { retain: true }); // a copy
    await job.ask('start-work');
    assert.equal(w.seen.alarms('site-contested').length, 0);
    await say(w, 'edge-2', { at: behind(-1000) });
    await w.seen.alarm('site-contested');
    await job.signGroup('work', 'clear', 'leave');
    await job.only('finish-work', {}, 'site-contested');
    await job.only('set-aside', { reason: 'x' }, 'site-contested');
    await job.ask('stop-work', { reason: 'two daemons' });
  },
);

scenario('a rival of our own name that goes leaves our document online', {}, async (w) => {
  const own = await w.seen.doc('daemon/edge-1');
  await say(w, 'edge-1');
  await w.seen.alarm('site-contested');
  await say(w, 'edge-1', { state: 'offline' });
  await w.seen.alarm('site-contested', (a) => a.state === 'returned-unacknowledged');
  await until(() => {
    const { state, boot } = w.seen.docs.get('daemon/edge-1');
    return state === 'online' && boot === own.boot;
  }, 'the daemon to say again that it is online');
});
