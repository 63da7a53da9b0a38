// R16: the lock of somebody absent is removed: the work stops, an alarm stands in every phase, and the
// owner is refused until they have confirmed that they know it (29 CFR 1910.147(e)(3)(iii)).
import assert from 'node:assert/strict';
import { Phone } from './harness/phone.mjs';
import { Repair } from './harness/repair.mjs';
import { tokens } from './harness/web.mjs';
import { scenario } from './harness/world.mjs';

const ATTEST = { not_on_site: true, contact_tried: true, will_be_told: true };
const remove = (w, owner, more = {}) =>
  w.ok('s-1', 'lift-absent-tag', {
    job: 'J-1',
    point: '3-power',
    person: owner,
    reason: 'went home',
    attest: ATTEST,
    ...more,
  });
const alarm = (w, predicate = () => true) => w.seen.alarm('absent-lock-removed', predicate);

// Working, with t-105 in the crew under locks of their own.
async function crewAtWork(w) {
  const job = await new Repair(w).to('isolated');
  await job.ask('join-job', {}, 't-105');
  await job.tag('t-105');
  return job.to('working');
}

scenario('while working it stops the work, and the owner is told', {}, async (w) => {
  const job = await crewAtWork(w);
  const answer = await remove(w, 't-105');
  assert.deepEqual([answer.phase, answer.lockout], ['stopped', 'confirmed']); // not the leader's lock
  const raised = await alarm(w);
  assert.deepEqual(
    [raised.job, raised.point, raised.subject, raised.by, raised.why, raised.priority],
    ['J-1', '3-power', 't-105', 's-1', 'tag-missing', 'high'],
  );
  // Whatever they ask, but to stop, lift and say what is live.
  await job.only('hang-tag', { point: '3-power' }, 'not-told', 't-105');
  await w.only('t-105', 'join-job', { job: 'no-such-job' }, 'not-told');
  await job.ask('lift-tag', { point: '3-product' }, 't-105');
  await w.only('t-104', 'confirm-told', {}, 'not-allowed');
  const told = w.seen.mark();
  await w.ok('t-105', 'confirm-told', {});
  const event = await w.seen.event('told.confirmed', { since: told });
  assert.deepEqual([event.data.person, event.data.points], ['t-105', ['3-power']]);
  await w.only('t-105', 'confirm-told', {}, 'not-allowed');
  await job.ask('hang-tag', { point: '3-power' }, 't-105');
});

scenario('the owner comes back, and is told before anything else', {}, async (w) => {
  const job = await new Repair(w).to('isolated');
  await job.ask('join-job', {}, 't-105');
  await job.tag('t-105');
  for (const point of job.points) await remove(w, 't-105', { point });
  await job.doc((d) => d.crew.every((c) => c.person !== 't-105'));
  await job.only('join-job', {}, 'not-told', 't-105');
  await w.ok('t-105', 'confirm-told', {});
  await job.ask('join-job', {}, 't-105');
});

scenario('the leader’s breaks the lockout; the last lock gone, others leave', {}, async (w) => {
  const job = await crewAtWork(w);
  await remove(w, 't-105');
  await remove(w, 't-105', { point: '3-product' });
  await job.doc((d) => d.crew.every((c) => c.person !== 't-105'));
  await remove(w, 't-104');
  await job.phase('stopped', 'broken');
  await job.alarm();
  await job.doc((d) => d.crew.some((c) => c.person === 't-104')); // who leads stays
  assert.equal((await alarm(w, (a) => a.subject === 't-104')).job, 'J-1');
});

scenario('a lock of no job, and it survives a restart', {}, async (w) => {
  await new Repair(w).to('isolated');
  await w.hw.tagging('3-power', 'hung', 't-105');
  await w.seen.doc('point/3-power', (d) => d.tags.length === 1);
  await remove(w, 't-105', { job: null });
  assert.equal((await alarm(w)).job, null);
  await w.stopDaemon();
  await w.startDaemon();
  await w.only('t-105', 'join-job', { job: 'J-1' }, 'not-told');
  await w.ok('t-105', 'confirm-told', {});
  await w.ok('t-105', 'join-job', { job: 'J-1' });
});

scenario('the phone leads to it, in both languages', { tweak: tokens, maxAge: 20 }, async (w) => {
  await crewAtWork(w);
  await remove(w, 't-105');
  const phone = await Phone.open(w, { person: 't-105' });
  await phone.offers('I KNOW: MY LOCK ON');
  const spanish = await Phone.open(w, { person: 't-105', locale: 'es' });
  await spanish.next('LO SÉ: QUITARON MI CANDADO DE');
  await w.seen.event('told.confirmed');
  await phone.page.locator('#bar .next', { hasText: 'I KNOW' }).waitFor({ state: 'detached' });
  for (const one of [phone, spanish]) {
    one.sound();
    await one.close();
  }
});
