// R3: somebody has seen a hazard. The stop stands until somebody says what was done, and everything that
// the start rested on is signed anew; the leader's rest is a pause, and one tap back to work.
import assert from 'node:assert/strict';
import { lockJournal } from './harness/journal-lock.mjs';
import { Repair } from './harness/repair.mjs';
import { scenario } from './harness/world.mjs';

const START_GROUPS = ['prepare', 'relieve', 'verify'];
const whole = { procedure: 'spout-and-boot' };
const called = (w, predicate) => w.seen.alarm('stop-called', predicate);

scenario('a stop that was called is not one tap back to work', {}, async (w) => {
  const job = await new Repair(w, whole).to('working');
  const since = w.seen.mark();
  await job.ask('stop-work', { reason: 'something is live' });
  await job.phase('stopped', 'unconfirmed');
  const alarm = await called(w);
  const { job: of, by, priority, count, state, why } = alarm;
  assert.deepEqual(
    { of, by, priority, count, state, why },
    { of: 'J-1', by: 't-104', priority: 'urgent', count: 1, state: 'unacknowledged', why: null },
  );
  assert.match(alarm.say, /something is live/);
  await w.seen.event('work.stopped', { since });
  const told = w.seen.events(null, since).map((e) => e.body.type.slice(9));
  const order = ['stop.called', 'lockout.lost', 'work.stopped'].map((type) => told.indexOf(type));
  assert.ok(order[0] >= 0 && order[0] < order[1] && order[1] < order[2], told.join(' '));
  const { data } = await w.seen.event('stop.called', { since });
  assert.deepEqual(
    [data.by, data.reason, data.phase, data.job],
    ['t-104', 'something is live', 'working', 'J-1'],
  );
  await job.no('start-work', {}, ['check-void', 'alarm-open']);
  const { checks } = await job.doc((d) => d.phase === 'stopped');
  for (const { check, group, at, void: gone } of checks)
    assert.equal(gone, at !== null && START_GROUPS.includes(group), check);

  // Seen to by the caller, a manager or a supervisor, who say what was done.
  const about = { alarm: alarm.alarm };
  await w.no('t-105', 'acknowledge-alarm', { ...about, note: 'looked' }, 'not-allowed');
  await w.only('t-104', 'acknowledge-alarm', about, 'note-missing');
  await w.ok('t-104', 'acknowledge-alarm', { ...about, note: 'a lamp circuit, now isolated' });
  await w.seen.gone(`alarm/${alarm.alarm}`);
  await job.only('start-work', {}, 'check-void');
  await job.signGroup(...START_GROUPS);
  await job.phase('stopped', 'confirmed');
  await job.start();
});

scenario('whatever the phase, and after a failed test too', {}, async (w) => {
  const job = await new Repair(w, whole).to('confirmed');
  await job.ask('stop-work', {}, 'm-1');
  await job.phase('open', 'unconfirmed');
  await job.no('start-work', {}, ['check-void', 'alarm-open']);
  await w.ok('m-1', 'acknowledge-alarm', { alarm: (await called(w)).alarm, note: 'cones moved' });
  await job.signGroup(...START_GROUPS);
  await job.phase('open', 'confirmed');
  job.at = 'confirmed';
  await job.to('passed');
  await job.ask('stop-work', { reason: 'a customer drives in' }, 'k-1');
  await job.phase('restoring');
  const { tests } = await job.doc((d) => d.phase === 'restoring');
  assert.ok(tests.every((t) => t.void));
  await job.no('begin-test', {}, ['alarm-open', 'check-void']);
});

scenario('who leads may let the work rest', {}, async (w) => {
  const job = await new Repair(w).to('working');
  await job.ask('stop-work', { pause: true, reason: 'lunch' });
  await job.phase('stopped', 'confirmed');
  assert.equal((await job.ask('stop-work', { pause: true })).again, true);
  assert.deepEqual(w.seen.alarms('stop-called'), []);
  await job.start();
  await job.ask('stop-work', { pause: true }, 's-1'); // of anybody else it is no rest
  await job.phase('stopped', 'unconfirmed');
  assert.equal((await called(w)).by, 's-1');
});

scenario('said again it counts once, and a reason may follow', {}, async (w) => {
  const job = await new Repair(w).to('working');
  await job.ask('stop-work', {}, 'v-1');
  assert.equal((await job.ask('stop-work', {}, 'v-1')).again, true);
  assert.equal((await job.ask('stop-work', { reason: 'smoke' }, 'v-1')).again, true);
  await called(w, (a) => a.count === 1 && /smoke/.test(a.say));
  assert.equal('again' in (await job.ask('stop-work', { reason: 'smoke' }, 's-1')), false);
  await called(w, (a) => a.count === 2 && a.by === 's-1');
  await job.sign('no-flow');
  await job.ask('stop-work', { reason: 'smoke' }, 's-1'); // something was signed since
  await called(w, (a) => a.count === 3);
  const { checks } = await job.doc((d) => d.checks.every((c) => !c.at || c.void));
  assert.ok(checks.some((c) => c.check === 'no-flow'));
});

scenario('it is told while the journal cannot write, and stands when it can', {}, async (w) => {
  const job = await new Repair(w).to('working');
  const release = await lockJournal(w);
  const answer = job.ask('stop-work', { reason: 'smoke' }, 'v-1');
  await called(w, (a) => a.state === 'unacknowledged');
  await job.phase('stopped', 'unconfirmed');
  assert.equal((await answer).accepted, true);
  await w.seen.alarm('journal-down');
  await release();
  await w.seen.alarm('journal-down', (a) => a.state === 'returned-unacknowledged');
  assert.deepEqual(
    w.seen.alarms('stop-called').map((a) => [a.count, a.by]),
    [[1, 'v-1']],
  );
  await w.killDaemon();
  await w.startDaemon();
  await job.phase('stopped', 'unconfirmed');
  await called(w, (a) => a.count === 1);
});
