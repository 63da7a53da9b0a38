// R17: an alarm says the worst of what holds, is raised again by each further cause, and is acknowledged
// for the cause that was seen and for no other.
import assert from 'node:assert/strict';
import { Repair } from './harness/repair.mjs';
import { until } from './harness/until.mjs';
import { scenario } from './harness/world.mjs';

const isFor = (why, point) => (a) =>
  a.state === 'unacknowledged' && a.why === why && a.point === point;
const raisedAs = (count, why, point) => (a) =>
  a.state === 'unacknowledged' && a.count === count && a.why === why && a.point === point;

scenario('two sensors live: the alarm no longer says that they disagree', {}, async (w) => {
  const job = await new Repair(w, { position: '5A' }).to('working');
  const since = w.seen.mark();
  await w.hw.set('5-power-a', 'live');
  const first = await job.alarm(isFor('point-disagrees', '5-power'));
  const { alarm, raised } = first;
  await job.phase('stopped', 'broken');
  await w.ok('t-104', 'acknowledge-alarm', { alarm, raised });
  await job.alarm((a) => a.state === 'acknowledged');
  await w.hw.set('5-power-b', 'live');
  const second = await job.alarm(isFor('point-live', '5-power'));
  assert.deepEqual([second.alarm, first.count, second.count], [alarm, 1, 2]);
  assert.deepEqual([first.priority, first.group], ['urgent', 'point/5-power']);
  assert.deepEqual([first.subject, first.by], [null, null]);
  assert.ok(Date.parse(second.raised) > Date.parse(raised), `${second.raised} after ${raised}`);
  assert.equal(second.args.say, 'alarm.point-live');
  assert.equal(second.args.title, 'Point 5-power');
  assert.match(second.say, /Point 5-power reads LIVE/);
  const told = async (count) =>
    w.seen.event('alarm.raised', { since, where: (d) => d.alarm === alarm && d.count === count });
  assert.equal((await told(2)).data.why, 'point-live');
  // What was seen first is not acknowledged with it, however late it is said.
  await w.only('t-104', 'acknowledge-alarm', { alarm, raised }, 'alarm-changed');
  await job.alarm(raisedAs(2, 'point-live', '5-power'));
  await w.ok('t-104', 'acknowledge-alarm', { alarm, raised: second.raised });
  await job.alarm((a) => a.state === 'acknowledged' && a.count === 2);
});

scenario('what was seen of the first cause acknowledges no second', {}, async (w) => {
  const job = await new Repair(w).to('working');
  await w.hw.set('3-power', 'live');
  const { alarm, raised } = await job.alarm(isFor('point-live', '3-power'));
  await w.hw.set('3-product', 'live');
  await w.point('3-product', 'live');
  await w.fence();
  await w.only('t-104', 'acknowledge-alarm', { alarm, raised }, 'alarm-changed');
  await job.alarm(raisedAs(2, 'point-live', '3-product'));
});

scenario('another point raises it again, and the worst is said', {}, async (w) => {
  const job = await new Repair(w).to('working');
  await w.hw.set('3-power', 'live');
  await job.alarm(raisedAs(1, 'point-live', '3-power'));
  await job.acknowledge();
  await job.alarm((a) => a.state === 'acknowledged');
  await w.hw.set('3-product', 'isolated', 'bad');
  await job.alarm(raisedAs(2, 'point-live', '3-power')); // unknown is not as bad
  // Isolated again it is no longer what holds: the next cause says what does.
  await w.hw.set('3-power', 'isolated');
  await w.point('3-power', 'isolated', 'settling');
  await job.acknowledge();
  await job.ask('lift-tag', { point: '3-power' });
  await job.alarm(raisedAs(3, 'point-unknown', '3-product'));
});

scenario('the same again within 5 s is the same, and then it is not', {}, async (w) => {
  const job = await new Repair(w).to('working');
  await w.hw.set('3-power', 'live');
  const { raised } = await job.alarm(raisedAs(1, 'point-live', '3-power'));
  await job.acknowledge();
  await w.hw.set('3-power', 'isolated');
  await w.point('3-power', 'isolated', 'settling');
  await w.hw.set('3-power', 'live');
  await w.point('3-power', 'live');
  await w.fence();
  const same = await job.alarm();
  assert.deepEqual([same.state, same.count, same.raised], ['acknowledged', 1, raised]);
  await w.hw.set('3-power', 'isolated');
  const away = await w.point('3-power', 'isolated', 'settling');
  await until(() => Date.now() > Date.parse(away.since) + 5100, '5 s without it');
  await w.hw.set('3-power', 'live');
  await job.alarm(raisedAs(2, 'point-live', '3-power'));
});

scenario('a link that is down names the connection', { proxy: true, repeats: true }, async (w) => {
  for (const subject of ['durable', 'live']) {
    w.proxy.block(subject);
    await until(() => w.daemon.err.includes(`connection=${subject} down`), `${subject} to be missed`);
    w.proxy.allow(subject);
    // It is back, or what is asked would have waited.
    const down = await w.seen.alarm(
      'link-down',
      (a) => a.subject === subject && a.state === 'returned-unacknowledged',
    );
    assert.deepEqual(
      [down.priority, down.group, down.why],
      ['high', `connection/${subject}`, 'link-down'],
    );
    await w.ok('m-1', 'acknowledge-alarm', { alarm: down.alarm });
    await w.seen.gone(`alarm/${down.alarm}`);
  }
});
