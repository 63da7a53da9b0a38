// The whole repair as its technician, tracker, manager and site see it: refused, isolated, locked,
// worked, tested, failed, reworked, returned, with each retained document and the order of the events.
import assert from 'node:assert/strict';
import { CODES } from './harness/shape.mjs';
import { Repair } from './harness/repair.mjs';
import { scenario } from './harness/world.mjs';

const pairs = (refusals) => [...new Set(refusals.map((r) => `${r.code} ${r.subject}`))].sort();
const unsigned = ['barricade', 'drained', 'no-flow', 'no-voltage', 'site-told'];

// The documents that tell of an accepted request have to be there before its answer.
async function before(w, person, verb, body, topics) {
  const mark = w.seen.mark();
  const entry = await w.seen.ask(person, verb, body);
  assert.equal(entry.body.accepted, true, JSON.stringify(entry.body.refusals));
  for (const topic of topics) {
    const at = w.seen.log.find((e) => e.n >= mark && e.below === `juniper/${topic}`)?.n;
    assert.ok(
      at !== undefined && at < entry.n,
      `${topic} was not published before the answer to ${verb}`,
    );
  }
  return entry.body;
}

async function opening(w, job) {
  const from = Date.now();
  const body = {
    job: 'J-1',
    position: '3A',
    procedure: 'spout-and-boot',
    technician: 't-104',
    part: 'kit',
    defect: 'torn boot',
  };
  const answer = await before(w, 'k-1', 'open-job', { ...body, note: 'seen by a customer' }, [
    'job/J-1',
    'position/3A',
  ]);
  assert.deepEqual(
    { job: answer.job, phase: answer.phase, lockout: answer.lockout, refusals: answer.refusals },
    { job: 'J-1', phase: 'open', lockout: 'unconfirmed', refusals: [] },
  );
  assert.ok(Math.abs(Date.parse(answer.at) - from) < 30000);
  const position = await w.position('3A', (d) => d.cause === 'job');
  assert.deepEqual(
    { ...position, since: 0 },
    {
      position: '3A',
      service: 'out-of-service',
      cause: 'job',
      job: 'J-1',
      with: null,
      phase: 'open',
      lockout: 'unconfirmed',
      since: 0,
    },
  );
  const document = await job.doc();
  assert.deepEqual(
    [document.position, document.procedure, document.phase, document.technician, document.offered],
    ['3A', 'spout-and-boot', 'open', 't-104', null],
  );
  assert.deepEqual(
    document.crew.map((c) => c.person),
    ['t-104'],
  );
  assert.deepEqual(document.checks.map((c) => [c.check, c.group]).sort(), [
    ['barricade', 'prepare'],
    ['barricade-removed', 'finish'],
    ['drained', 'relieve'],
    ['made-safe', 'leave'],
    ['no-flow', 'verify'],
    ['no-voltage', 'verify'],
    ['people-clear', 'clear'],
    ['site-told', 'prepare'],
    ['spout-nut', 'work'],
    ['tools-clear', 'clear'],
  ]);
  assert.ok(document.checks.every((c) => c.by === null && c.at === null && c.value === null));
  assert.deepEqual(document.tests.map((t) => t.test).sort(), ['continuity', 'leak', 'shutoff']);
  assert.equal((await w.position('3B')).service, 'in-service');
}

// Every reason at once, in the answer, in the job's `missing` and in the event.
async function refusedStart(w, job) {
  const mark = w.seen.mark();
  const wanted = [
    ...unsigned.map((c) => `check-missing ${c}`),
    'point-live 3-power',
    'point-live 3-product',
  ];
  const refusals = await job.no('start-work', {}, ['part-mismatch', 'tag-missing']);
  const got = pairs(refusals);
  for (const pair of wanted) assert.ok(got.includes(pair), `${pair} is not in ${got}`);
  const codes = [...new Set(refusals.map((r) => r.code))].sort();
  assert.deepEqual(codes, ['check-missing', 'part-mismatch', 'point-live', 'tag-missing']);
  assert.equal(refusals.filter((r) => r.code === 'tag-missing').length, 2);
  for (const r of refusals) {
    assert.ok(CODES.includes(r.code));
    assert.ok(r.say.length <= 200 && !r.say.includes('\n'), r.say);
  }
  const live = refusals.find((r) => r.code === 'point-live');
  assert.ok(live.age_s >= 0 && live.age_s < 5, `age ${live.age_s}`);
  assert.deepEqual(pairs((await job.doc()).missing), got);
  const event = await w.seen.event('work.refused', { since: mark });
  assert.equal(event.subject, '3A');
  assert.equal(event.data.job, 'J-1');
  assert.deepEqual(event.data.evidence.map((e) => [e.point, e.state]).sort(), [
    ['3-power', 'live'],
    ['3-product', 'live'],
  ]);
  assert.equal((await job.doc()).phase, 'open');
}

async function isolating(w, job) {
  await job.no('hang-tag', { point: '3-power' }, 'point-live');
  const mark = w.seen.mark();
  await job.isolate();
  const power = w.seen.versions('point/3-power', mark).map((d) => `${d.state} ${d.trust}`);
  assert.deepEqual(power, ['isolated settling', 'isolated fresh']);
  // Isolated, and no job holds it yet: the neighbor is out for that alone.
  const neighbor = await w.position('3B', (d) => d.service === 'out-of-service');
  assert.deepEqual([neighbor.cause, neighbor.job, neighbor.with], ['isolated', null, null]);
  assert.equal((await w.position('3A')).cause, 'job');
  await w.seen.event('point.changed', { since: mark });
}

async function locking(w, job) {
  await job.no('sign-check', { check: 'drained', value: 1, unit: 'L' }, 'check-out-of-season');
  await before(w, 't-104', 'hang-tag', { job: 'J-1', point: '3-power' }, ['point/3-power']);
  await job.ask('hang-tag', { point: '3-product' });
  const point = await w.seen.doc('point/3-product', (d) => d.tags.length === 1);
  assert.deepEqual(
    [point.tags[0].person, point.tags[0].job, point.tags[0].counts],
    ['t-104', 'J-1', true],
  );
  assert.equal(point.energy, 'product');
  const neighbor = await w.position('3B', (d) => d.cause === 'isolated-with');
  assert.deepEqual(
    [neighbor.service, neighbor.with, neighbor.job],
    ['out-of-service', 'J-1', null],
  );
  await job.doc((d) => d.crew[0].protected);
}

async function proving(w, job) {
  await w.only('t-104', 'sign-check', { job: 'J-1', check: 'site-told' }, 'not-allowed');
  await job.sign('barricade');
  await job.sign('site-told');
  await job.sign('drained');
  await job.sign('no-flow');
  assert.equal((await job.doc()).lockout, 'unconfirmed');
  const mark = w.seen.mark();
  await before(
    w,
    't-104',
    'sign-check',
    { job: 'J-1', check: 'no-voltage', value: 0.2, unit: 'V' },
    ['job/J-1', 'position/3A'],
  );
  const document = await job.phase('open', 'confirmed');
  assert.deepEqual(document.missing, []);
  const signed = document.checks.find((c) => c.check === 'no-voltage');
  assert.deepEqual([signed.by, signed.value, signed.unit, signed.pass], ['t-104', 0.2, 'V', true]);
  assert.ok(!signed.void);
  assert.equal((await w.position('3A')).lockout, 'confirmed');
  const event = await w.seen.event('lockout.confirmed', { since: mark });
  assert.deepEqual(event.data.evidence.map((e) => [e.point, e.state, e.trust]).sort(), [
    ['3-power', 'isolated', 'fresh'],
    ['3-product', 'isolated', 'fresh'],
  ]);
  assert.ok(event.data.evidence.every((e) => e.heard !== null));
}

async function working(w, job) {
  const answer = await before(w, 't-104', 'start-work', { job: 'J-1' }, ['job/J-1', 'position/3A']);
  assert.deepEqual([answer.phase, answer.lockout], ['working', 'confirmed']);
  const refusals = await job.only('finish-work', {}, 'check-missing');
  assert.deepEqual(pairs(refusals), [
    'check-missing people-clear',
    'check-missing spout-nut',
    'check-missing tools-clear',
  ]);
  assert.deepEqual(pairs((await job.doc()).missing), pairs(refusals));
  const loose = await job.sign('spout-nut', { value: 40 });
  assert.equal(loose.accepted, true);
  assert.equal(
    (await job.doc((d) => d.checks.find((c) => c.check === 'spout-nut').by)).checks.find(
      (c) => c.check === 'spout-nut',
    ).pass,
    false,
  );
  await job.sign('tools-clear');
  await job.sign('people-clear');
  await job.no('finish-work', {}, 'check-failed');
  await job.sign('spout-nut');
  // The last `work` signature is younger than the clearing.
  await job.only('finish-work', {}, 'check-void');
  await job.signGroup('clear');
  await job.ask('finish-work');
  const document = await job.phase('restoring');
  assert.equal(document.checks.find((c) => c.check === 'spout-nut').instrument, 'tw-3');
}

async function testing(w, job) {
  const mark = w.seen.mark();
  const refusals = await job.only('begin-test', {}, 'tag-hung');
  await w.seen.event('test.refused', { since: mark });
  assert.deepEqual(pairs(refusals), ['tag-hung 3-power', 'tag-hung 3-product']);
  // Every reason is listed, not the first: the wrong phase, and what the return lacks besides.
  await job.no('return-position', {}, ['wrong-phase', 'tag-hung', 'test-missing', 'check-missing']);
  await job.lift();
  await w.seen.doc('point/3-power', (d) => d.tags.length === 0);
  await job.restore();
  await job.beginTest();
  const lacking = pairs(await job.no('return-position', {}, ['test-missing', 'check-missing']));
  assert.deepEqual(lacking, [
    'check-missing barricade-removed',
    'test-missing continuity',
    'test-missing leak',
    'test-missing shutoff',
  ]);
  assert.deepEqual(pairs((await job.doc()).missing), lacking);
}

async function failing(w, job) {
  const leak = await job.record('leak', { pass: false }, { note: 'drips at the swivel' });
  assert.equal(leak.result.pass, false);
  await job.record('shutoff');
  const resistance = await job.record('continuity', { value: 1000000 });
  assert.deepEqual(
    [resistance.result.pass, resistance.result.value, resistance.result.rule],
    [true, 1000000, 'range'],
  );
  await job.sign('barricade-removed');
  const mark = w.seen.mark();
  const refusals = await job.only('return-position', {}, 'test-failed');
  assert.deepEqual(pairs(refusals), ['test-failed leak']);
  await w.seen.event('return.refused', { since: mark });
  const document = await job.doc((d) => d.tests.some((t) => t.pass === false));
  assert.deepEqual(document.tests.map((t) => [t.test, t.pass]).sort(), [
    ['continuity', true],
    ['leak', false],
    ['shutoff', true],
  ]);
  await job.only('rework', {}, 'malformed');
  await job.ask('rework', { reason: 'the swivel leaks' });
  const reworked = await job.phase('open');
  assert.ok(reworked.rework, `rework is ${reworked.rework}`);
  assert.ok(
    reworked.checks.every((c) => c.by === null || c.void),
    JSON.stringify(reworked.checks),
  );
  const voided = pairs(await job.no('start-work', {}, ['check-void', 'point-live', 'tag-missing']));
  for (const check of unsigned)
    assert.ok(voided.includes(`check-void ${check}`), `${check} in ${voided}`);
}

async function returning(w, job) {
  job.at = 'open';
  await job.to('testing');
  await job.only('record-test', { test: 'leak', readings: { pass: true } }, 'note-missing');
  await job.record('leak', { pass: true }, { note: 'the swivel is new' });
  await job.record('shutoff');
  await job.record('continuity');
  await job.signGroup('finish');
  job.at = 'passed';
  await w.hw.set('3-vapor', 'isolated');
  await w.point('3-vapor', 'isolated');
  const mark = w.seen.mark();
  const answer = await before(w, 't-104', 'return-position', { job: 'J-1' }, [
    'job/J-1',
    'position/3A',
  ]);
  assert.equal(answer.phase, 'returned');
  const document = await job.phase('returned');
  assert.ok(document.tests.every((t) => t.pass === true && !t.void));
  // The job is returned; the position waits for what else isolates it.
  const waiting = await w.position('3A', (d) => d.cause === 'isolated');
  assert.deepEqual([waiting.service, waiting.job, waiting.phase], ['out-of-service', null, null]);
  const returned = w.seen.events('position.returned', mark).map((e) => e.body.data.position);
  assert.ok(!returned.includes('3A'), `${returned}`); // 3B, beside which nobody works any more, does
  await w.hw.set('3-vapor', 'live');
  const back = await w.position('3A', (d) => d.service === 'in-service');
  assert.deepEqual(
    [back.cause, back.job, back.with, back.phase, back.lockout],
    [null, null, null, null, null],
  );
  await w.seen.event('position.returned', { since: mark, where: (d) => d.position === '3A' });
  await job.only('start-work', {}, 'wrong-phase');
}

// Refusals apart: they change nothing, and which of them are worth an event is asked where they happen.
const STORY = (
  'job.opened tag.hung tag.hung check.signed check.signed check.signed check.signed check.signed lockout.confirmed ' +
  'work.started check.signed check.signed check.signed check.signed check.signed check.signed work.finished ' +
  'tag.lifted tag.lifted test.begun test.recorded test.recorded test.recorded check.signed work.reopened tag.hung ' +
  'tag.hung check.signed check.signed check.signed check.signed check.signed lockout.confirmed work.started ' +
  'check.signed check.signed check.signed work.finished tag.lifted tag.lifted test.begun test.recorded test.recorded ' +
  'test.recorded check.signed job.returned'
).split(' ');

function order(w) {
  const kinds = new Set(STORY);
  const told = w.seen
    .events()
    .filter((e) => e.body.data.job === 'J-1')
    .map((e) => e.body.type.slice(9));
  assert.deepEqual(
    told.filter((type) => kinds.has(type)),
    STORY,
  );
  const about3A = w.seen
    .events()
    .filter((e) => e.body.data.position === '3A')
    .map((e) => e.body.type.slice(9));
  const service = about3A.filter((type) => type.startsWith('position.'));
  // In service when its points were first proved, out by the job, back at the end.
  assert.deepEqual(service.slice(-2), ['position.out-of-service', 'position.returned']);
}

scenario(
  'a whole repair',
  { hardware: false, tweak: (p) => (p.procedures['spout-and-boot'].prepare[0].valid_s = 600) },
  async (w) => {
    const unproved = await w.position('3A', (d) => d.cause === 'unknown');
    assert.equal(unproved.service, 'out-of-service');
    assert.equal((await w.seen.doc('point/3-power')).state, 'unknown');
    await w.startHardware();
    await w.position('3A', (d) => d.service === 'in-service');

    const job = new Repair(w, { procedure: 'spout-and-boot' });
    await opening(w, job);
    await refusedStart(w, job);
    await job.only('assign-job', { technician: 't-104', kit_family: 'k2' }, 'not-allowed', 'v-1');
    await job.ask('assign-job', { technician: 't-104', kit_family: 'k2' }, 'm-1');
    await job.doc((d) => !d.missing.some((r) => r.code === 'part-mismatch'));
    await isolating(w, job);
    await locking(w, job);
    await proving(w, job);
    await working(w, job);
    await testing(w, job);
    await failing(w, job);
    await returning(w, job);
    order(w);
    const verified = await w.tool('journal', 'verify');
    assert.equal(verified.code, 0, verified.err);
  },
);

scenario(
  'a test by a rule of the district',
  {
    tweak: (p) => {
      p.districts['north-basin'].adds = {
        boot: { tests: [{ test: 'decay', rule: 'pressure-decay' }] },
      };
    },
  },
  async (w) => {
    const job = await new Repair(w).to('testing');
    const readings = { system: 'assist', nozzles: 6, ullage_gal: 1000, initial_inwc: 2.0 };
    await job.record('leak');
    assert.deepEqual(
      (await job.no('return-position', {}, 'test-missing')).map((r) => r.subject),
      ['decay'],
    );
    await job.only('record-test', { test: 'decay', readings }, 'malformed');
    const failed = await job.record('decay', { ...readings, final_inwc: 1.2 });
    const changed = { note: 'cap tightened' };
    assert.equal(failed.result.pass, false);
    assert.ok(Math.abs(failed.result.limit - 1.212) < 0.0005, JSON.stringify(failed.result));
    for (const key of ['rule', 'inputs', 'value', 'limit', 'margin', 'pass', 'formula', 'source'])
      assert.ok(key in failed.result, key);
    await job.only('return-position', {}, 'test-failed');
    assert.equal((await job.record('decay', { ...readings, final_inwc: 1.25 }, changed)).result.pass, true);
    await job.giveBack();
    await w.position('3A', (d) => d.service === 'in-service');
  },
);

scenario('a procedure that takes the dispenser', {}, async (w) => {
  const job = await new Repair(w, { procedure: 'cabinet' }).to('open');
  const neighbor = await w.position('3B', (d) => d.service === 'out-of-service');
  assert.deepEqual([neighbor.cause, neighbor.with], ['isolated-with', 'J-1']);
  assert.equal((await w.position('4A')).service, 'in-service');
  await job.to('returned');
  await w.position('3A', (d) => d.service === 'in-service');
  await w.position('3B', (d) => d.service === 'in-service');
});

scenario('a stop by a person, in each phase that has one', {}, async (w) => {
  const job = await new Repair(w).to('working');
  await job.ask('stop-work', { pause: true, reason: 'a storm comes' });
  await job.phase('stopped', 'confirmed');
  await w.seen.event('work.stopped');
  assert.equal(w.seen.alarms('lockout-broken').length, 0);
  await job.ask('start-work');
  // What was cleared before the last start is void; nothing was cleared yet.
  await job.only('finish-work', {}, 'check-missing');
  await job.signGroup('clear');
  await job.ask('stop-work', { pause: true, reason: 'lunch' });
  await job.ask('start-work');
  await job.only('finish-work', {}, 'check-void');
  job.at = 'working';
  await job.to('passed');
  await job.ask('stop-work', { reason: 'a customer drives up' });
  const stopped = await job.phase('restoring');
  assert.ok(
    stopped.tests.every((t) => t.void),
    JSON.stringify(stopped.tests),
  );
  const { alarm } = await w.seen.alarm('stop-called');
  await w.ok('m-1', 'acknowledge-alarm', { alarm, note: 'waved them off' });
  await job.signGroup('prepare');
  await job.beginTest();
  await job.only('return-position', {}, 'test-missing');
  job.at = 'testing';
  await job.to('returned');
});
