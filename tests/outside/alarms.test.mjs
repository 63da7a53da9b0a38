// The alarms that are not of a job's lockout: the link, the clock, another daemon, a point that was left
// live. Each stands while its cause does, and until somebody has acknowledged it.
import assert from 'node:assert/strict';
import { Repair } from './harness/repair.mjs';
import { scenario } from './harness/world.mjs';

const ahead = () => ({ state: 'live', at: new Date(Date.now() + 60000).toISOString() });
const honest = (w) => ({ state: 'live', at: new Date(w.hw.stamp()).toISOString() });

// From `stands` to its end, by its two ways: acknowledged first, or gone back first.
async function bothWays(w, kind, raise, end) {
  for (const first of ['acknowledged', 'returned']) {
    const since = w.seen.mark();
    await raise();
    const { alarm, job, say } = await w.seen.alarm(kind, (a) => a.state === 'unacknowledged');
    assert.equal(job, null);
    assert.ok(say.length > 20, say);
    await w.no('v-1', 'acknowledge-alarm', { alarm }, 'not-allowed');
    const acknowledge = () => w.ok('s-1', 'acknowledge-alarm', { alarm });
    if (first === 'acknowledged') {
      await acknowledge();
      await w.seen.alarm(kind, (a) => a.state === 'acknowledged');
      await end();
    } else {
      await end();
      await w.seen.alarm(kind, (a) => a.state === 'returned-unacknowledged');
      await acknowledge();
    }
    await w.seen.gone(`alarm/${alarm}`);
    for (const type of ['alarm.raised', 'alarm.acknowledged', 'alarm.cleared'])
      await w.seen.event(type, { since, where: (d) => JSON.stringify(d).includes(kind) });
  }
}

scenario('clock: a sender that is far ahead of us', {}, async (w) => {
  w.hw.mute('3-vapor');
  await w.hw.send('signal/3-vapor', ahead());
  await w.point('3-vapor', 'unknown', 'bad-quality');
  const { alarm, ...told } = await w.seen.alarm('clock', (a) => a.state === 'unacknowledged');
  assert.deepEqual(
    [told.subject, told.why, told.priority, told.group, told.job],
    ['3-vapor', 'clock-wrong', 'low', 'sensor/3-vapor', null],
  );
  // A second one is an alarm of its own.
  w.hw.mute('3-product');
  await w.hw.send('signal/3-product', ahead());
  const other = await w.seen.alarm('clock', (a) => a.subject === '3-product');
  assert.notEqual(other.alarm, alarm);
  await w.no('v-1', 'acknowledge-alarm', { alarm }, 'not-allowed');
  await w.ok('s-1', 'acknowledge-alarm', { alarm });
  // Once it tells the time right it is still watched for a minute.
  await w.hw.send('signal/3-vapor', honest(w));
  await w.point('3-vapor', 'live', 'fresh');
  await w.fence();
  await w.seen.alarm('clock', (a) => a.alarm === alarm && a.state === 'acknowledged');
});

scenario('site-contested: another daemon of the site', {}, async (w) => {
  const other = (state) => {
    const at = new Date().toISOString();
    const word = { state, version: '1', boot: 'other', since: at, at, sites: ['juniper'] };
    return w.seen.publish('daemon/edge-2', word, { retain: true });
  };
  await bothWays(
    w,
    'site-contested',
    () => other('online'),
    () => other('offline'),
  );
});

scenario('link-down: the connection that takes requests is cut', { proxy: true }, async (w) => {
  await new Repair(w).to('open');
  w.proxy.block('durable');
  const { alarm } = await w.seen.alarm('link-down', (a) => a.state === 'unacknowledged');
  // What the site hears is still told.
  await w.hw.set('3-power', 'isolated');
  await w.point('3-power', 'isolated', 'fresh');
  await w.job('J-1', (d) => d.missing.some((r) => r.code === 'link-down'));
  w.proxy.allow('durable');
  await w.seen.alarm('link-down', (a) => a.state === 'returned-unacknowledged');
  await w.job('J-1', (d) => !d.missing.some((r) => r.code === 'link-down'));
  await w.ok('m-1', 'acknowledge-alarm', { alarm });
  await w.seen.gone(`alarm/${alarm}`);
});

scenario('left-live: a point of an untested position', {}, async (w) => {
  const job = await new Repair(w).to('working');
  await w.hw.set('3-vapor', 'isolated');
  await w.point('3-vapor', 'isolated');
  await job.signGroup('clear', 'leave');
  await job.ask('set-aside', { reason: 'a part is missing' });
  await job.lift();
  await job.restore(); // made safe: what powers both sides may be live
  await w.fence();
  assert.deepEqual(w.seen.alarms('left-live'), []);
  await job.ask('cancel-job', { reason: 'another kit' }, 'k-1');
  await w.position('3A', (d) => d.cause === 'isolated' && d.job === null);
  await w.hw.set('3-vapor', 'live');
  const left = await w.seen.alarm('left-live');
  const { point, position, alarm } = left;
  assert.deepEqual([point, position, left.job], ['3-vapor', '3A', null]);
  assert.deepEqual([left.priority, left.group], ['high', 'point/3-vapor']);
  await w.killDaemon();
  await w.startDaemon();
  await w.seen.alarm('left-live', (a) => a.alarm === alarm && a.state === 'unacknowledged');
  await w.ok('s-1', 'acknowledge-alarm', { alarm });
  await w.hw.set('3-vapor', 'isolated');
  await w.seen.gone(`alarm/${alarm}`);
});

scenario('left-live: a dispenser that was made safe, and locked again', {}, async (w) => {
  const job = await new Repair(w).to('working');
  await job.signGroup('clear', 'leave');
  await job.ask('set-aside', { reason: 'a part is missing' });
  await job.lift();
  await job.isolate();
  await job.ask('hang-tag', { point: '3-power' }); // somebody was in it again: it may not be safe
  await job.ask('lift-tag', { point: '3-power' });
  await w.hw.set('3-power', 'live');
  const { alarm, say } = await w.seen.alarm('left-live', (a) => a.point === '3-power');
  assert.match(say, /Point 3-power reads LIVE/);
  assert.deepEqual(await job.doc((d) => d.phase === 'open').then((d) => d.lockout), 'unconfirmed');
  await job.no('start-work', {}, 'point-live'); // and not for the alarm
  assert.ok(!(await job.no('start-work', {}, 'point-live')).some((r) => r.code === 'alarm-open'));
  await w.hw.set('3-power', 'isolated');
  await w.ok('t-104', 'acknowledge-alarm', { alarm });
  await w.seen.gone(`alarm/${alarm}`);
});
