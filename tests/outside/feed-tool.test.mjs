// `forelock feed try` and `forelock feed watch`, beside a daemon that must not notice.
import assert from 'node:assert/strict';
import { end, start } from './harness/child.mjs';
import { until } from './harness/until.mjs';
import { scenario, TOOL } from './harness/world.mjs';

const panel = {
  feed: 'panel',
  topic: 'plant/{site}/panel/{circuit}/status',
  to: 'signal',
  sensor: '{circuit}-power',
  captures: { circuit: { map: { 3: '3' } } },
  payload: 'json',
  state: { at: '/contact', isolated: ['open', 0, false], live: ['closed', 1, true] },
  time: { at: '/ts', as: 'unix-ms' },
};
const alive = {
  feed: 'alive',
  topic: 'plant/{site}/{controller}/alive',
  to: 'controller',
  payload: 'text',
  controller: '{controller}',
  state: { online: ['1'], offline: ['0'] },
};
const withFeeds =
  (...feeds) =>
  (plan) => {
    plan.main.feeds = ['feeds/*.json'];
    plan.files = { 'feeds/f.json': JSON.stringify({ feeds }) };
  };
const options = { hardware: false, tweak: withFeeds(panel, alive) };
const TOPIC = 'plant/juniper/panel/3/status';
const lines = (text) =>
  text
    .split('\n')
    .filter(Boolean)
    .map((l) => JSON.parse(l));

async function tried(w, code, ...args) {
  const answer = await w.tool('feed', 'try', ...args, '--json');
  assert.equal(answer.code, code, answer.err + answer.out);
  return JSON.parse(answer.out);
}

scenario('feed try says each step and the result', { ...options, daemon: false }, async (w) => {
  const good = await tried(w, 0, TOPIC, '{"contact":false,"ts":1780315200123}');
  assert.equal(good.feeds, 1);
  const [reading] = good.readings;
  assert.deepEqual(
    [reading.feed, reading.outcome, reading.taken, reading.site, reading.name, reading.state],
    ['panel', 'mapped', true, 'juniper', '3-power', 'isolated'],
  );
  assert.equal(reading.at, '2026-06-01T12:00:00.123Z');
  assert.equal(reading.why, null);
  assert.deepEqual(
    reading.steps.map((s) => s.step),
    ['topic', 'capture', 'capture', 'map', 'name', 'time', 'state', 'result'],
  );
  const text = await w.tool('feed', 'try', TOPIC, '{"contact":0,"ts":1780315200123}');
  assert.equal(text.code, 0);
  assert.match(text.out, /state +\/contact is 0, which is listed as isolated\n/);
  assert.match(text.out, /^mapped feed panel: sensor 3-power of juniper is isolated, read at /m);
});

scenario('feed try says why there is no result', { ...options, daemon: false }, async (w) => {
  const refused = async (payload, outcome, why, ...more) => {
    const [reading] = (await tried(w, 1, TOPIC, payload, ...more)).readings;
    assert.equal(reading.outcome, outcome, JSON.stringify(reading));
    assert.match(reading.why, why);
    return reading;
  };
  const text = '{"contact":"0","ts":1780315200123}';
  const zero = await refused(text, 'unknown-value', /is "0", which/);
  assert.deepEqual([zero.taken, zero.state], [true, null]);
  await refused('{"contact":0}', 'time', /nothing stands at \/ts/);
  await refused('{"contact":0,"ts":"noon"}', 'time', /no Unix time/);
  await refused('closed', 'unreadable', /no JSON: at byte 0/);
  await refused('{"contact":0,"ts":-5}', 'time', /-5/);
  const kept = await tried(w, 1, 'plant/juniper/panel-1/alive', '7', '--retained');
  assert.deepEqual(
    [kept.readings[0].outcome, kept.readings[0].state],
    ['unknown-value', 'offline'],
  );
  const other = await tried(w, 1, 'plant/willow/panel/3/status', '{"contact":0}');
  assert.equal(other.readings[0].outcome, 'anothers-site');
  const miss = await tried(w, 1, 'plant/juniper/pannel/3/status', '{}');
  assert.deepEqual([miss.feeds, miss.readings, miss.nearest], [0, [], 'panel']);
  assert.match(miss.why, /level 3 is "pannel"/);
  const ours = await tried(w, 1, 'forelock/juniper/signal/3-power', '{}');
  assert.equal(ours.nearest, null);
  assert.match(ours.why, /own root/);
  assert.equal((await w.tool('feed', 'try', TOPIC)).code, 2);
  assert.equal((await w.tool('feed')).code, 2);
});

scenario('feed watch lists what is mapped, refused and unmapped', options, async (w) => {
  const boot = w.boot;
  const watch = start(TOOL, ['feed', 'watch', '-c', w.file, '--json', '--seconds', '30'], {
    cwd: w.dir,
  });
  const say = (topic, payload, more) =>
    w.hw.client.publishAsync(topic, payload, { qos: 1, ...more });
  const listed = (predicate) =>
    until(
      async () => {
        await say(TOPIC, JSON.stringify({ contact: 'open', ts: Date.now() }));
        await say('plant/juniper/panel-1/alive', 'x');
        await say('plant/juniper/panle/3/status', '{}');
        return lines(watch.out.slice(0, watch.out.lastIndexOf('\n') + 1)).find(predicate);
      },
      () => `to be listed; it said\n${watch.out}${watch.err}`,
      { every: 100 },
    );
  const mapped = await listed((l) => l.sort === 'mapped');
  assert.deepEqual([mapped.topic, mapped.feed, mapped.state], [TOPIC, 'panel', 'isolated']);
  const refused = await listed((l) => l.sort === 'refused');
  assert.deepEqual([refused.feed, refused.outcome], ['alive', 'unknown-value']);
  const unmapped = await listed((l) => l.sort === 'unmapped');
  assert.equal(unmapped.nearest, 'panel');
  assert.match(unmapped.why, /level 3 is "panle"/);
  // What changes is listed again; what is ours is not listed.
  await say(TOPIC, JSON.stringify({ contact: 'ajar', ts: Date.now() }));
  await until(
    () => lines(watch.out).find((l) => l.topic === TOPIC && l.outcome === 'unknown-value'),
    'the change to be listed',
  );
  assert.ok(!watch.out.includes('"forelock/'));
  assert.deepEqual(await end(watch, 'SIGINT'), { code: 0, signal: null });
  const sum = lines(watch.out).at(-1);
  assert.equal(sum.sort, 'summary');
  assert.ok(sum.mapped.count > 0 && sum.refused.count > 0 && sum.unmapped.count > 0);
  assert.ok(sum.unmapped.rate > 0 && sum.seconds > 0);
  assert.ok(sum.feeds.find((f) => f.feed === 'panel' && f.outcome === 'mapped').count > 0);
  // The daemon's own session and connections were left alone.
  assert.equal(w.seen.docs.get('daemon/edge-1').boot, boot);
  assert.doesNotMatch(w.daemon.err, /connection=\w+ down/);
});

scenario('feed watch ends by itself, and says what it cannot reach', options, async (w) => {
  const quiet = await w.tool('feed', 'watch', '--seconds', '1');
  assert.equal(quiet.code, 0, quiet.err);
  assert.match(quiet.out, /^In 1\.\d s:$/m);
  assert.match(quiet.out, /feed panel +nothing came on plant\/\{site\}\/panel/);
  const few = await w.tool('feed', 'watch', 'plant/#', '--seconds', '1', '--json');
  assert.equal(few.code, 0, few.err);
  assert.equal(lines(few.out).at(-1).mapped.count, 0);
  await w.stopDaemon();
  await w.broker.stop();
  const gone = await w.tool('feed', 'watch', '--seconds', '1');
  assert.equal(gone.code, 4);
  assert.match(gone.err, /the broker 127\.0\.0\.1:\d+: /);
  await w.broker.start();
  await w.startDaemon();
});
