// Only the present is permitted: what waited, in the broker, in a client or with us, permits nothing; what ends
// or stops is taken however late.
import assert from 'node:assert/strict';
import { setTimeout as delay } from 'node:timers/promises';
import { now } from './harness/observer.mjs';
import { Repair } from './harness/repair.mjs';
import { until } from './harness/until.mjs';
import { tokens, Web } from './harness/web.mjs';
import { scenario } from './harness/world.mjs';

const SPOUT = { procedure: 'spout-and-boot' };
const ask = (w, person, verb, body, properties) =>
  w.seen.publish(`juniper/request/${person}/${verb}`, now(body), { properties });

async function answerTo(w, id) {
  const { body } = await w.seen.wait(
    () => w.seen.log.find((e) => e.below.includes('/reply/') && e.body?.id === id),
    `the answer to ${id}`,
  );
  return body;
}

async function late(w, id) {
  const { accepted, refusals } = await answerTo(w, id);
  assert.equal(accepted, false, id);
  assert.deepEqual(
    refusals.map((r) => r.code),
    ['too-late'],
    id,
  );
}

scenario('what waited while the daemon was away permits nothing', { maxAge: 60 }, async (w) => {
  await new Repair(w, SPOUT).to('isolated');
  const other = new Repair(w, { job: 'J-2', position: '5A', leader: 't-105' });
  await other.to('open');
  await w.killDaemon();
  await ask(w, 't-104', 'hang-tag', { id: 'l-1', job: 'J-1', point: '3-power' });
  await ask(w, 't-104', 'sign-check', { id: 'l-2', job: 'J-1', check: 'barricade' });
  await ask(w, 't-105', 'join-job', { id: 'l-3', job: 'J-1' });
  await ask(w, 't-104', 'witness-point', {
    id: 'l-4',
    job: 'J-1',
    point: '4-product',
    state: 'isolated',
  });
  await w.hw.tagging('3-product', 'hung', 't-104');
  await ask(w, 'm-1', 'stop-work', { id: 'l-5', job: 'J-2', reason: 'smell of fuel' });
  await ask(w, 'k-1', 'assign-job', { id: 'l-6', job: 'J-2', technician: 't-104' });
  await w.startDaemon();
  for (const id of ['l-4', 'l-2', 'l-3', 'l-1']) await late(w, id);
  assert.equal((await answerTo(w, 'l-5')).accepted, true);
  assert.equal((await answerTo(w, 'l-6')).accepted, true);
  const tags = await w.seen.doc('point/3-product', (d) => d.tags.length > 0);
  assert.equal(tags.tags[0].counts, false);
  const job = await w.job('J-1');
  assert.equal(job.crew.length, 1);
  assert.ok(job.checks.every((check) => check.at === null));
  // Asked anew it is done.
  await w.ok('t-104', 'sign-check', { id: 'l-2', job: 'J-1', check: 'barricade' });
});

// It is asked of what was so, and decided of what is.
scenario('a return that waited behind many requests', { maxAge: 60 }, async (w) => {
  const job = await new Repair(w).to('passed');
  await new Repair(w, { ...SPOUT, job: 'J-5', position: '5A', leader: 't-105' }).to('open');
  await w.killDaemon();
  for (let i = 0; i < 800; i++)
    await ask(w, 't-105', 'sign-check', { job: 'J-5', check: 'barricade' });
  await ask(w, 't-104', 'return-position', { id: 'r-1', job: 'J-1' });
  await w.startDaemon();
  await late(w, 'r-1');
  await job.phase('testing');
});

scenario('asked long ago, ahead of us or at no time, it is not done', {}, async (w) => {
  await new Repair(w).to('open');
  const at = (ms) => ({ job: 'J-1', asked: new Date(Date.now() + ms).toISOString() });
  await w.only('t-105', 'join-job', at(-31000), 'too-late');
  await w.only('t-105', 'join-job', at(7000), 'too-late');
  const [missing] = await w.only('t-105', 'join-job', { job: 'J-1' }, 'malformed', { dated: false });
  assert.equal(missing.subject, '/asked');
  await w.only('t-105', 'join-job', { job: 'J-1', asked: 'yesterday' }, 'malformed');
  assert.equal((await w.job('J-1')).crew.length, 1);
  // What was accepted is answered again however late, and that is the same request.
  await w.ok('t-105', 'join-job', { id: 'j-1', ...at(-20000) });
  const again = await w.ok('t-105', 'join-job', { id: 'j-1', ...at(-90000) });
  assert.equal(again.again, true);
  // A stop needs no time, and may bear any.
  await w.ok('t-105', 'stop-work', { job: 'J-1', reason: 'smell of fuel' }, { dated: false });
});

// It lies in our socket while we are stopped.
scenario('a request whose expiry ran out before it was read is not done', {}, async (w) => {
  await new Repair(w).to('open');
  process.kill(w.daemon.pid, 'SIGSTOP');
  try {
    await ask(w, 't-105', 'join-job', { id: 'e-1', job: 'J-1' }, { messageExpiryInterval: 2 });
    await ask(w, 't-106', 'join-job', { id: 'e-2', job: 'J-1' }, { messageExpiryInterval: 60 });
    await delay(3000); // longer than it is good for
  } finally {
    process.kill(w.daemon.pid, 'SIGCONT');
  }
  await late(w, 'e-1');
  assert.notDeepEqual(
    (await answerTo(w, 'e-2')).refusals.map((r) => r.code),
    ['too-late'],
  );
});

scenario('who hung up before it was decided has asked nothing', { tweak: tokens }, async (w) => {
  await new Repair(w, SPOUT).to('open');
  const web = new Web(w);
  process.kill(w.daemon.pid, 'SIGSTOP');
  try {
    const body = JSON.stringify({ job: 'J-1' });
    const socket = await web.raw(
      `POST /api/juniper/request/join-job HTTP/1.1\r\nHost: x\r\nAuthorization: Bearer token-of-t-105\r\n` +
        `Content-Type: application/json\r\nContent-Length: ${body.length}\r\n\r\n${body}`,
    );
    socket.destroy();
    await until(() => socket.closed, 'the client to have hung up');
  } finally {
    process.kill(w.daemon.pid, 'SIGCONT');
  }
  // The next one is decided after it.
  assert.equal((await web.post('t-104', 'sign-check', { job: 'J-1', check: 'barricade' })).status, 200);
  const job = await w.job('J-1', (d) => d.checks.some((c) => c.check === 'barricade' && c.at));
  assert.deepEqual(
    job.crew.map((c) => c.person),
    ['t-104'],
  );
});
