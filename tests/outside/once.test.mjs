// A request is done exactly once, whatever is repeated, killed or restarted.
import assert from 'node:assert/strict';
import { Repair } from './harness/repair.mjs';
import { scenario } from './harness/world.mjs';

const opening = (job, position = '3A') => ({
  job,
  position,
  procedure: 'boot',
  technician: 't-104',
});
const lines = async (w, type) => (await w.journal()).filter((l) => l.type.endsWith(type));

scenario('the same id gets the same answer, and nothing is done twice', {}, async (w) => {
  const body = { id: 'r-1', ...opening('J-1') };
  const first = await w.ok('k-1', 'open-job', body);
  assert.equal(first.id, 'r-1');
  assert.ok(!('again' in first));
  const since = w.seen.mark();
  const second = await w.ok('k-1', 'open-job', body);
  assert.equal(second.again, true);
  assert.deepEqual({ ...second, again: undefined }, { ...first, again: undefined });
  // Equal as JSON: other order, other spaces, other escapes.
  const text =
    '{ "technician" : "t-104","procedure":"\\u0062oot" , "position":"3A","job":"J-1","id":"r-1"}';
  assert.equal((await w.ok('k-1', 'open-job', text)).again, true);
  assert.equal(w.seen.events('job.opened', since).length, 0);
  assert.equal((await lines(w, 'job.opened')).length, 1);
});

scenario('an answer given again tells of now', {}, async (w) => {
  const job = await new Repair(w).to('confirmed');
  const start = { id: 'start-1', job: 'J-1' };
  const first = await w.ok('t-104', 'start-work', start);
  assert.deepEqual([first.phase, first.lockout], ['working', 'confirmed']);
  await w.hw.set('3-power', 'live');
  await job.phase('stopped', 'broken');
  const again = await w.ok('t-104', 'start-work', start);
  assert.deepEqual(
    [again.again, again.phase, again.lockout, again.at],
    [true, 'stopped', 'broken', first.at],
  );
  await job.phase('stopped', 'broken');
});

scenario('another verb, body or person under a used id', {}, async (w) => {
  await w.ok('k-1', 'open-job', { id: 'r-1', ...opening('J-1') });
  await w.only('k-1', 'open-job', { id: 'r-1', ...opening('J-2', '3B') }, 'id-reused');
  await w.only('k-1', 'open-job', { id: 'r-1', ...opening('J-1'), note: 'more' }, 'id-reused');
  await w.only('k-1', 'cancel-job', { id: 'r-1', job: 'J-1', reason: 'x' }, 'id-reused');
  // Ids are each person's own.
  await w.ok('m-1', 'open-job', { id: 'r-1', ...opening('J-2', '3B') });
});

scenario('a refused request leaves its id free', {}, async (w) => {
  const job = await new Repair(w).to('tagged');
  await w.no('t-104', 'start-work', { id: 's-1', job: 'J-1' }, 'check-missing');
  await job.confirm();
  const answer = await w.ok('t-104', 'start-work', { id: 's-1', job: 'J-1' });
  assert.ok(!('again' in answer));
});

scenario('ids are remembered through restarts', {}, async (w) => {
  const body = { id: 'r-1', ...opening('J-1') };
  const first = await w.ok('k-1', 'open-job', body);
  await w.killDaemon();
  await w.startDaemon();
  const again = await w.ok('k-1', 'open-job', body);
  assert.deepEqual([again.again, again.at], [true, first.at]);
  await w.only('k-1', 'open-job', { ...body, position: '3B' }, 'id-reused');
  await w.stopDaemon();
  await w.startDaemon();
  assert.equal((await w.ok('k-1', 'open-job', body)).again, true);
});

// One request of each phase, by whom, and the fact that has to be written once.
const ACTS = [
  [null, 'k-1', 'open-job', { ...opening('J-1') }, 'job.opened'],
  ['isolated', 't-104', 'hang-tag', { point: '3-power' }, 'tag.hung'],
  ['tagged', 't-104', 'sign-check', { check: 'no-flow' }, 'check.signed'],
  ['confirmed', 't-104', 'start-work', {}, 'work.started'],
  ['working', 'm-1', 'stop-work', { reason: 'a storm comes' }, 'work.stopped'],
  ['restoring', 't-104', 'lift-tag', { point: '3-power' }, 'tag.lifted'],
  ['live', 't-104', 'begin-test', {}, 'test.begun'],
  ['testing', 't-104', 'record-test', { test: 'leak', readings: { pass: false } }, 'test.recorded'],
  ['passed', 't-104', 'return-position', {}, 'job.returned'],
];

for (const [step, person, verb, fields, type] of ACTS) {
  scenario(
    `killed between commit and acknowledgement of ${verb}: asked again, done once`,
    { proxy: true, maxAge: 60 },
    async (w) => {
      const job = new Repair(w);
      if (step) await job.to(step);
      // Nothing that the daemon says on its durable connection arrives, its acknowledgement least of all.
      w.proxy.hold('durable');
      const first = await w.ok(person, verb, { id: 'r-1', job: 'J-1', ...fields });
      const written = (await lines(w, type)).length;
      await w.killDaemon();
      w.proxy.release('durable');
      const since = w.seen.mark();
      await w.startDaemon();
      const answers = () =>
        w.seen.log.filter(
          (e) =>
            e.n >= since && e.below.startsWith(`juniper/reply/${person}`) && e.body?.id === 'r-1',
        );
      await w.seen.wait(() => answers().length > 0, 'the answer to come again');
      const [{ body: again }] = answers();
      assert.deepEqual([again.accepted, again.again], [true, true]);
      // What ends or stops was tried again, not answered from memory.
      assert.equal(again.at === first.at, !['stop-work', 'lift-tag'].includes(verb));
      assert.deepEqual([again.phase, again.result], [first.phase, first.result]);
      assert.equal((await lines(w, type)).length, written);
      await job.doc((d) => d.phase === first.phase);
    },
  );
}

scenario(
  'killed between commit and acknowledgement of a reader’s event: it is heard once',
  { proxy: true, maxAge: 60 },
  async (w) => {
    const job = await new Repair(w).to('tagged');
    w.proxy.hold('durable');
    await w.hw.tagging('3-product', 'lifted', 't-104');
    await w.seen.doc('point/3-product', (d) => d.tags.length === 0);
    await w.seen.event('tag.lifted');
    await w.killDaemon();
    w.proxy.release('durable');
    await w.startDaemon();
    await w.seen.doc('point/3-product', (d) => d.tags.length === 0);
    await w.fence();
    assert.equal((await lines(w, 'tag.lifted')).length, 1);
    await job.no('start-work', {}, 'tag-missing');
  },
);

scenario('killed in the middle of many: each accepted one is there once', {}, async (w) => {
  await new Repair(w).to('confirmed');
  await w.ok('t-104', 'start-work', { id: 'go', job: 'J-1' });
  const ids = Array.from({ length: 40 }, (_, i) => `stop-${i}`);
  const body = (i) => ({ id: ids[i], job: 'J-1', check: 'tools-clear', note: `round ${i}` });
  const asked = ids.map((_, i) =>
    w.seen.request('t-104', 'sign-check', body(i), { timeout: 2500 }).catch(() => null),
  );
  await w.seen.wait(() => w.seen.events('check.signed').length >= 8, 'some to be done');
  await w.killDaemon();
  await w.startDaemon();
  await Promise.all(asked);
  for (let i = 0; i < ids.length; i++)
    assert.equal((await w.ok('t-104', 'sign-check', body(i))).id, ids[i]);
  const notes = (await lines(w, 'check.signed'))
    .map((l) => JSON.stringify(l.data).match(/round \d+/)?.[0])
    .filter(Boolean);
  if (notes.length > 0) assert.equal(new Set(notes).size, notes.length, 'one was written twice');
  const signed = (await lines(w, 'check.signed')).filter((l) =>
    JSON.stringify(l.data).includes('tools-clear'),
  );
  assert.equal(signed.length, ids.length);
  // Also what was committed and not told before the kill.
  const told = () => new Set(w.seen.events('check.signed').map((e) => Number(e.body.id)));
  await w.seen.wait(
    () => signed.every((l) => told().has(l.seq)),
    'every event to be told',
  );
  const verified = await w.tool('journal', 'verify');
  assert.equal(verified.code, 0, verified.err);
});

scenario(
  'the broker is restarted in the middle of many: each accepted one is there once',
  { repeats: true, maxAge: 60 },
  async (w) => {
    await new Repair(w).to('working');
    const body = (i) => ({
      id: `again-${i}`,
      job: 'J-1',
      check: 'tools-clear',
      note: `round ${i}`,
    });
    const ids = Array.from({ length: 40 }, (_, i) => i);
    const asked = ids.map((i) =>
      w.seen.request('t-104', 'sign-check', body(i), { timeout: 2500 }).catch(() => null),
    );
    const before = w.seen.events('check.signed').length;
    await w.seen.wait(() => w.seen.events('check.signed').length >= before + 8, 'some to be done');
    await w.broker.restart('SIGKILL');
    await w.seen.wait(() => w.seen.subscribed && w.seen.client.connected, 'the observer');
    await w.responsive();
    await Promise.all(asked);
    for (const i of ids) await w.ok('t-104', 'sign-check', body(i));
    const signed = (await lines(w, 'check.signed')).filter((l) =>
      JSON.stringify(l.data).includes('tools-clear'),
    );
    assert.equal(signed.length, ids.length);
  },
);
