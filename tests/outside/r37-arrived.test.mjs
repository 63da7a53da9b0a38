// What has arrived is read before anything is permitted: it came first, though by another connection.
import assert from 'node:assert/strict';
import { now } from './harness/observer.mjs';
import { Repair } from './harness/repair.mjs';
import { tokens, Web } from './harness/web.mjs';
import { scenario } from './harness/world.mjs';

// Everything that `meanwhile` sends is there when the daemon looks again.
async function asleep(w, meanwhile) {
  process.kill(w.daemon.pid, 'SIGSTOP');
  try {
    return await meanwhile();
  } finally {
    process.kill(w.daemon.pid, 'SIGCONT');
  }
}

const started = (w) => w.seen.events('work.started');

scenario('a live that came before a start lies in the other socket', {}, async (w) => {
  await new Repair(w).to('confirmed');
  const answers = () => w.seen.log.filter((e) => e.below.includes('/reply/') && e.body?.id === 's-1');
  await asleep(w, async () => {
    // So that the connection of requests is the first to have something.
    await w.seen.publish('juniper/request/v-1/join-job', now({ id: 's-0', job: 'J-9' }));
    await w.hw.set('3-power', 'live');
    await w.seen.publish('juniper/request/t-104/start-work', now({ id: 's-1', job: 'J-1' }));
  });
  const [{ body }] = await w.seen.wait(() => answers().length && answers(), 'the answer');
  assert.equal(body.accepted, false, JSON.stringify(body));
  assert.ok(body.refusals.some((r) => r.code === 'point-live'));
  assert.equal(started(w).length, 0);
});

scenario('a lift that came before a start by HTTP', { tweak: tokens }, async (w) => {
  await new Repair(w).to('confirmed');
  const web = new Web(w);
  const answer = await asleep(w, async () => {
    const socket = web.post('t-104', 'start-work', { job: 'J-1' });
    await w.seen.publish(
      'juniper/request/t-104/lift-tag',
      now({ id: 'u-1', job: 'J-1', point: '3-power' }),
    );
    return { socket };
  });
  const { status, body } = await answer.socket;
  assert.equal(status, 409, JSON.stringify(body));
  assert.ok(body.refusals.some((r) => r.code === 'tag-missing'));
  assert.equal(started(w).length, 0);
});
