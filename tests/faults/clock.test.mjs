// The wall clock is stepped by hours while the daemon runs, and stands behind the journal at a restart. What a
// lockout rests on is counted on a clock that nobody steps, so none stands too long; and while the wall clock may
// be wrong, no gate opens.
import assert from 'node:assert/strict';
import { Repair } from '../outside/harness/repair.mjs';
import { scenario as inWorld } from '../outside/harness/world.mjs';

const HOUR = 3600000;

// Acknowledges whatever alarm of a job, or of the clock, is not.
async function acknowledgeAll(job) {
  const { docs } = job.w.seen;
  for (const [topic, alarm] of [...docs])
    if (topic.includes('/alarm/') && alarm.state !== 'acknowledged')
      if (alarm.job === job.job || alarm.subject === 'daemon')
        await job.w.ok('m-1', 'acknowledge-alarm', { alarm: alarm.alarm, note: 'compared' });
}

const clock = (w, say) =>
  w.seen.alarm('clock', (a) => a.subject === 'daemon' && a.args.say === say);
// A minute goes by on every clock.
const minute = (w) => w.clock.set('slept', w.clock.ms.slept + 61000);
const right = (w) =>
  w.seen.wait(
    () => !w.seen.alarms('clock').some((a) => a.subject === 'daemon' && a.state !== 'returned-unacknowledged'),
    'the clock to be right',
  );

function scenario(name, options, body) {
  inWorld(name, { clock: true, repeats: true, ...options }, async (w) => {
    await body(w);
    const verified = await w.tool('journal', 'verify');
    assert.equal(verified.code, 0, verified.err);
  });
}

for (const [name, ms, say] of [
  ['three hours ahead', 3 * HOUR, 'alarm.clock.set'],
  ['three hours back', -3 * HOUR, 'alarm.clock.daemon'],
]) {
  scenario(
    `stepped ${name} while working: the lockout stands as long as it may`,
    { maxAge: 2 },
    async (w) => {
      const job = await new Repair(w).to('working');
      w.clock.set('ahead', ms);
      await clock(w, say);
      await w.fence();
      await job.phase('working', 'confirmed');
      assert.equal(w.seen.alarms('lockout-broken').length, 0);
      // Stale is what was unheard for two seconds, whatever the wall clock says meanwhile.
      const since = Date.now();
      w.hw.mute('3-power');
      await job.phase('stopped', 'broken');
      const took = Date.now() - since;
      assert.ok(took < 4000, `broken after ${took} ms`);
      const alarm = await job.alarm();
      assert.equal(alarm.point, '3-power');
      await job.no('start-work', {}, ['point-stale', 'alarm-open', 'check-void', 'clock-wrong']);
    },
  );

  scenario(
    `stepped ${name} and back before the start: no gate opens by it`,
    { maxAge: 300 },
    async (w) => {
      const job = await new Repair(w).to('confirmed');
      w.clock.set('ahead', ms);
      await clock(w, say);
      await job.only('start-work', {}, 'clock-wrong');
      w.clock.set('ahead', 0);
      // Ahead, it left times in the journal that are still to come.
      if (ms > 0) await clock(w, 'alarm.clock.daemon');
      await job.only('start-work', {}, 'clock-wrong');
      await acknowledgeAll(job);
      await w.fence();
      minute(w);
      await right(w);
      await job.to('working');
    },
  );
}

for (const [name, ms] of [
  ['three hours ahead', 3 * HOUR],
  ['three hours back', -3 * HOUR],
]) {
  scenario(
    `stepped ${name} under hardware that dates its words: stopped, and the clock is blamed`,
    { maxAge: 2 },
    async (w) => {
      w.hw.dated = true;
      await w.fence();
      const job = await new Repair(w).to('working');
      w.clock.set('ahead', ms);
      await w.seen.alarm('clock', (a) => a.subject === '3-power');
      await job.phase('stopped', 'broken');
      const refusals = await job.no('start-work', {}, 'alarm-open');
      assert.ok(
        refusals.some((r) => /^point-/.test(r.code)),
        JSON.stringify(refusals),
      );
    },
  );
}

scenario('restarted with a clock behind the journal: what is unproven is broken', {}, async (w) => {
  const job = await new Repair(w).to('working');
  const other = await new Repair(w, { job: 'J-2', position: '5A', leader: 't-105' }).to(
    'confirmed',
  );
  await w.killDaemon();
  w.clock.set('ahead', -2 * HOUR);
  await w.startDaemon();
  await job.phase('stopped', 'broken');
  const alarm = await job.alarm();
  // How long nothing was heard is unknown: each point is lost, and a controller never heard since is offline.
  assert.deepEqual([alarm.point, alarm.why], ['3-power', 'controller-offline']);
  await job.no('start-work', {}, ['alarm-open', 'check-void', 'clock-wrong']);
  // Nobody works on the other: it may not start on what was signed before, either.
  await other.doc((d) => d.lockout !== 'confirmed', 'not confirmed');
  await other.no('start-work', {}, 'check-void');
  await job.proveAgain();
  // By a gap of unknown length no lock has hung for half a day.
  assert.equal(w.seen.alarms('tag-left').length, 0);
  await job.no('start-work', {}, 'alarm-open');
  await acknowledgeAll(job);
  await right(w);
  await job.ask('start-work');
});

scenario(
  'restarted hours later by the wall clock: broken, though little time went by',
  {},
  async (w) => {
    const job = await new Repair(w).to('working');
    await w.killDaemon();
    w.clock.set('ahead', 2 * HOUR);
    await w.startDaemon();
    await job.phase('stopped', 'broken');
    await job.no('start-work', {}, ['alarm-open', 'check-void']);
  },
);
