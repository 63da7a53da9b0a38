// How words of hardware are weighed: order, copies, age, late words, controllers, settling, two sensors.
import assert from 'node:assert/strict';
import { delay } from './harness/until.mjs';
import { Repair } from './harness/repair.mjs';
import { pointOf } from './harness/site.mjs';
import { scenario } from './harness/world.mjs';

const at = (ms) => new Date(Date.now() + ms).toISOString();

// A scenario in which only the fence repeats itself: the rest says what the scenario says.
function quiet(name, options, body) {
  scenario(name, { hardware: false, maxAge: 30, ...options }, async (w) => {
    await w.hw.controller('panel-1', 'online');
    await w.hw.set('9-fence', 'live');
    await w.point('9-fence', 'live');
    await body(
      w,
      (word, more) => w.hw.send('signal/3-product', word, more),
      async (state, trust) => {
        await w.fence();
        const document = await w.seen.doc('point/3-product');
        assert.deepEqual([document.state, document.trust], [state, trust]);
      },
    );
  });
}

quiet('never heard, then heard without any mark', {}, async (w, say, is) => {
  await is('unknown', 'silent');
  await say({ state: 'live' });
  await is('live', 'fresh');
  await say({ state: 'isolated' });
  await w.point('3-product', 'isolated', 'fresh');
  await say({ state: 'live' });
  await is('live', 'fresh');
});

quiet('by at: newer is taken, older is not, whatever seq says', {}, async (w, say, is) => {
  await say({ state: 'live', at: at(-3000), seq: 9 });
  await is('live', 'fresh');
  await say({ state: 'isolated', at: at(-2000), seq: 1 });
  await w.point('3-product', 'isolated', 'fresh');
  await say({ state: 'live', at: at(-1500), seq: 0 });
  await is('live', 'fresh');
  await say({ state: 'isolated', at: at(-4000), seq: 99 });
  await is('live', 'fresh');
});

quiet('an equal one is a copy, except live after isolated', {}, async (w, say, is) => {
  const when = at(-1000);
  await say({ state: 'live', at: when });
  await say({ state: 'isolated', at: when });
  await is('live', 'fresh');
  const later = at(-500);
  await say({ state: 'isolated', at: later });
  await w.point('3-product', 'isolated', 'fresh');
  await say({ state: 'live', at: later });
  await is('live', 'fresh');
  await say({ state: 'isolated', seq: 5 });
  await w.point('3-product', 'isolated', 'fresh');
  await say({ state: 'live', seq: 5 });
  await is('live', 'fresh');
});

quiet('copies refresh nothing', { maxAge: 1.5 }, async (w, say) => {
  const word = { state: 'isolated', at: at(0), seq: 1 };
  const first = Date.now();
  await say(word);
  await w.point('3-product', 'isolated');
  const timer = setInterval(() => say(word), 150);
  await w.point('3-product', 'unknown', 'stale');
  clearInterval(timer);
  assert.ok(Date.now() - first < 4000, 'copies kept it fresh');
});

// The deadline of the first word moves with the second, which changes nothing else, and nothing comes after.
quiet(
  'a word that only refreshes puts the end off, and it comes',
  { maxAge: 1.5 },
  async (w, say) => {
    await say({ state: 'live', at: at(0) });
    await w.point('3-product', 'live', 'fresh');
    await delay(700);
    const refreshed = Date.now();
    await say({ state: 'live', at: at(0) });
    await w.point('3-product', 'unknown', 'stale');
    const held = Date.now() - refreshed;
    assert.ok(held > 1300 && held < 4000, `stale after ${held} ms`);
  },
);

quiet('age counts from at, not from arrival', { maxAge: 5 }, async (w, say, is) => {
  await say({ state: 'isolated', at: at(-60000) });
  await w.fence();
  assert.equal((await w.seen.doc('point/3-product')).state, 'unknown');
  await say({ state: 'isolated', at: at(-1000) });
  await w.point('3-product', 'isolated', 'fresh');
  const document = await w.seen.doc('point/3-product');
  assert.ok(Date.now() - Date.parse(document.heard) >= 900, `heard ${document.heard}`);
  await is('isolated', 'fresh');
});

quiet(
  'by seq: a lower one is not taken until the sensor is stale',
  { maxAge: 1.5 },
  async (w, say, is) => {
    await say({ state: 'live', seq: 10 });
    await say({ state: 'isolated', seq: 4 });
    await is('live', 'fresh');
    await w.point('3-product', 'unknown', 'stale');
    await say({ state: 'isolated', seq: 4 });
    await w.point('3-product', 'isolated');
  },
);

quiet('by seq: a lower one is taken once its controller has come online again', {}, async (w) => {
  const say = (word) => w.hw.send('signal/3-power', word);
  await say({ state: 'live', seq: 10 });
  await w.point('3-power', 'live', 'fresh');
  // A repeated `online` means nothing.
  await w.hw.controller('panel-1', 'online');
  await say({ state: 'isolated', seq: 2 });
  await w.fence();
  assert.equal((await w.seen.doc('point/3-power')).state, 'live');
  await w.hw.controller('panel-1', 'offline');
  await w.point('3-power', 'unknown', 'controller-offline');
  await w.hw.controller('panel-1', 'online');
  await w.fence();
  // Each of its sensors must be heard anew.
  assert.equal((await w.seen.doc('point/3-power')).state, 'unknown');
  await say({ state: 'isolated', seq: 2 });
  await w.point('3-power', 'isolated', 'fresh');
});

quiet(
  'dated ahead by more than 5 s, of bad quality, or unreadable: bad-quality until a newer good one',
  {},
  async (w, say, is) => {
    const bad = [
      { state: 'isolated', at: at(60000) },
      { state: 'isolated', at: at(0), quality: 'bad' },
      { state: 'isolated', quality: 192 },
      { state: 'open' },
      { state: 'Isolated' },
      { at: at(0) },
      { state: true },
      { state: 'isolated', at: 'noon' },
      { state: 'isolated', seq: 'first' },
      'isolated',
      '{"state":"isolated","state":"live"}',
      '[]',
      '',
      Buffer.from([0x7b, 0xff, 0xfe, 0x7d]),
    ];
    for (const word of bad) {
      await say({ state: 'isolated', at: new Date(w.hw.stamp()).toISOString() });
      await w.point('3-product', 'isolated');
      await say(word);
      await w.point('3-product', 'unknown', 'bad-quality');
      // An older good one does not help.
      await say({ state: 'isolated', at: at(-20000) });
      await is('unknown', 'bad-quality');
    }
  },
);

quiet('a little ahead of us counts as arrival', { maxAge: 1.5 }, async (w, say, is) => {
  await say({ state: 'live', at: at(3000) });
  await is('live', 'fresh');
  const document = await w.seen.doc('point/3-product');
  assert.ok(Date.parse(document.heard) <= Date.now() + 200, `heard ${document.heard}`);
  await w.point('3-product', 'unknown', 'stale');
});

quiet(
  'live counts as soon as it is said, also with unknown fields and null quality',
  {},
  async (w, say, is) => {
    await say({ state: 'live', quality: null, at: null, voltage: 230, more: { a: [1] } });
    await is('live', 'fresh');
  },
);

scenario(
  'a retained word counts only with a time, and by that time',
  { daemon: false },
  async (w) => {
    await w.hw.send('controller/panel-1', 'online', { retain: true });
    await w.hw.send('signal/3-product', { state: 'isolated' }, { retain: true });
    await w.hw.send('signal/3-vapor', { state: 'isolated', at: at(-3600000) }, { retain: true });
    await w.hw.send('signal/3-power', { state: 'live', at: at(0) }, { retain: true });
    await w.startDaemon();
    await w.point('3-power', 'live', 'fresh');
    await w.hw.set('9-fence', 'live');
    await w.point('9-fence', 'live');
    await w.point('3-product', 'unknown', 'silent');
    assert.equal((await w.seen.doc('point/3-vapor')).state, 'unknown');
  },
);

quiet('controllers: never heard is offline, and anything but online is', {}, async (w) => {
  await w.hw.send('signal/3-power', { state: 'isolated' });
  await w.point('3-power', 'isolated');
  for (const word of ['offline', 'ONLINE', '', '{"state":"online"}', 'online ']) {
    await w.hw.send('controller/panel-1', 'online');
    await w.fence();
    await w.hw.send('signal/3-power', { state: 'isolated' });
    await w.point('3-power', 'isolated');
    await w.hw.send('controller/panel-1', word);
    await w.point('3-power', 'unknown', 'controller-offline');
  }
});

scenario('a controller that was never heard', { hardware: false }, async (w) => {
  await w.hw.set('9-fence', 'live');
  await w.hw.send('signal/3-power', { state: 'isolated' });
  await w.point('9-fence', 'live');
  const document = await w.seen.doc('point/3-power');
  assert.deepEqual([document.state, document.trust], ['unknown', 'controller-offline']);
});

scenario('from an offline controller live still breaks', {}, async (w) => {
  const job = await new Repair(w).to('tagged');
  await w.hw.controller('panel-1', 'offline');
  await w.point('3-power', 'unknown', 'controller-offline');
  await w.fence();
  assert.equal(w.seen.alarms('lockout-broken').length, 0);
  await w.hw.set('3-power', 'live');
  await job.alarm();
  await w.seen.doc('point/3-power', (d) => d.tags.every((t) => !t.counts));
});

quiet(
  'isolated is settled once held for settle_s without a gap',
  { settle: 1 },
  async (w, say, is) => {
    const first = Date.now();
    const settling = w.point('3-product', 'isolated', 'settling');
    await say({ state: 'isolated' });
    await settling;
    await delay(600);
    await say({ state: 'live' });
    await w.point('3-product', 'live');
    const second = Date.now();
    await say({ state: 'isolated' });
    const document = await w.point('3-product', 'isolated', 'fresh');
    assert.ok(Date.now() - second >= 900, `settled after ${Date.now() - second} ms`);
    assert.ok(Date.now() - first >= 1500);
    assert.equal(document.state, 'isolated');
  },
);

quiet('two sensors: isolated on all, live on any', {}, async (w) => {
  const say = (s, state) => w.hw.send(`signal/5-power-${s}`, { state });
  await say('a', 'isolated');
  await w.fence();
  assert.equal((await w.seen.doc('point/5-power')).state, 'unknown');
  await say('b', 'live');
  await w.point('5-power', 'live', 'disagrees');
  await say('b', 'isolated');
  await w.point('5-power', 'isolated', 'fresh');
  await say('a', 'live');
  await w.point('5-power', 'live', 'disagrees');
  await say('b', 'live');
  await w.point('5-power', 'live', 'fresh');
});

quiet('a point is as old as its oldest sensor', { maxAge: 1.5 }, async (w) => {
  const say = (s) => w.hw.send(`signal/5-power-${s}`, { state: 'isolated' });
  await say('a');
  await say('b');
  await w.point('5-power', 'isolated', 'fresh');
  const timer = setInterval(() => say('a'), 200);
  await w.point('5-power', 'unknown', 'stale');
  clearInterval(timer);
});

scenario(
  'a late live between tag and newest word breaks; one before the tag spares the lock',
  { maxAge: 30 },
  async (w) => {
    const before = at(0);
    await delay(20);
    const job = await new Repair(w).to('confirmed');
    await w.hw.send('signal/3-product', { state: 'live', at: before });
    await job.doc((d) => d.lockout === 'unconfirmed', 'the lockout to be lost');
    await w.fence(); // the point's own document may come after the job's
    await w.point('3-product', 'isolated', 'fresh');
    await w.seen.doc('point/3-product', (d) => d.tags.length === 1 && d.tags[0].counts);
    assert.equal(w.seen.alarms('lockout-broken').length, 0);
    await job.signGroup('verify');
    await job.to('working');
    await delay(20);
    const during = at(0);
    await delay(20);
    await w.hw.set('3-product', 'isolated');
    await w.fence();
    await w.hw.send('signal/3-product', { state: 'live', at: during });
    await job.phase('stopped', 'broken');
    await job.alarm();
    await w.seen.doc('point/3-product', (d) => d.tags.length === 1 && !d.tags[0].counts);
  },
);

scenario(
  'with only a seq to tell, a late live breaks and no tag counts',
  {
    maxAge: 60,
    tweak: (p) => (pointOf(p, '3-product').settle_s = 0),
  },
  async (w) => {
    w.hw.mute('3-product');
    await w.hw.controller('panel-1', 'online');
    await w.hw.send('signal/3-product', { state: 'live', seq: 5000 });
    await w.hw.send('signal/3-product', { state: 'isolated', seq: 5001 });
    await w.hw.set('3-power', 'isolated');
    await w.point('3-product', 'isolated', 'fresh');
    await w.point('3-power', 'isolated', 'fresh');
    const job = await new Repair(w).to('open');
    job.at = 'isolated';
    await job.to('working');
    await w.hw.send('signal/3-product', { state: 'isolated', seq: 5010 });
    await w.fence();
    await w.hw.send('signal/3-product', { state: 'live', seq: 5005 });
    await job.phase('stopped', 'broken');
    await w.seen.doc('point/3-product', (d) => d.tags.length === 1 && !d.tags[0].counts);
  },
);

quiet('words about sensors that nobody configured change nothing', {}, async (w, _say, is) => {
  await w.hw.send('signal/no-such', { state: 'live' });
  await w.hw.send('signal/3-product/extra', { state: 'live' });
  await w.hw.send('signal/.bad', { state: 'live' });
  await w.hw.send('signal', { state: 'live' });
  await w.hw.send('controller/no-such', 'online');
  await is('unknown', 'silent');
});
