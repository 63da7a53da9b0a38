// Input that no honest client sends: it is answered with the place that is wrong, or counted, and changes nothing.
import assert from 'node:assert/strict';
import { now } from './harness/observer.mjs';
import { Repair } from './harness/repair.mjs';
import { scenario } from './harness/world.mjs';

const opening = (more = {}) => ({
  job: 'J-9',
  position: '3A',
  procedure: 'boot',
  technician: 't-104',
  ...more,
});

// A refused request of which every refusal is `malformed`: the pointers it names.
async function pointers(w, person, verb, body) {
  const refusals = await w.only(person, verb, body, 'malformed');
  return refusals.map((r) => r.subject);
}

scenario('not JSON', {}, async (w) => {
  const nested = (n) => `{"job":"J-9","note":${'['.repeat(n)}${']'.repeat(n)}}`;
  const bodies = [
    '',
    '{',
    '{"job":',
    '{"job":"J-9"',
    '{"job":"J-9"}}',
    '{"job":"J-9"} x',
    "{'job':'J-9'}",
    '{"job":"J-9",}',
    '{job:"J-9"}',
    '{"job":NaN}',
    '{"job":Infinity}',
    '{"job":01}',
    '{"job":1.}',
    '{"job":.5}',
    '{"job":+1}',
    '{"job":"a\tb"}',
    '{"job":"\\x"}',
    '{"job":"\\ud800"}',
    '/* c */ {"job":"J-9"}',
    '\ufeff{"job":"J-9"}',
    'nul',
    '"',
    nested(16),
    nested(5000),
    Buffer.from([0x7b, 0x22, 0x6a, 0x22, 0x3a, 0x22, 0xc0, 0x80, 0x22, 0x7d]),
    Buffer.from([0x7b, 0x22, 0x6a, 0x22, 0x3a, 0x22, 0xff, 0x22, 0x7d]),
    Buffer.from([0x7b, 0x22, 0x6a, 0x22, 0x3a, 0x22, 0xed, 0xa0, 0x80, 0x22, 0x7d]),
  ];
  for (const body of bodies) await pointers(w, 'k-1', 'open-job', body);
  assert.equal((await w.position('3A')).service, 'in-service');
});

scenario('not an object', {}, async (w) => {
  for (const body of ['[]', '"J-9"', '7', 'true', 'null'])
    assert.deepEqual(await pointers(w, 'k-1', 'open-job', body), [''], body);
});

scenario('a key twice is named', {}, async (w) => {
  const body =
    '{"job":"J-9","position":"3A","procedure":"boot","technician":"t-104","position":"3B"}';
  assert.deepEqual(await pointers(w, 'k-1', 'open-job', body), ['/position']);
  const escaped =
    '{"job":"J-9","position":"3A","procedure":"boot","technician":"t-104","p\\u006fsition":"3A"}';
  assert.deepEqual(await pointers(w, 'k-1', 'open-job', escaped), ['/position']);
});

const LONG = 'é'.repeat(500);
const FIELDS = [
  ['k-1', 'open-job', opening({ job: 7 }), ['/job']],
  ['k-1', 'open-job', opening({ job: 'a/b' }), ['/job']],
  ['k-1', 'open-job', opening({ job: '-a' }), ['/job']],
  ['k-1', 'open-job', opening({ job: 'a'.repeat(65) }), ['/job']],
  ['k-1', 'open-job', opening({ job: '' }), ['/job']],
  ['k-1', 'open-job', opening({ position: undefined }), ['/position']],
  ['k-1', 'open-job', opening({ position: null }), ['/position']],
  ['k-1', 'open-job', opening({ position: ['3A'] }), ['/position']],
  ['k-1', 'open-job', opening({ technician: false }), ['/technician']],
  ['k-1', 'open-job', opening({ note: LONG + 'e' }), ['/note']],
  ['k-1', 'open-job', opening({ note: 5 }), ['/note']],
  ['k-1', 'open-job', opening({ id: '' }), ['/id']],
  ['k-1', 'open-job', opening({ id: 'x'.repeat(65) }), ['/id']],
  ['k-1', 'open-job', opening({ id: 12 }), ['/id']],
  ['k-1', 'open-job', opening({ position: 1, procedure: {} }), ['/position', '/procedure']],
  ['k-1', 'open-job', opening({ more: { deep: [1] } }), ['/more']],
  ['t-104', 'rework', { job: 'J-1', reason: 'x', reson: 'y', jop: 1 }, ['/jop', '/reson']],
  ['t-104', 'stop-work', { reason: {} }, ['/job', '/reason']],
  ['t-104', 'rework', { job: 'J-1' }, ['/reason']],
  ['t-104', 'rework', { job: 'J-1', reason: {} }, ['/reason']],
  ['t-104', 'hang-tag', { job: 'J-1' }, ['/point']],
  ['t-104', 'hang-tag', {}, ['/job', '/point']],
  ['t-104', 'sign-check', { job: 'J-1', check: 'no-voltage', value: '0.2', unit: 'V' }, ['/value']],
  ['t-104', 'sign-check', { job: 'J-1', check: 'no-voltage', value: 0.2, unit: 7 }, ['/unit']],
  ['t-104', 'sign-check', { job: 'J-1', check: 'no-flow', instrument: 1 }, ['/instrument']],
  ['t-104', 'hand-over', { job: 'J-1' }, ['/to']],
  ['s-1', 'acknowledge-alarm', {}, ['/alarm']],
  [
    's-1',
    'lift-absent-tag',
    { job: 'J-1', point: '3-power', person: 't-104', reason: 'x', attest: true },
    ['/attest'],
  ],
  [
    's-1',
    'lift-absent-tag',
    {
      job: 'J-1',
      point: '3-power',
      person: 't-104',
      reason: 'x',
      attest: { not_on_site: 'yes', contact_tried: true, will_be_told: true },
    },
    ['/attest/not_on_site'],
  ],
  ['t-104', 'record-test', { job: 'J-1', test: 'leak' }, ['/readings']],
  ['t-104', 'record-test', { job: 'J-1', test: 'leak', readings: [] }, ['/readings']],
];

scenario('fields of the wrong kind are named, each of them', {}, async (w) => {
  await new Repair(w, { procedure: 'spout-and-boot', position: '3B' }).to('tagged');
  for (const [person, verb, body, expected] of FIELDS)
    assert.deepEqual(
      (await pointers(w, person, verb, body)).sort(),
      expected,
      `${verb} ${JSON.stringify(body).slice(0, 200)}`,
    );
  // What is at the limit, or null, is no error.
  await w.ok(
    'k-1',
    'open-job',
    opening({
      position: '4A',
      note: LONG,
      id: 'x'.repeat(64),
      kit_family: null,
      more: null,
    }),
  );
});

scenario('readings: missing, unknown and impossible ones are named', {}, async (w) => {
  const job = await new Repair(w, { procedure: 'spout-and-boot' }).to('testing');
  const bad = [
    ['leak', {}, '/readings/pass'],
    ['leak', { pass: 'yes' }, '/readings/pass'],
    ['leak', { pass: 1 }, '/readings/pass'],
    ['leak', { pass: null }, '/readings/pass'],
    ['leak', { pass: true, extra: 1 }, '/readings/extra'],
    ['continuity', {}, '/readings/value'],
    ['continuity', { value: '5' }, '/readings/value'],
    ['continuity', { ohms: 5 }, '/readings/ohms'],
  ];
  for (const [name, readings, expected] of bad) {
    const found = await pointers(w, 't-104', 'record-test', { job: 'J-1', test: name, readings });
    assert.ok(found.includes(expected), `${expected} is not in ${found}`);
  }
  assert.ok((await job.doc()).tests.every((t) => t.by === null));
});

scenario('oversize', {}, async (w) => {
  // 64 KiB is read, a byte more is not: with an answer, or without one if it is stopped on the way.
  const filled = (size) => {
    const body = JSON.stringify(opening({ job: `J-${size}`, position: '4A' }));
    return body + ' '.repeat(size - body.length);
  };
  assert.equal(filled(65536).length, 65536);
  for (const size of [65537, 200000]) {
    const answer = await w.seen
      .request('k-1', 'open-job', filled(size), { timeout: 1500 })
      .catch(() => null);
    if (answer) assert.deepEqual([answer.accepted, answer.refusals[0].code], [false, 'malformed']);
    assert.ok(!w.seen.docs.has(`juniper/job/J-${size}`));
  }
  await w.ok('k-1', 'open-job', filled(65536));
});

scenario(
  'a request that was published retained is ignored, live and from the broker',
  {},
  async (w) => {
    await w.seen.publish('juniper/request/k-1/open-job', opening(), { retain: true });
    // Another request on the same way comes later: by its answer the first was passed over.
    await w.no('k-1', 'cancel-job', { job: 'J-9', reason: 'x' }, 'unknown-job');
    await w.killDaemon();
    await w.startDaemon();
    await w.no('k-1', 'cancel-job', { job: 'J-9', reason: 'x' }, 'unknown-job');
    assert.ok(!w.seen.docs.has('juniper/job/J-9'));
    assert.equal((await w.journal()).filter((l) => l.type.endsWith('job.opened')).length, 0);
  },
);

scenario('the answer goes to the response topic only if that is the person’s', {}, async (w) => {
  const ask = (reply, below) =>
    w.seen.ask('t-104', 'start-work', { job: 'J-9' }, reply === undefined ? { below } : { reply });
  for (const below of ['', '/phone-1', '/a/b'])
    assert.equal((await ask(undefined, below)).below, `juniper/reply/t-104${below}`);
  const outside = [
    'forelock/juniper/reply/t-105',
    'forelock/juniper/reply/t-104x',
    'forelock/juniper/reply/t-104x/a',
    'forelock/juniper/position/3A',
    'forelock/elsewhere/reply/t-104',
    'elsewhere',
    'forelock/juniper/reply',
  ];
  for (const reply of outside) assert.equal((await ask(reply)).below, 'juniper/reply/t-104', reply);
  // Without any response topic, too.
  const since = w.seen.mark();
  await w.seen.publish('juniper/request/t-104/start-work', now({ id: 'plain', job: 'J-9' }));
  const plain = await w.seen.wait(
    () =>
      w.seen.log.find(
        (e) => e.n >= since && e.below === 'juniper/reply/t-104' && e.body?.id === 'plain',
      ),
    'an answer',
  );
  assert.equal(plain.body.accepted, false);
});

scenario('topics with wrong levels or ids get no word', {}, async (w) => {
  const since = w.seen.mark();
  w.seen.strangers = ['daemon', 'daemon/a/b'];
  for (const below of [
    'juniper/request',
    'juniper/request/t-104',
    'juniper/request/t-104/start-work/more',
    'juniper/request//start-work',
    'juniper/request/t 104/start-work',
    'juniper/request/-x/start-work',
    `juniper/request/${'x'.repeat(65)}/start-work`,
    'JUNIPER/request/t-104/start-work',
    'juniper//t-104/start-work',
    'juniper/tagging',
    'juniper/tagging/3-power/x',
    'daemon',
    'daemon/a/b',
  ])
    await w.seen.publish(below, { job: 'J-9', state: 'hung', person: 't-104' });
  await w.no('t-104', 'start-work', { job: 'J-9' }, 'unknown-job');
  await w.fence();
  const answers = w.seen.log.filter((e) => e.n >= since && e.below.includes('/reply'));
  assert.equal(answers.length, 1, JSON.stringify(answers.map((e) => e.below)));
});

scenario('a storm of nonsense on every way in leaves a working job as it is', {}, async (w) => {
  const job = await new Repair(w).to('working');
  const before = await job.doc();
  const random = (n) =>
    Buffer.from(Array.from({ length: n }, (_, i) => (i * 7919 + n * 104729) % 256));
  const sent = [];
  for (let n = 1; n <= 300; n++) {
    sent.push(w.seen.publish('juniper/request/t-104/sign-check', random(n)));
    sent.push(w.seen.publish('juniper/tagging/3-power', random(n)));
    sent.push(w.seen.publish('juniper/signal/3-vapor', random(n)));
    sent.push(w.seen.publish('juniper/controller/unknown', random(n)));
  }
  await Promise.all(sent);
  await w.fence();
  await w.point('3-vapor', 'live');
  const after = await job.doc();
  assert.deepEqual(after.checks, before.checks);
  assert.deepEqual([after.phase, after.lockout], ['working', 'confirmed']);
  assert.equal((await w.seen.doc('point/3-power')).tags.length, 1);
  await job.to('restoring');
});
