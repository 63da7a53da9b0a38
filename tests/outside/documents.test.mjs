// Each retained document in each phase of a repair, as somebody finds it who subscribes only then; and that
// documents are published when they change and at no other time.
import assert from 'node:assert/strict';
import { Observer } from './harness/observer.mjs';
import { Repair } from './harness/repair.mjs';
import { scenario } from './harness/world.mjs';

const IN = ['in-service', null, null, null, null, null];
const held = ['out-of-service', 'isolated-with', null, 'J-1', null, null];
const beside = ['out-of-service', 'work-beside', null, 'J-1', null, null];
const own = (phase, lockout) => ['out-of-service', 'job', 'J-1', null, phase, lockout];
const ISOLATED = ['isolated', 'fresh'];
const LIVE = ['live', 'fresh'];

// step: 3A, 3B (service, cause, job, with, phase, lockout), the breaker with its tags, the job.
const TABLE = {
  open: [own('open', 'unconfirmed'), IN, LIVE, [], false],
  isolated: [
    own('open', 'unconfirmed'),
    ['out-of-service', 'isolated', null, null, null, null],
    ISOLATED,
    [],
    false,
  ],
  tagged: [own('open', 'unconfirmed'), held, ISOLATED, ['t-104'], true],
  confirmed: [own('open', 'confirmed'), held, ISOLATED, ['t-104'], true],
  working: [own('working', 'confirmed'), held, ISOLATED, ['t-104'], true],
  restoring: [own('restoring', 'confirmed'), held, ISOLATED, ['t-104'], true],
  lifted: [own('restoring', 'unconfirmed'), beside, ISOLATED, [], false],
  live: [own('restoring', 'unconfirmed'), beside, LIVE, [], false],
  testing: [own('testing', 'unconfirmed'), beside, LIVE, [], false],
  passed: [own('testing', 'unconfirmed'), beside, LIVE, [], false],
  returned: [IN, IN, LIVE, [], false],
};

const brief = (d) => [d.service, d.cause, d.job, d.with, d.phase, d.lockout];
// What ages is as of the publication: it may differ between two that look at different times.
const ageless = (document) =>
  JSON.parse(JSON.stringify(document), (key, value) =>
    key === 'heard' || key === 'age_s' ? undefined : value,
  );

// What somebody finds who comes to the broker now.
async function newcomer(w) {
  const seen = await new Observer(w).connect(w.broker.port);
  await seen.doc('daemon/edge-1');
  await seen.doc('point/9-fence');
  assert.deepEqual(seen.wrong, []);
  const found = new Map(seen.docs);
  await seen.close();
  return found;
}

async function asTabled(w, job, step) {
  const [mine, neighbor, reads, tags, isProtected] = TABLE[step];
  const is = (wanted) => (d) => JSON.stringify(brief(d)) === JSON.stringify(wanted);
  await w.position('3A', is(mine), `${step}: ${mine}`);
  await w.position('3B', is(neighbor), `${step}: ${neighbor}`);
  assert.deepEqual(brief(await w.position('4A')), IN);
  const point = await w.seen.doc(
    'point/3-power',
    (d) => d.tags.length === tags.length && d.trust === reads[1],
    `${step}: ${reads} ${tags}`,
  );
  assert.deepEqual([point.point, point.energy], ['3-power', 'electrical']);
  assert.deepEqual([point.state, point.trust], reads, step);
  assert.deepEqual(
    point.tags.map((t) => [t.person, t.job, t.counts]),
    tags.map((person) => [person, 'J-1', true]),
  );
  const document = await job.doc();
  const [phase, lockout] = step === 'returned' ? ['returned', document.lockout] : mine.slice(4);
  assert.deepEqual([document.phase, document.lockout], [phase, lockout], step);
  assert.deepEqual(document.crew, [{ person: 't-104', protected: isProtected, helper: false }], step);
  return document;
}

scenario('each document in each phase', {}, async (w) => {
  const job = new Repair(w);
  for (const step of Object.keys(TABLE)) {
    await job.to(step);
    const document = await asTabled(w, job, step);
    await w.fence();
    const found = await newcomer(w);
    const [late, early] = [found, w.seen.docs].map((docs) =>
      Object.fromEntries([...docs].sort().filter(([topic]) => !topic.endsWith('9-fence'))),
    );
    assert.deepEqual(ageless(late), ageless(early), step);
    // What the next gate lacks is what its refusal says.
    const gate = { open: 'start-work', working: 'finish-work', restoring: 'begin-test' }[
      document.phase
    ];
    if (!gate || document.missing.length === 0) continue;
    const refusals = await job.no(gate, {}, []);
    assert.deepEqual(ageless(document.missing), ageless(refusals), step);
  }
});

scenario('an alarm’s document, from its raising to its end', {}, async (w) => {
  const job = await new Repair(w).to('working');
  const from = Date.now();
  await w.hw.set('3-power', 'live');
  const raised = await job.alarm();
  const { alarm, say, raised: when, ...rest } = raised;
  assert.deepEqual(rest, {
    kind: 'lockout-broken',
    job: 'J-1',
    position: '3A',
    point: '3-power',
    subject: null,
    by: null,
    why: 'point-live',
    args: { say: 'alarm.point-live', job: 'J-1', point: '3-power', title: 'Point 3-power' },
    state: 'unacknowledged',
    count: 1,
    priority: 'urgent',
    group: 'point/3-power',
  });
  assert.match(say, /Point 3-power/);
  assert.ok(Math.abs(Date.parse(when) - from) < 5000, when);
  assert.deepEqual((await newcomer(w)).get(`juniper/alarm/${alarm}`), raised);
  await job.acknowledge();
  const acknowledged = await job.alarm((a) => a.state === 'acknowledged');
  assert.deepEqual({ ...acknowledged, state: '', by: null }, { ...raised, state: '' });
  await job.proveAgain();
  await w.seen.gone(`alarm/${alarm}`);
  assert.ok(!(await newcomer(w)).has(`juniper/alarm/${alarm}`));
  const states = w.seen.versions(`alarm/${alarm}`).map((d) => d?.state ?? null);
  assert.deepEqual(states, ['unacknowledged', 'acknowledged', null]);
});

scenario('a document is published when it changes and at no other time', {}, async (w) => {
  const job = await new Repair(w).to('returned');
  await w.position('3A', (d) => d.service === 'in-service');
  await w.fence();
  const since = w.seen.mark();
  // Hardware that says the same again, requests that are refused, and time that goes by change nothing.
  for (let i = 0; i < 5; i++) {
    await job.no('start-work', {}, 'wrong-phase');
    await w.fence();
  }
  const topics = new Map();
  const isDocument = (below) => /^juniper\/(position|job|point|alarm)\//.test(below);
  for (const entry of w.seen.log.filter((e) => isDocument(e.below))) {
    if (entry.n >= since) assert.match(entry.below, /\/9(-fence|A)$/);
    const before = topics.get(entry.below);
    const now = ageless(entry.body);
    assert.notDeepEqual(now, before, `${entry.below} was published twice`);
    topics.set(entry.below, now);
  }
  assert.ok(topics.size >= 5 + 8 + 1, [...topics.keys()].join(' '));
});

scenario('an ended job’s document stays, and the next job has its own', {}, async (w) => {
  const first = await new Repair(w).to('open');
  await first.ask('cancel-job', { reason: 'a mistake' }, 'k-1');
  await first.phase('cancelled');
  const second = await new Repair(w, { job: 'J-2' }).to('open');
  await w.position('3A', (d) => d.job === 'J-2');
  await w.killDaemon();
  await w.startDaemon();
  const found = await newcomer(w);
  assert.equal(found.get('juniper/job/J-1').phase, 'cancelled');
  assert.equal(found.get('juniper/job/J-2').phase, 'open');
  await second.doc((d) => d.phase === 'open');
});
