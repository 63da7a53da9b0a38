// R12, R17: stops that come while a commit is being written are told at once, and each counts once.
import assert from 'node:assert/strict';
import { lockJournal } from './harness/journal-lock.mjs';
import { Repair } from './harness/repair.mjs';
import { tokens, Web } from './harness/web.mjs';
import { scenario } from './harness/world.mjs';

const PEOPLE = ['v-1', 't-105', 't-104', 's-1', 'm-1'];
const callers = (w, since) => w.seen.events('stop.called', since).map((e) => e.body.data.by);
const count = (n) => (a) => a.count === n;

// Each calls a stop while the last one's is on its way to the disk.
async function allStop(w, web) {
  const answers = [];
  for (const [i, person] of PEOPLE.entries()) {
    answers.push(web.post(person, 'stop-work', { job: 'J-1', reason: `seen by ${person}` }));
    await w.seen.alarm('stop-called', count(i + 1));
  }
  return answers;
}

async function assertOnce(w, since, answers) {
  for (const { status, body } of await Promise.all(answers))
    assert.deepEqual([status, body.accepted, body.again], [200, true, undefined]);
  await w.seen.wait(() => callers(w, since).length >= PEOPLE.length, 'every stop.called');
  await w.fence();
  assert.deepEqual(callers(w, since), PEOPLE);
  await w.seen.alarm('stop-called', count(PEOPLE.length));
  const raised = w.seen.events('alarm.raised', since).map((e) => e.body.data);
  const counts = raised.filter((d) => d.kind === 'stop-called').map((d) => d.count);
  assert.deepEqual(counts, [1, 2, 3, 4, 5]);
}

scenario('five people stop while the disk is slow', { tweak: tokens }, async (w) => {
  await new Repair(w).to('working');
  const web = new Web(w);
  const since = w.seen.mark();
  const release = await lockJournal(w);
  const answers = await allStop(w, web);
  await release();
  await assertOnce(w, since, answers);
});

scenario('and while it does not write at all', { tweak: tokens }, async (w) => {
  await new Repair(w).to('working');
  const web = new Web(w);
  const since = w.seen.mark();
  const release = await lockJournal(w);
  const answers = await allStop(w, web);
  await w.seen.alarm('journal-down');
  await release();
  await assertOnce(w, since, answers);
});

scenario('sixty at once', { tweak: tokens }, async (w) => {
  await new Repair(w).to('working');
  const web = new Web(w);
  const since = w.seen.mark();
  const stop = (_, i) => web.post('v-1', 'stop-work', { job: 'J-1', reason: `reason ${i}` });
  const answers = await Promise.all(Array.from({ length: 60 }, stop));
  assert.ok(answers.every((r) => r.status === 200 && !r.body.again));
  await w.seen.wait(() => callers(w, since).length >= 60, 'every stop.called');
  await w.seen.alarm('stop-called', count(60));
  await w.fence();
  assert.equal(callers(w, since).length, 60);
});
