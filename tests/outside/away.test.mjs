// What happens to messages that arrive while the daemon is away, and who else calls itself a daemon of the
// site: requests wait for it, signals do not, and of two daemons neither opens a gate.
import assert from 'node:assert/strict';
import { mkdirSync } from 'node:fs';
import { join } from 'node:path';
import { end, run, start } from './harness/child.mjs';
import { freePort } from './harness/broker.mjs';
import { now } from './harness/observer.mjs';
import { Repair } from './harness/repair.mjs';
import { write } from './harness/site.mjs';
import { DAEMON, scenario } from './harness/world.mjs';

const ask = (w, person, verb, body) =>
  w.seen.publish(`juniper/request/${person}/${verb}`, now(body));
const answerTo = (w, id) =>
  w.seen.wait(
    () => w.seen.log.find((e) => e.below.includes('/reply/') && e.body?.id === id)?.body,
    `the answer to ${id}`,
  );

scenario(
  'what was asked while it was away is decided when it is back',
  { maxAge: 60 },
  async (w) => {
    const job = await new Repair(w).to('working');
    await w.killDaemon();
    await ask(w, 'm-1', 'stop-work', { id: 'a-1', job: 'J-1', reason: 'a storm comes' });
    await ask(w, 't-104', 'start-work', { id: 'a-2', job: 'J-1' });
    await ask(w, 'k-1', 'open-job', { id: 'a-3', job: 'J-2', position: '4A', procedure: 'boot' });
    await w.hw.tagging('3-product', 'hung', 'B-1');
    await w.startDaemon();
    assert.equal((await answerTo(w, 'a-1')).accepted, true);
    // What it was about is over: what permits has to be asked now.
    const start = await answerTo(w, 'a-2');
    assert.equal(start.accepted, false);
    assert.deepEqual(
      start.refusals.map((r) => r.code),
      ['too-late'],
    );
    assert.equal((await answerTo(w, 'a-3')).accepted, true);
    await w.position('4A', (d) => d.job === 'J-2');
    await w.seen.doc('point/3-product', (d) => d.tags.some((t) => t.badge === 'B-1'));
    await job.phase('stopped');
  },
);

scenario('signals that came while it was away are no evidence', { maxAge: 60 }, async (w) => {
  await new Repair(w).to('isolated');
  w.hw.mute('3-power', '3-product');
  await w.killDaemon();
  for (const sensor of ['3-power', '3-product'])
    await w.hw.send(`signal/${sensor}`, {
      state: 'isolated',
      at: new Date(w.hw.stamp()).toISOString(),
    });
  await w.startDaemon();
  await w.fence();
  for (const point of ['3-power', '3-product']) await w.point(point, 'unknown');
});

scenario('a request of QoS 0 is answered like any other', {}, async (w) => {
  const body = { job: 'J-1', position: '3A', procedure: 'boot', technician: 't-104' };
  await w.ok('k-1', 'open-job', body, { qos: 0 });
  await w.no('t-104', 'start-work', { job: 'J-1' }, 'point-live', { qos: 0 });
});

scenario('its own late will does not stay', {}, async (w) => {
  const online = await w.seen.doc('daemon/edge-1');
  const since = w.seen.mark();
  await w.seen.publish('daemon/edge-1', { ...online, state: 'offline' }, { retain: true });
  await w.seen.wait(
    () =>
      w.seen.log.some(
        (e) => e.n > since && e.below === 'daemon/edge-1' && e.body?.state === 'online',
      ),
    'the daemon to say again that it is online',
  );
  assert.equal(w.seen.alarms('site-contested').length, 0);
});

scenario('a second daemon on the same journal does not start', {}, async (w) => {
  await new Repair(w).to('open');
  const { code, err } = await run(DAEMON, ['-c', w.file], { cwd: w.dir });
  assert.equal(code, 4, err);
  assert.match(err, /forelock\.db/);
  // The first goes on, and is not thrown off the broker.
  await w.ok('k-1', 'cancel-job', { job: 'J-1', reason: 'a mistake' });
  assert.equal((await w.seen.doc('daemon/edge-1')).boot, w.boot);
});

// A real other daemon for the same site: its own instance, journal and port.
async function second(w) {
  const dir = join(w.dir, 'second');
  mkdirSync(dir);
  const plan = structuredClone(w.plan);
  plan.main.instance = 'edge-2';
  plan.main.http.listen = `127.0.0.1:${await freePort()}`;
  const handle = start(DAEMON, ['-c', write(dir, plan)], { cwd: dir });
  await w.seen.doc('daemon/edge-2', (d) => d.state === 'online', 'online');
  return handle;
}

scenario('two daemons of one site: neither opens a gate', { foreign: true }, async (w) => {
  const job = await new Repair(w).to('confirmed');
  const handle = await second(w);
  await w.seen.alarm('site-contested');
  const since = w.seen.mark();
  await ask(w, 't-104', 'start-work', { id: 'b-1', job: 'J-1' });
  const answers = () =>
    w.seen.log.filter((e) => e.n > since && e.below.includes('/reply/') && e.body?.id === 'b-1');
  await w.seen.wait(() => answers().length === 2, 'the answers of both');
  const codes = answers().map(({ body }) => body.refusals.map((r) => r.code));
  assert.ok(answers().every(({ body }) => !body.accepted));
  // The one that has the job refuses because of the other; the other has no such job.
  assert.ok(
    codes.some((list) => list.includes('site-contested')),
    JSON.stringify(codes),
  );
  assert.ok(
    codes.some((list) => list.includes('unknown-job')),
    JSON.stringify(codes),
  );
  assert.deepEqual(await end(handle), { code: 0, signal: null }, handle.err);
  await w.seen.alarm('site-contested', (a) => a.state === 'returned-unacknowledged');
  // What the other wrote over the documents, and emptied, is put right.
  await w.point('3-power', 'isolated', 'fresh');
  await w.position('3A', (d) => d.cause === 'job' && d.lockout === 'confirmed');
  await w.position('4A', (d) => d.service === 'in-service');
  await w.ok('t-104', 'start-work', { job: 'J-1' });
  await job.phase('working', 'confirmed');
});
