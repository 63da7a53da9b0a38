// R19: credentials, calibrations and dates are judged by our clock. While it may be wrong no gate opens, and the
// alarm of it is an overseer's to answer for.
import assert from 'node:assert/strict';
import { Repair } from './harness/repair.mjs';
import { scenario } from './harness/world.mjs';

const HOUR = 3600000;
// So that none of the minutes below makes a point stale.
const SLOW = { clock: true, maxAge: 300 };

const clockAlarm = (w, predicate = () => true) =>
  w.seen.alarm('clock', (a) => a.subject === 'daemon' && predicate(a));
const gone = (w) =>
  w.seen.wait(
    () => !w.seen.alarms('clock').some((a) => a.subject === 'daemon'),
    'the alarm of the clock to be gone',
  );
const seen = (w, person, alarm, more = {}) =>
  w.ok(person, 'acknowledge-alarm', { alarm: alarm.alarm, ...more });
const sleep = (w, ms) => w.clock.set('slept', w.clock.ms.slept + ms);

scenario('a start with a clock years back starts no work', SLOW, async (w) => {
  const job = await new Repair(w).to('confirmed');
  await w.killDaemon();
  // By that clock the credential of t-106, which ended in January 2020, is good.
  w.clock.set('ahead', Date.parse('2019-06-01T00:00:00Z') - Date.now());
  await w.startDaemon();
  const expired = await new Repair(w, { job: 'J-2', position: '5A', leader: 't-106' }).to(
    'confirmed',
  );
  const refusals = await expired.no('start-work', {}, 'clock-wrong');
  assert.ok(!refusals.some((r) => r.code === 'credential-expired'));
  await job.no('start-work', {}, 'clock-wrong');
  const alarm = await clockAlarm(w);
  assert.deepEqual(
    [alarm.why, alarm.priority, alarm.group],
    ['clock-wrong', 'high', 'daemon'],
  );
});

scenario('a step shuts the gates for a minute', SLOW, async (w) => {
  const job = await new Repair(w).to('confirmed');
  w.clock.set('ahead', 10000);
  const alarm = await clockAlarm(w);
  await job.only('start-work', {}, 'clock-wrong');
  await w.only('t-104', 'acknowledge-alarm', { alarm: alarm.alarm }, 'not-allowed');
  await seen(w, 'm-1', alarm);
  await clockAlarm(w, (a) => a.state === 'acknowledged');
  await job.only('start-work', {}, 'clock-wrong'); // they follow the clock, not who has seen it
  sleep(w, 61000);
  await gone(w);
  await job.ask('start-work');
});

scenario('so do the test and the return', SLOW, async (w) => {
  const job = await new Repair(w).to('live');
  w.clock.set('ahead', 10000);
  await clockAlarm(w);
  await job.only('begin-test', {}, 'clock-wrong');
  sleep(w, 61000);
  await job.to('passed');
  w.clock.set('ahead', 0);
  await clockAlarm(w, (a) => a.state === 'unacknowledged');
  await job.only('return-position', {}, 'clock-wrong');
  sleep(w, 61000);
  await job.ask('return-position');
});

scenario('a step of a few seconds shuts nothing', SLOW, async (w) => {
  const job = await new Repair(w).to('confirmed');
  w.clock.set('ahead', 900);
  await job.ask('start-work');
  await gone(w);
});

scenario('where the journal is ahead, a note says that our clock is right', SLOW, async (w) => {
  w.clock.set('ahead', HOUR);
  const job = await new Repair(w).to('confirmed'); // written as an hour from now
  w.clock.set('ahead', 0);
  const alarm = await clockAlarm(w, (a) => a.args.say === 'alarm.clock.daemon');
  sleep(w, 61000);
  await job.only('start-work', {}, 'clock-wrong'); // though nothing was set for a minute
  await w.only('m-1', 'acknowledge-alarm', { alarm: alarm.alarm }, 'note-missing');
  await seen(w, 'm-1', alarm, { note: 'compared with the radio clock: ours is right' });
  await gone(w);
  await job.ask('start-work');
  // From now on the journal's newest time is ours: a restart finds nothing ahead of it.
  await w.killDaemon();
  await w.startDaemon();
  await job.phase('working', 'confirmed');
  await gone(w);
});
