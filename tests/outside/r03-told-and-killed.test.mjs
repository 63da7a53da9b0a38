// R3: a stop and a break are told before the disk. Killed before they are written, the daemon finds them with
// the broker: what people were told holds.
import assert from 'node:assert/strict';
import { lockJournal } from './harness/journal-lock.mjs';
import { Repair } from './harness/repair.mjs';
import { tokens, Web } from './harness/web.mjs';
import { scenario } from './harness/world.mjs';

// Kills the daemon while nothing can be written, once what `act` does is told, and starts it again.
async function killedAfter(w, act) {
  const release = await lockJournal(w);
  let told;
  try {
    told = await act();
    await w.killDaemon();
  } finally {
    await release();
  }
  const written = (await w.journal()).map((l) => l.type);
  await w.startDaemon();
  return { told, written };
}

scenario('a stop called over HTTP', { tweak: tokens }, async (w) => {
  const job = await new Repair(w).to('working');
  const { told, written } = await killedAfter(w, () => {
    const stop = new Web(w).post('v-1', 'stop-work', { job: 'J-1', reason: 'gas' });
    stop.catch(() => null); // nobody answers it
    return w.seen.alarm('stop-called');
  });
  assert.ok(!written.some((type) => type.endsWith('stop.called')), 'it was written');
  await job.phase('stopped', 'unconfirmed');
  const again = await w.seen.alarm('stop-called', (a) => a.raised > told.raised);
  assert.deepEqual([again.by, again.job, again.say], ['v-1', 'J-1', told.say]);
  await w.no('t-104', 'start-work', { job: 'J-1' }, 'alarm-open');
  await w.killDaemon(); // it has it now, and calls it once
  await w.startDaemon();
  await w.fence();
  const called = (await w.journal()).filter((l) => l.type.endsWith('stop.called'));
  assert.equal(called.length, 1);
  assert.equal(w.seen.alarms('stop-called').length, 1);
});

scenario('a breaker that came on for a moment', {}, async (w) => {
  const job = await new Repair(w).to('working');
  const { written } = await killedAfter(w, async () => {
    await w.hw.set('3-power', 'live');
    const alarm = await w.seen.alarm('lockout-broken');
    await w.hw.set('3-power', 'isolated');
    return alarm;
  });
  assert.ok(!written.some((type) => type.endsWith('lockout.broken')), 'it was written');
  await job.phase('stopped', 'broken');
  assert.equal((await job.alarm()).why, 'point-live');
  await w.point('3-power', 'isolated', 'fresh');
  await job.proveAgain(); // the way back
  await job.acknowledge();
  await job.ask('start-work');
  await job.phase('working', 'confirmed');
});
