// The harness itself, with the broker alone: a harness that sees nothing would let everything pass.
import assert from 'node:assert/strict';
import test from 'node:test';
import { connect } from './harness/observer.mjs';
import { CODES, EVENTS, wrongAnswer, wrongDocument, wrongEvent } from './harness/shape.mjs';
import { World } from './harness/world.mjs';

async function withBroker(options, body) {
  const w = await new World({ daemon: false, ...options }).setUp();
  try {
    await body(w);
  } finally {
    await w.tearDown(false);
    w.remove();
  }
}

const POSITION = {
  position: '3A',
  service: 'in-service',
  cause: null,
  job: null,
  with: null,
  phase: null,
  lockout: null,
  since: '2026-01-01T00:00:00.000Z',
};
const ANSWER = {
  id: null,
  verb: 'start-work',
  accepted: true,
  job: 'J-1',
  phase: 'working',
  lockout: 'confirmed',
  at: '2026-01-01T00:00:00.000Z',
  refusals: [],
};
const REFUSAL = {
  code: 'point-live',
  subject: '3-power',
  need: 'isolated',
  found: 'live',
  age_s: 0.2,
  say: 'Breaker is live.',
  args: { say: 'point-live', point: '3-power', title: 'Breaker', state: 'live', trust: 'fresh' },
};

test('the lists of the contract are whole', () => {
  assert.equal(CODES.length, 58);
  assert.equal(new Set(CODES).size, 58);
  assert.equal(EVENTS.length, 47);
});

test('a document is held against its shape', () => {
  assert.deepEqual(wrongDocument(['juniper', 'position', '3A'], POSITION), []);
  const changes = [
    { since: '2026-01-01T00:00:00Z' },
    { cause: 'job' },
    { extra: 1 },
    { service: 'out' },
    { position: '3B' },
    { with: 'J-2' },
    { phase: 'paused' },
  ];
  for (const change of changes)
    assert.notDeepEqual(
      wrongDocument(['juniper', 'position', '3A'], { ...POSITION, ...change }),
      [],
      JSON.stringify(change),
    );
  const { job, ...missing } = POSITION;
  assert.equal(job, null);
  assert.notDeepEqual(wrongDocument(['juniper', 'position', '3A'], missing), []);
  assert.notDeepEqual(wrongDocument(['juniper', 'novelty', '3A'], {}), []);
  const point = {
    point: 'p',
    energy: 'e',
    state: 'isolated',
    trust: 'stale',
    tags: [],
    distrusted: [],
    heard: null,
    since: POSITION.since,
  };
  assert.deepEqual(wrongDocument(['juniper', 'point', 'p'], point), ['isolated cannot be stale']);
});

test('an answer is held against its shape', () => {
  assert.deepEqual(wrongAnswer(ANSWER), []);
  assert.deepEqual(wrongAnswer({ ...ANSWER, accepted: false, refusals: [REFUSAL] }), []);
  assert.notDeepEqual(wrongAnswer({ ...ANSWER, refusals: [REFUSAL] }), []);
  assert.notDeepEqual(wrongAnswer({ ...ANSWER, accepted: false }), []);
  assert.notDeepEqual(wrongAnswer({ ...ANSWER, again: false }), []);
  const unheard = { ...ANSWER, accepted: false, refusals: [{ ...REFUSAL, code: 'no-such-code' }] };
  assert.notDeepEqual(wrongAnswer(unheard), []);
});

test('an event is held against its shape', () => {
  const event = {
    specversion: '1.0',
    id: '7',
    source: '/forelock/juniper',
    type: 'forelock.work.started',
    subject: '3A',
    data: { job: 'J-1', position: '3A', at: '2026-01-01T00:00:00.000Z', evidence: [] },
  };
  const packet = {
    qos: 1,
    retain: false,
    properties: { contentType: 'application/cloudevents+json' },
  };
  assert.deepEqual(wrongEvent('juniper', event, packet), []);
  assert.notDeepEqual(wrongEvent('juniper', { ...event, id: 7 }, packet), []);
  assert.notDeepEqual(wrongEvent('juniper', event, { ...packet, qos: 0 }), []);
  assert.notDeepEqual(wrongEvent('juniper', { ...event, data: { job: null } }, packet), []);
});

test('documents are kept, emptied and known again after the broker was restarted', () =>
  withBroker({}, async (w) => {
    await w.seen.publish('juniper/position/3A', POSITION, { retain: true });
    await w.position('3A', (d) => d.service === 'in-service');
    await w.broker.restart();
    await w.position('3A', (d) => d.service === 'in-service');
    await w.seen.publish('juniper/position/3A', '', { retain: true });
    await w.seen.gone('position/3A');
    assert.equal(w.seen.versions('position/3A').at(-1), null);
    assert.deepEqual(w.seen.wrong, []);
    await w.seen.publish('juniper/position/3A', POSITION);
    await w.seen.wait(() => w.seen.wrong.length, 'a document that is not retained to be noticed');
  }));

test('a request finds its answer, and a wait gives up with what it saw', () =>
  withBroker({}, async (w) => {
    const peer = connect(w.broker.port);
    await peer.subscribeAsync('forelock/juniper/request/+/+', { qos: 1 });
    peer.on('message', (topic, payload, packet) => {
      const { responseTopic, correlationData } = packet.properties;
      peer.publish(responseTopic, JSON.stringify(ANSWER), {
        qos: 1,
        properties: { correlationData },
      });
    });
    assert.equal((await w.ok('t-104', 'start-work', { job: 'J-1' })).phase, 'working');
    await assert.rejects(w.no('t-104', 'start-work', { job: 'J-1' }, []), /was accepted/);
    await peer.endAsync(true);
    await assert.rejects(
      w.seen.request('t-104', 'start-work', {}, { timeout: 200 }),
      /no answer to start-work/,
    );
    await assert.rejects(
      w.seen.doc('position/9', () => true, 'exist', 100),
      /gave up after 100 ms: position\/9/,
    );
  }));

test('hardware repeats itself with new times and falls silent when muted', () =>
  withBroker({}, async (w) => {
    const words = () => w.seen.log.filter((e) => e.below === 'juniper/signal/a').map((e) => e.body);
    await w.hw.set('a', 'isolated');
    await w.hw.start();
    await w.seen.wait(() => words().length >= 4, 'four words');
    const times = words().map((word) => Date.parse(word.at));
    assert.ok(
      times.every((at, i) => i === 0 || at > times[i - 1]),
      `${times}`,
    );
    w.hw.mute('a');
    await w.hw.set('b', 'live');
    const had = words().length;
    await w.seen.wait(
      () => w.seen.log.filter((e) => e.below === 'juniper/signal/b').length >= 4,
      'the others to go on',
    );
    assert.ok(words().length <= had + 1);
  }));

test('the relay tells connections apart and cuts one kind', () =>
  withBroker({ proxy: true }, async (w) => {
    const durable = connect(w.proxy.port, { clean: false, clientId: 'durable' });
    const live = connect(w.proxy.port);
    const both = () => durable.connected && live.connected;
    const until = async (probe) => {
      while (!probe()) await new Promise((resolve) => setTimeout(resolve, 10));
    };
    await until(both);
    w.proxy.block('live');
    await until(() => !live.connected && durable.connected);
    w.proxy.allow('live');
    await until(both);
    await durable.endAsync(true);
    await live.endAsync(true);
  }));
