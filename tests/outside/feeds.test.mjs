// Feeds: hardware that speaks on topics and in payloads of its own. Ten invented dialects, each brought
// to a confirmed lockout and a started work, and then to what must stop it.
import assert from 'node:assert/strict';
import { connect } from './harness/observer.mjs';
import { Repair } from './harness/repair.mjs';
import { until } from './harness/until.mjs';
import { tokens, Web } from './harness/web.mjs';
import { scenario } from './harness/world.mjs';

const OURS = ['3-power', '3-product'];
// Of the cabinets on these topics only the third has feeds: the others are heard as always.
const THREE = { map: { 3: '3' } };

// Hardware that says its sensors' states in a dialect, again and again. `say(name, state)` gives the
// messages of one word, `all(states)` those of a whole round; each is [topic, payload, options?].
class Foreign {
  states = {};
  muted = false;

  constructor(w, dialect) {
    Object.assign(this, { w, dialect });
  }

  async start() {
    this.client = connect(this.w.broker.port, this.dialect.options ?? {});
    this.client.on('error', () => {});
    await until(() => this.client.connected, 'the foreign hardware to connect');
    this.timer = setInterval(() => this.beat(), 250);
    return this;
  }

  async publish(messages) {
    for (const [topic, payload, options] of messages) {
      const bytes = typeof payload === 'string' ? payload : JSON.stringify(payload);
      await this.client.publishAsync(topic, bytes, { qos: 1, ...options }).catch(() => {});
    }
  }

  async beat() {
    if (this.muted || !this.client.connected) return;
    const d = this.dialect;
    if (d.alive) await this.publish(d.alive());
    if (d.all) await this.publish(d.all(this.states));
    else
      for (const [name, state] of Object.entries(this.states))
        await this.publish(d.say(name, state));
  }

  async set(names, state) {
    for (const name of [names].flat()) this.states[name] = state;
    this.muted = false;
    await this.beat();
  }

  async close() {
    clearInterval(this.timer);
    await this.client?.endAsync(true).catch(() => {});
  }
}

// A scenario whose sensors of 3A are heard by feeds alone; `body` begins with the work started.
function dialect(name, spec, body) {
  const options = {
    hardware: false,
    maxAge: 3,
    ...spec.world,
    tweak(plan) {
      plan.main.feeds = ['feeds/*.json'];
      plan.files = { 'feeds/panel.json': JSON.stringify({ feeds: spec.feeds }) };
      tokens(plan);
      spec.tweak?.(plan);
    },
  };
  scenario(name, options, async (w) => {
    const foreign = await new Foreign(w, spec).start();
    const canonical = w.hw.set.bind(w.hw);
    w.hw.set = async (names, state) => {
      const list = [names].flat();
      await foreign.set(
        list.filter((n) => OURS.includes(n)),
        state,
      );
      await canonical(
        list.filter((n) => !OURS.includes(n)),
        state,
      );
    };
    try {
      if (!spec.alive) await w.hw.controller('panel-1', 'online');
      await w.hw.start();
      await w.hw.set(OURS, 'live');
      for (const point of OURS) await w.point(point, 'live');
      const job = await (spec.repair?.(w) ?? new Repair(w)).to('working');
      await body(w, foreign, job);
    } finally {
      await foreign.close();
    }
  });
}

const stopped = async (w, job, why) => {
  await job.phase('stopped', 'broken');
  const alarm = await job.alarm();
  if (why) assert.equal(alarm.why, why, JSON.stringify(alarm));
};
const bit = (state, isolated, live) => (state === 'isolated' ? isolated : live);
const split = (name) => name.split('-');
let counter = 0;
const stamp = (() => {
  let last = 0;
  return () => (last = Math.max(Date.now(), last + 1));
})();

const metric = async (w, feed, outcome) => {
  const text = await new Web(w).get('/metrics');
  const line = text
    .split('\n')
    .find((l) => l.startsWith(`forelock_feed_total{feed="${feed}",outcome="${outcome}"}`));
  return Number(line?.split(' ').at(-1));
};

// 1. Nested objects, Unix milliseconds, a counter that wraps, quality; an unknown value stops.
dialect(
  'nested objects; a value on neither list stops the work and is counted',
  {
    feeds: [
      {
        feed: 'panel',
        topic: 'plant/{site}/panel/{circuit}/{kind}/status',
        to: 'signal',
        sensor: '{circuit}-{kind}',
        captures: { circuit: THREE },
        payload: 'json',
        state: { at: '/io/contact/state', isolated: ['open'], live: ['closed'] },
        time: { at: '/ts', as: 'unix-ms' },
        seq: { at: '/n', modulus: 256 },
        quality: { at: '/q', good: ['GOOD', 192] },
      },
    ],
    say(name, state) {
      const [circuit, kind] = split(name);
      return [
        [
          `plant/juniper/panel/${circuit}/${kind}/status`,
          {
            io: { contact: { state: this.word ?? bit(state, 'open', 'closed') } },
            ts: stamp(),
            n: counter++ % 256,
            q: 192,
          },
        ],
      ];
    },
  },
  async (w, foreign, job) => {
    foreign.dialect.word = 'ajar';
    await stopped(w, job, 'point-unknown');
    await w.point('3-power', 'unknown', 'bad-quality');
    assert.ok((await metric(w, 'panel', 'unknown-value')) > 0);
    assert.ok((await metric(w, 'panel', 'mapped')) > 0);
    // Said once, then rarely.
    await until(async () => (await metric(w, 'panel', 'unknown-value')) > 8, 'more of them');
    const said = w.daemon.err.split('\n').filter((l) => l.includes('not_mapped=unknown-value'));
    assert.equal(said.length, 1, said.join('\n'));
    assert.match(said[0], /feed=panel .*topic=plant\/juniper\/panel/);
  },
);

// 2. Arrays.
dialect(
  'arrays; live stops the work',
  {
    feeds: [0, 1].map((i) => ({
      feed: `input-${i}`,
      topic: 'rack/{rack}/inputs',
      to: 'signal',
      sensor: ['{rack}-power', '{rack}-product'][i],
      payload: 'json',
      state: { at: `/in/${i}/v`, isolated: [0], live: [1] },
    })),
    all: (states) => [
      ['rack/3/inputs', { in: OURS.map((n) => ({ v: bit(states[n], 0, 1) })) }],
    ],
  },
  async (w, foreign, job) => {
    await foreign.set('3-product', 'live');
    await stopped(w, job, 'point-live');
  },
);

// 3. Plain text, and names that a map translates.
dialect(
  'plain text and a map of circuits; live stops the work',
  {
    feeds: [
      {
        feed: 'relays',
        topic: 'PLC/{site}/{relay}',
        to: 'signal',
        sensor: '{relay}',
        payload: 'text',
        captures: {
          site: { map: { 'site 0815': 'juniper' } },
          relay: { map: { K17: '3-power', K18: '3-product' } },
        },
        state: { isolated: ['OFF'], live: ['ON'] },
      },
    ],
    say: (name, state) => [
      [`PLC/site 0815/${name === '3-power' ? 'K17' : 'K18'}`, bit(state, 'OFF', 'ON')],
    ],
  },
  async (w, foreign, job) => {
    await foreign.publish([['PLC/site 0815/K19', 'ON']]);
    await until(async () => (await metric(w, 'relays', 'capture')) === 1, 'the count of a miss');
    await foreign.set('3-power', 'live');
    await stopped(w, job, 'point-live');
  },
);

// 4. Numbers as strings.
dialect(
  'numbers as strings; a missing time stops the work',
  {
    feeds: [
      {
        feed: 'strings',
        topic: 'gw/{c}/{k}',
        to: 'signal',
        sensor: '{c}-{k}',
        captures: { c: THREE },
        payload: 'json',
        state: { at: '/v', isolated: ['0'], live: ['1'] },
        time: { at: '/t', as: 'unix-s' },
        seq: { at: '/n' },
      },
    ],
    say(name, state) {
      const [c, k] = split(name);
      const time = this.timeless ? {} : { t: (stamp() / 1000).toFixed(3) };
      return [[`gw/${c}/${k}`, { v: bit(state, '0', '1'), n: String(counter++), ...time }]];
    },
  },
  async (w, foreign, job) => {
    foreign.dialect.timeless = true;
    await stopped(w, job, 'point-unknown');
    assert.ok((await metric(w, 'strings', 'time')) > 0);
  },
);

// 5. Inverted logic: the auxiliary contact is true while the breaker is open.
dialect(
  'inverted logic; live stops the work',
  {
    feeds: [
      {
        feed: 'aux',
        topic: '{site}/aux/{c}/{k}',
        to: 'signal',
        sensor: '{c}-{k}',
        captures: { c: THREE },
        payload: 'json',
        state: { at: '', isolated: [true], live: [false] },
      },
    ],
    say: (name, state) => {
      const [c, k] = split(name);
      return [[`juniper/aux/${c}/${k}`, String(bit(state, true, false))]];
    },
  },
  async (w, foreign, job) => {
    // 1 is not true, and another's site is nobody's business.
    await foreign.publish([['willow/aux/3/power', 'false']]);
    await foreign.set('3-power', 'live');
    await stopped(w, job, 'point-live');
  },
);

// 6. RFC 3339 with an offset; the hardware's own doubt.
dialect(
  'times of another zone; bad quality stops the work',
  {
    feeds: [
      {
        feed: 'zoned',
        topic: 'a/b/c/{c}/d/{k}/e',
        to: 'signal',
        sensor: '{c}-{k}',
        captures: { c: THREE },
        payload: 'json',
        state: { at: '/m~1n', isolated: [2], live: [1] },
        time: { at: '/when', as: 'rfc3339' },
        quality: { at: '/ok', good: [true] },
      },
    ],
    say(name, state) {
      const [c, k] = split(name);
      const local = new Date(stamp() - 6 * 3600000).toISOString().replace('Z', '-06:00');
      return [
        [
          `a/b/c/${c}/d/${k}/e`,
          { 'm/n': bit(state, 2, 1), when: local, ok: !(this.doubt && name === '3-product') },
        ],
      ];
    },
  },
  async (w, foreign, job) => {
    foreign.dialect.doubt = true;
    await stopped(w, job, 'point-unknown');
    assert.ok((await metric(w, 'zoned', 'bad-quality')) > 0);
  },
);

// 7. Percent of full scale, that answers a check by itself.
const pressure = { psi: 0.4 };
dialect(
  'line pressure in percent answers a check; pressure stops the work',
  {
    feeds: [
      {
        feed: 'contacts',
        topic: 'x/{c}/{k}',
        to: 'signal',
        sensor: '{c}-{k}',
        captures: { c: THREE },
        payload: 'text',
        state: { isolated: ['0'], live: ['1'] },
      },
      {
        feed: 'pressure',
        topic: 'x/{c}/{k}/percent',
        to: 'measure',
        measure: '{c}-{k}-psi',
        payload: 'text',
        value: { scale: 0.6, offset: 0 },
      },
    ],
    tweak(plan) {
      plan.sites.juniper.measures = [
        {
          measure: '3-line-psi',
          kind: 'line-pressure',
          unit: 'psi',
          title: 'Line pressure, regular',
          positions: ['3A', '3B'],
          max_age_s: 3,
        },
      ];
      plan.procedures.boot.relieve = [
        { check: 'bled', ask: 'Line bled', unit: 'psi', max: 2, measure: 'line-pressure' },
      ];
    },
    repair(w) {
      const job = new Repair(w);
      job.rules = { ...job.rules, relieve: [] }; // nobody signs it by hand
      const bled = (d) => d.checks.find((c) => c.check === 'bled')?.pass;
      job.confirm = async () => {
        await job.doc(bled, 'the pressure to answer'); // what is verified comes after it
        await Repair.prototype.confirm.call(job);
      };
      return job;
    },
    say(name, state) {
      const [c, k] = split(name);
      const percent = (pressure.psi / 0.6).toFixed(4);
      return [
        [`x/${c}/${k}`, bit(state, '0', '1')],
        ['x/3/line/percent', percent],
      ];
    },
  },
  async (w, foreign, job) => {
    const signed = await job.doc((d) => d.checks.find((c) => c.check === 'bled')?.pass, 'signed');
    const bled = signed.checks.find((c) => c.check === 'bled');
    assert.equal(bled.by, null);
    assert.ok(Math.abs(bled.value - 0.4) < 0.001, JSON.stringify(bled));
    // A claimed measure is not heard where canonical ones are.
    await w.hw.send('measure/3-line-psi', { value: 30, unit: 'psi' });
    await w.fence();
    await job.phase('working', 'confirmed');
    pressure.psi = 31;
    await stopped(w, job);
  },
);

// 8. A publisher that only ever publishes retained, with its times.
dialect(
  'retained publishers; silence stops the work',
  {
    feeds: [
      {
        feed: 'kept',
        topic: 'kept/{c}/{k}',
        to: 'signal',
        sensor: '{c}-{k}',
        captures: { c: THREE },
        payload: 'json',
        state: { at: '/s', isolated: ['off'], live: ['on'] },
        time: { at: '/t', as: 'unix-ms' },
      },
      {
        feed: 'untimed',
        topic: 'untimed/{c}/{k}',
        to: 'signal',
        sensor: '{c}-{k}-b',
        payload: 'json',
        state: { at: '/s', isolated: ['off'], live: ['on'] },
      },
    ],
    tweak(plan) {
      const point = plan.sites.juniper.points.find((p) => p.point === '5-power');
      point.sensors = ['5-power-a', '5-power-b'];
    },
    say: (name, state) => {
      const [c, k] = split(name);
      const word = { s: bit(state, 'off', 'on'), t: stamp() };
      return [[`kept/${c}/${k}`, word, { retain: true }]];
    },
  },
  async (w, foreign, job) => {
    // Published as retained it counts when it comes; kept by the broker and without a time it does not.
    await foreign.publish([['untimed/5/power', { s: 'off' }, { retain: true }]]);
    await until(async () => (await metric(w, 'untimed', 'mapped')) === 1, 'the count');
    foreign.muted = true;
    await stopped(w, job, 'point-stale');
    // What the broker kept is as old as it says: a restarted daemon does not take it for fresh.
    await w.stopDaemon();
    await w.startDaemon();
    await w.seen.doc('point/3-power', (d) => d.state === 'unknown', 'unknown after the restart');
    await until(async () => (await metric(w, 'untimed', 'retained')) === 1, 'the count');
  },
);

// 9. One message for all readings.
dialect(
  'batched readings; one that is live stops the work',
  {
    feeds: [
      {
        feed: 'batch',
        topic: 'site/{site}/snapshot',
        to: 'signal',
        sensor: '{id}',
        payload: 'json',
        each: '/readings',
        captures: { id: { at: '/tag', map: { 101: '3-power', 102: '3-product' } } },
        state: { at: '/v', isolated: ['OPEN'], live: ['SHUT'] },
        time: { at: '/ts', as: 'unix-ms', from: 'message' },
      },
    ],
    all: (states) => [
      [
        'site/juniper/snapshot',
        {
          ts: stamp(),
          readings: [
            { tag: 7, v: 'OPEN' },
            ...OURS.map((n, i) => ({ tag: 101 + i, v: bit(states[n], 'OPEN', 'SHUT') })),
          ],
        },
      ],
    ],
  },
  async (w, foreign, job) => {
    assert.ok((await metric(w, 'batch', 'capture')) > 0);
    await foreign.set('3-product', 'live');
    await stopped(w, job, 'point-live');
  },
);

// 10. A controller that dies: its last will says so.
dialect(
  'a controller that dies stops the work',
  {
    feeds: [
      {
        feed: 'alive',
        topic: 'net/{controller}/alive',
        to: 'controller',
        controller: '{controller}',
        payload: 'text',
        state: { online: ['1'], offline: ['0'] },
      },
      {
        feed: 'words',
        topic: 'net/panel-1/{c}/{k}',
        to: 'signal',
        sensor: '{c}-{k}',
        captures: { c: THREE },
        payload: 'text',
        state: { isolated: ['i'], live: ['l'] },
      },
    ],
    world: { maxAge: 60 },
    options: {
      reconnectPeriod: 0,
      will: { topic: 'net/panel-1/alive', payload: '0', qos: 1, retain: true },
    },
    alive: () => [['net/panel-1/alive', '1', { retain: true }]],
    say: (name, state) => {
      const [c, k] = split(name);
      return [[`net/panel-1/${c}/${k}`, bit(state, 'i', 'l')]];
    },
  },
  async (w, foreign, job) => {
    foreign.client.stream.destroy();
    await stopped(w, job, 'controller-offline');
    await w.point('3-power', 'unknown', 'controller-offline');
  },
);

// Readers.
scenario(
  'readers by a feed: badges of people, and of nobody',
  {
    tweak(plan) {
      plan.main.feeds = ['feeds/*.json'];
      plan.files = {
        'feeds/readers.json': JSON.stringify({
          feeds: [
            {
              feed: 'readers',
              topic: 'plant/{site}/reader/{point}',
              to: 'tag',
              payload: 'json',
              point: '{point}',
              person: { at: '/badge', map: { '0451': 't-104' } },
              state: { at: '/event', hung: ['in'], lifted: ['out'] },
              time: { at: '/t', as: 'unix-ms' },
            },
          ],
        }),
      };
      tokens(plan);
    },
  },
  async (w) => {
    const read = (point, badge, event, options) =>
      w.hw.client.publishAsync(
        `plant/juniper/reader/${point}`,
        JSON.stringify({ badge, event, t: stamp() }),
        { qos: 1, ...options },
      );
    const tags = (predicate) =>
      w.seen.doc('point/3-power', (d) => predicate(d.tags)).then((d) => d.tags);
    const job = await new Repair(w).to('isolated');
    for (const point of job.points) await read(point, '0451', 'in');
    const [tag] = await tags((l) => l.length === 1 && l[0].counts);
    assert.deepEqual([tag.person, tag.job], ['t-104', 'J-1']);
    job.at = 'tagged';
    await job.to('working');
    // The map does not have it: nobody's lock, though it reads like somebody's id.
    await read('3-power', 't-105', 'in');
    const both = await tags((l) => l.length === 2);
    const stranger = both.find((t) => t.person === null);
    assert.deepEqual([stranger.job, stranger.badge], [null, 't-105']);
    await read('3-power', 't-105', 'out');
    await tags((l) => l.length === 1);
    // Retained ones are counted and ignored.
    await read('3-power', '0451', 'out', { retain: true });
    await until(async () => (await metric(w, 'readers', 'retained')) === 1, 'the count');
    await job.phase('working', 'confirmed');
    await read('3-power', '0451', 'out');
    await stopped(w, job, 'tag-missing').catch(() => stopped(w, job));
  },
);

scenario(
  'a claimed sensor is not heard on its canonical topic; a canonical measure is heard',
  {
    hardware: false,
    tweak(plan) {
      plan.main.feeds = ['feeds/*.json'];
      plan.files = {
        'feeds/f.json': JSON.stringify({
          feeds: [
            {
              feed: 'f',
              topic: 'f/{c}',
              to: 'signal',
              sensor: '{c}-power',
              payload: 'text',
              state: { isolated: ['0'], live: ['1'] },
            },
          ],
        }),
      };
      tokens(plan);
    },
  },
  async (w) => {
    await w.hw.controller('panel-1', 'online');
    await w.hw.send('signal/4-power', { state: 'live' });
    await w.hw.send('signal/5-product', { state: 'live' });
    await w.point('5-product', 'live');
    assert.notEqual(w.seen.docs.get('juniper/point/4-power').state, 'live');
    const text = await new Web(w).get('/metrics');
    assert.match(text, /forelock_dropped_total\{reason="claimed by a feed"\} 1\n/);
    await w.hw.client.publishAsync('f/4', '1', { qos: 1 });
    await w.point('4-power', 'live');
  },
);
