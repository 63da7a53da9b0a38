// The wall clock is stepped by hours while the daemon runs, and stands behind the journal at a restart. What a
// lockout rests on is counted on a clock that nobody steps, so no gate opens by it and none stands too long.
import assert from 'node:assert/strict';
import test from 'node:test';
import { end } from '../outside/harness/child.mjs';
import { Repair } from '../outside/harness/repair.mjs';
import { until } from '../outside/harness/until.mjs';
import { World } from '../outside/harness/world.mjs';
import { Words, startShimmed } from './shimmed.mjs';

const HOUR = 3600000;

class Stepped extends World {
  constructor(options = {}) {
    super({ ...options, daemon: false, repeats: true });
  }

  async begin() {
    await this.setUp();
    this.words = new Words(this.dir);
    await this.up();
    // Hardware with a clock of its own is not what these are about, unless a scenario says so.
    if (!this.options.dated) this.undate();
    await this.startHardware();
  }

  // From now on the hardware's words bear no time: their age counts from when they arrive.
  undate() {
    const { hw } = this;
    const send = hw.send.bind(hw);
    hw.send = (below, payload, options) => {
      const { at, ...rest } = payload;
      return send(below, below.startsWith('signal/') ? rest : payload, options);
    };
  }

  async up() {
    const before = this.boot;
    this.daemon = startShimmed(this, this.words);
    const online = await this.seen.wait(
      () => {
        const document = this.seen.docs.get('daemon/edge-1');
        return document?.state === 'online' && document.boot !== before ? document : null;
      },
      () => `the daemon to be online: ${this.daemon.err}`,
    );
    this.boot = online.boot;
    await this.responsive();
  }

  // Steps the wall clock and waits until the daemon has read it.
  async step(ms) {
    this.words.set('ahead', ms);
    await until(async () => {
      const answer = await this.seen.request('v-1', 'join-job', { job: 'no-such-job' });
      return Math.abs(Date.parse(answer.at) - Date.now() - ms) < 60000;
    }, 'the daemon to answer by the stepped clock');
  }
}

// Acknowledges whatever alarm of a job is not.
async function acknowledgeAll(job) {
  const { docs } = job.w.seen;
  for (const [topic, alarm] of [...docs])
    if (topic.includes('/alarm/') && alarm.job === job.job && alarm.state !== 'acknowledged')
      await job.w.ok(job.leader, 'acknowledge-alarm', { alarm: alarm.alarm });
}

function scenario(name, options, body) {
  test(name, async (t) => {
    const w = new Stepped(options);
    let passed = false;
    try {
      await w.begin();
      await body(w);
      const verified = await w.tool('journal', 'verify');
      assert.equal(verified.code, 0, verified.err);
      await w.tearDown(true);
      passed = true;
    } finally {
      if (!passed) {
        await w.tearDown(false).catch((error) => t.diagnostic(error.message));
        t.diagnostic(`kept for a look: ${w.keep()}`);
      } else w.remove();
    }
  });
}

for (const [name, ms] of [
  ['three hours ahead', 3 * HOUR],
  ['three hours back', -3 * HOUR],
]) {
  scenario(
    `stepped ${name} while working: the lockout stands as long as it may`,
    { maxAge: 2 },
    async (w) => {
      const job = await new Repair(w).to('working');
      await w.step(ms);
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
      await job.no('start-work', {}, ['point-stale', 'alarm-open', 'check-void']);
    },
  );

  scenario(`stepped ${name} before the start: no gate opens by it`, { maxAge: 2 }, async (w) => {
    const job = await new Repair(w).to('tagged');
    await w.step(ms);
    await job.no('start-work', {}, 'check-missing');
    w.hw.mute('3-power');
    await w.point('3-power', 'unknown', 'stale');
    await job.no('start-work', {}, 'point-stale');
    await w.hw.set('3-power', 'isolated');
    await w.point('3-power', 'isolated', 'fresh');
    await job.tag();
    await w.step(0);
    await job.to('confirmed');
    await job.to('working');
  });

  scenario(
    `stepped ${name} under hardware that dates its words: stopped, and the clock is blamed`,
    { dated: true, maxAge: 2 },
    async (w) => {
      const job = await new Repair(w).to('working');
      w.words.set('ahead', ms);
      await w.seen.alarm('clock');
      await job.phase('stopped', 'broken');
      const refusals = await job.no('start-work', {}, 'alarm-open');
      assert.ok(
        refusals.some((r) => /^point-/.test(r.code)),
        JSON.stringify(refusals),
      );
      w.words.set('ahead', 0);
      await job.proveAgain();
      await job.acknowledge();
      await job.ask('start-work');
      await job.phase('working', 'confirmed');
    },
  );
}

scenario('restarted with a clock behind the journal: what is unproven is broken', {}, async (w) => {
  const job = await new Repair(w).to('working');
  const other = await new Repair(w, { job: 'J-2', position: '5A', leader: 't-105' }).to(
    'confirmed',
  );
  await end(w.daemon, 'SIGKILL');
  w.words.set('ahead', -2 * HOUR);
  await w.up();
  await job.phase('stopped', 'broken');
  const alarm = await job.alarm();
  assert.equal(alarm.why, 'point-stale');
  await job.no('start-work', {}, ['alarm-open', 'check-void']);
  // Nobody works on the other: it may not start on what was signed before, either.
  await other.doc((d) => d.lockout !== 'confirmed', 'not confirmed');
  await other.no('start-work', {}, 'check-void');
  await job.proveAgain();
  // How long the daemon was away is unknown, so the locks count as left for too long, too.
  assert.ok(w.seen.alarms('tag-left').some((a) => a.job === 'J-1'));
  await job.no('start-work', {}, 'alarm-open');
  await acknowledgeAll(job);
  await job.ask('start-work');
});

scenario(
  'restarted hours later by the wall clock: broken, though little time went by',
  {},
  async (w) => {
    const job = await new Repair(w).to('working');
    await end(w.daemon, 'SIGKILL');
    w.words.set('ahead', 2 * HOUR);
    await w.up();
    await job.phase('stopped', 'broken');
    await job.no('start-work', {}, ['alarm-open', 'check-void']);
  },
);
