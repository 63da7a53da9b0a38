// R12, R3, R32: a stop, or a reading that failed, while a return or a cancellation is being written is not
// refused: the position stays out, and is tested anew before it comes back.
import assert from 'node:assert/strict';
import { lockJournal } from './harness/journal-lock.mjs';
import { now } from './harness/observer.mjs';
import { Repair } from './harness/repair.mjs';
import { scenario } from './harness/world.mjs';

const ask = (w, person, verb, body) => w.seen.request(person, verb, body);

async function stopped(w, between) {
  const job = await new Repair(w).to('passed');
  const since = w.seen.mark();
  const release = await between();
  const returned = ask(w, 't-104', 'return-position', { job: 'J-1' });
  const stop = ask(w, 'v-1', 'stop-work', { job: 'J-1', reason: 'gas' });
  await release(w);
  assert.equal((await stop).accepted, true, JSON.stringify(await stop));
  assert.equal((await returned).phase, 'returned');
  const alarm = await w.seen.alarm('stop-called', (a) => a.job === 'J-1' && a.count === 1);
  await w.position('3A', (d) => d.service === 'out-of-service' && d.cause === 'untested', 'untested');
  await w.fence();
  const said = w.seen.versions('position/3A', since).map((d) => d.service);
  assert.ok(!said.includes('in-service'), said.join(' '));
  assert.equal(w.seen.events('stop.called', since).length, 1);
  return { job, alarm };
}

scenario('it lies in the same socket', {}, async (w) => {
  const { alarm } = await stopped(w, async () => {
    process.kill(w.daemon.pid, 'SIGSTOP');
    return async () => {
      await w.seen.publish('juniper/request/v-1/join-job', now({ job: 'J-9' })); // behind both
      process.kill(w.daemon.pid, 'SIGCONT');
    };
  });
  await w.killDaemon();
  await w.startDaemon();
  await w.position('3A', (d) => d.cause === 'untested', 'untested');
  const seen = { alarm: alarm.alarm, note: 'aired, and no gas found' };
  await w.ok('m-1', 'acknowledge-alarm', seen);
  const again = await new Repair(w, { job: 'J-2' }).to('passed'); // the way back
  await again.giveBack();
  await w.position('3A', (d) => d.service === 'in-service', 'in service');
});

scenario('the disk is slow', {}, async (w) => {
  await stopped(w, async () => {
    const release = await lockJournal(w);
    return async () => {
      await w.seen.alarm('stop-called'); // told before the disk
      await release();
    };
  });
});

scenario('a reading that failed while the disk is slow', {}, async (w) => {
  await new Repair(w).to('passed');
  const since = w.seen.mark();
  const release = await lockJournal(w);
  const returned = ask(w, 't-104', 'return-position', { job: 'J-1' });
  const flows = ask(w, 't-105', 'sign-check', { job: 'J-1', check: 'no-flow', pass: false });
  const told = await w.seen.alarm('lockout-broken', (a) => a.why === 'check-failed'); // before the disk
  await release();
  assert.equal((await returned).phase, 'returned');
  const answer = await flows;
  assert.equal(answer.accepted, true, JSON.stringify(answer));
  assert.equal(answer.result.pass, false);
  await w.position('3A', (d) => d.service === 'out-of-service' && d.cause === 'untested', 'untested');
  await w.fence();
  const said = w.seen.versions('position/3A', since).map((d) => d.service);
  assert.ok(!said.includes('in-service'), said.join(' '));
  await w.ok('m-1', 'acknowledge-alarm', { alarm: told.alarm });
  await w.seen.gone(`alarm/${told.alarm}`);
});

scenario('a stop while a cancellation is written', {}, async (w) => {
  await new Repair(w).to('open');
  const release = await lockJournal(w);
  const cancelled = ask(w, 'k-1', 'cancel-job', { job: 'J-1', reason: 'wrong pump' });
  const stop = ask(w, 'v-1', 'stop-work', { job: 'J-1', reason: 'gas' });
  await w.seen.alarm('stop-called', (a) => a.job === 'J-1');
  await release();
  assert.equal((await cancelled).phase, 'cancelled');
  assert.equal((await stop).accepted, true, JSON.stringify(await stop));
  await w.position('3A', (d) => d.service === 'out-of-service' && d.cause === 'untested', 'untested');
});
