// The daemon goes away and comes back in every phase: what stands, what must be proved again, what breaks.
import assert from 'node:assert/strict';
import { delay } from './harness/until.mjs';
import { Repair } from './harness/repair.mjs';
import { pointOf } from './harness/site.mjs';
import { scenario } from './harness/world.mjs';

const STEPS = [
  'open',
  'isolated',
  'tagged',
  'confirmed',
  'working',
  'stopped',
  'restoring',
  'lifted',
  'testing',
  'passed',
  'returned',
  'broken',
  'set aside',
  'reworked',
  'cancelled',
];
const signatures = (d) => d.checks.map((c) => [c.check, c.by, c.at, c.value, Boolean(c.void)]);
const results = (d) => d.tests.map((t) => [t.test, t.by, t.at, t.pass, Boolean(t.void)]);

// The ways out of the straight repair: from where, and how.
const ASIDE = {
  stopped: ['working', (job) => job.ask('stop-work', { reason: 'lunch', pause: true })],
  broken: [
    'working',
    async (job) => {
      await job.w.hw.set('3-power', 'live');
      // The break is told before anything else: the point's own document follows it.
      await job.phase('stopped', 'broken');
      await job.w.point('3-power', 'live');
      await job.w.hw.set('3-power', 'isolated');
      await job.w.point('3-power', 'isolated', 'fresh');
    },
  ],
  'set aside': [
    'working',
    async (job) => {
      await job.signGroup('clear', 'leave');
      await job.ask('set-aside', { reason: 'a part is missing' });
    },
  ],
  reworked: ['passed', (job) => job.ask('rework', { reason: 'it drips' })],
  cancelled: ['open', (job) => job.ask('cancel-job', { reason: 'a mistake' }, 'k-1')],
};

async function reach(w, step) {
  const job = new Repair(w);
  const [from, aside] = ASIDE[step] ?? [step];
  await job.to(from);
  await aside?.(job);
  return job;
}

// What each sensed point is: after a restart the hardware has to say it anew before anybody goes on.
const said = (w) =>
  w.plan.sites.juniper.points
    .filter((p) => p.sensors?.length !== 0)
    .map((p) => [p.point, w.seen.docs.get(`juniper/point/${p.point}`)])
    .filter(([point]) => point !== '9-fence');

async function heardAgain(w, before) {
  for (const [point, { state, trust }] of before) await w.point(point, state, trust);
}

// From wherever it stands, an honest crew comes to the end.
async function goOn(job, step) {
  if (step === 'returned' || step === 'cancelled') return job.only('start-work', {}, 'wrong-phase');
  if (step === 'broken') {
    await job.no('start-work', {}, ['alarm-open', 'tag-missing', 'check-void']);
    await job.proveAgain();
    await job.acknowledge();
  }
  if (step === 'stopped' || step === 'broken') await job.ask('start-work');
  if (step === 'set aside' || step === 'reworked') job.at = 'open';
  await job.to('returned');
}

for (const [i, step] of STEPS.entries()) {
  const crash = i % 2 === 0;
  scenario(`the daemon ${crash ? 'is killed' : 'is restarted'} when ${step}`, {}, async (w) => {
    const job = await reach(w, step);
    const before = await job.doc();
    const tags = (await w.seen.doc('point/3-power')).tags;
    const points = said(w);
    await (crash ? w.killDaemon() : w.stopDaemon());
    await w.seen.doc('daemon/edge-1', (d) => d.state === 'offline', 'offline');
    const since = w.seen.mark();
    await w.startDaemon();
    const after = await job.doc((d) => d.lockout === before.lockout, `${before.lockout} again`);
    assert.equal(after.phase, before.phase);
    assert.deepEqual(signatures(after), signatures(before));
    assert.deepEqual(results(after), results(before));
    assert.deepEqual(after.crew, before.crew);
    assert.deepEqual((await w.seen.doc('point/3-power')).tags, tags);
    if (before.lockout === 'confirmed') {
      await w.seen.event('lockout.lost', { since });
      await w.seen.event('lockout.confirmed', { since });
    }
    assert.equal(w.seen.alarms('lockout-broken').length, step === 'broken' ? 1 : 0);
    await heardAgain(w, points);
    await goOn(job, step);
  });
}

// Restarts the daemon while only the fence of the hardware goes on talking.
async function restartDeaf(w, job) {
  await w.killDaemon();
  w.hw.mute(...job.points);
  await w.startDaemon();
}

scenario('unproven: nothing goes on until each point was heard', { maxAge: 30 }, async (w) => {
  const job = await new Repair(w, { procedure: 'spout-and-boot' }).to('working');
  await restartDeaf(w, job);
  await job.phase('working', 'unproven');
  await job.no('finish-work', {}, 'point-unknown');
  await job.no(
    'sign-check',
    { check: 'spout-nut', value: 45, unit: 'N.m', instrument: 'tw-3' },
    'check-out-of-season',
  );
  await w.hw.set('3-power', 'isolated');
  await w.point('3-power', 'isolated', 'fresh');
  await job.phase('working', 'unproven');
  await w.hw.set('3-product', 'isolated');
  await job.phase('working', 'confirmed');
  assert.equal(w.seen.alarms('lockout-broken').length, 0);
  await job.to('restoring');
});

scenario('unproven in open: no start', { maxAge: 30 }, async (w) => {
  const job = await new Repair(w).to('confirmed');
  await restartDeaf(w, job);
  await job.phase('open', 'unproven');
  await job.no('start-work', {}, 'point-unknown');
  await w.hw.set(job.points, 'isolated');
  await job.phase('open', 'confirmed');
  await job.ask('start-work');
});

scenario('not heard again within its age: broken', { maxAge: 2 }, async (w) => {
  const job = await new Repair(w).to('working');
  await w.killDaemon();
  w.hw.mute('3-product');
  await w.startDaemon();
  await job.phase('stopped', 'broken');
  const alarm = await job.alarm();
  assert.equal(alarm.point, '3-product');
});

scenario(
  'away for longer than the age: broken, though all is heard at once',
  { maxAge: 2 },
  async (w) => {
    const job = await new Repair(w).to('working');
    await w.killDaemon();
    await delay(2600);
    await w.startDaemon();
    await job.phase('stopped', 'broken');
    await job.alarm();
  },
);

for (const [name, cause] of [
  ['live', (w) => w.hw.set('3-power', 'live')],
  ['bad', (w) => w.hw.set('3-power', 'isolated', 'bad')],
  ['offline', (w) => w.hw.controller('panel-1', 'offline')],
]) {
  scenario(
    `the first word after a restart is ${name}: broken at once`,
    { maxAge: 30 },
    async (w) => {
      const job = await new Repair(w).to('working');
      await w.killDaemon();
      await cause(w);
      await w.startDaemon();
      await job.phase('stopped', 'broken');
      const alarm = await job.alarm();
      assert.equal(alarm.point, '3-power');
    },
  );
}

scenario(
  'a settling point does not break after a restart',
  { tweak: (p) => (pointOf(p, '3-product').settle_s = 1) },
  async (w) => {
    const job = await new Repair(w).to('working');
    await w.killDaemon();
    await w.startDaemon();
    await job.phase('working', 'unproven');
    await job.phase('working', 'confirmed');
  },
);

scenario('alarms survive a restart, and acknowledgements of them', {}, async (w) => {
  const job = await new Repair(w).to('working');
  await w.hw.set('3-power', 'live');
  const alarm = await job.alarm();
  // It is told before the disk has it; what survives is what was written, and the event follows that.
  await w.seen.event('alarm.raised');
  await w.killDaemon();
  const since = w.seen.mark();
  await w.startDaemon();
  const same = await job.alarm();
  assert.deepEqual(
    [same.alarm, same.raised, same.state],
    [alarm.alarm, alarm.raised, 'unacknowledged'],
  );
  await job.phase('stopped', 'broken');
  // It is still live: what the new daemon hears of it for the first time raises the alarm again.
  await w.seen.event('point.changed', { since, where: (d) => d.point === '3-power' });
  await job.acknowledge();
  // Still live, it would be raised anew by the next daemon, which hears it for the first time.
  await w.hw.set('3-power', 'isolated');
  await w.point('3-power', 'isolated', 'fresh');
  await w.killDaemon();
  await w.startDaemon();
  await job.alarm((a) => a.state === 'acknowledged');
});

scenario(
  'retained topics of ours that are no longer true are emptied',
  { daemon: false },
  async (w) => {
    const since = '2026-01-01T00:00:00.000Z';
    const put = (below, document) => w.seen.publish(`juniper/${below}`, document, { retain: true });
    await put('alarm/old-1', {
      alarm: 'old-1',
      kind: 'lockout-broken',
      job: 'J-0',
      position: '3A',
      point: '3-power',
      subject: null,
      by: null,
      why: 'point-live',
      say: 'old',
      args: { say: 'alarm.point-live', job: 'J-0', point: '3-power', title: 'Point 3-power' },
      state: 'unacknowledged',
      raised: since,
      count: 1,
      priority: 'urgent',
      group: 'point/3-power',
    });
    await put('position/7Z', {
      position: '7Z',
      service: 'in-service',
      cause: null,
      job: null,
      with: null,
      phase: null,
      lockout: null,
      since,
    });
    await put('point/7-power', {
      point: '7-power',
      energy: 'electrical',
      state: 'live',
      trust: 'fresh',
      tags: [],
      distrusted: [],
      heard: since,
      since,
    });
    await put('position/3A', {
      position: '3A',
      service: 'in-service',
      cause: null,
      job: null,
      with: null,
      phase: null,
      lockout: null,
      since,
    });
    await w.startDaemon();
    for (const below of ['alarm/old-1', 'position/7Z', 'point/7-power']) await w.seen.gone(below);
    await w.position('3A', (d) => d.cause === 'unknown');
  },
);

scenario('online, offline by will, offline by choice', {}, async (w) => {
  const first = await w.seen.doc('daemon/edge-1');
  assert.deepEqual(first.sites, ['juniper']);
  await w.killDaemon();
  await w.seen.doc('daemon/edge-1', (d) => d.state === 'offline', 'offline');
  await w.startDaemon();
  const second = await w.seen.doc('daemon/edge-1');
  assert.notEqual(second.boot, first.boot);
  await w.stopDaemon();
  await w.seen.doc('daemon/edge-1', (d) => d.state === 'offline', 'offline');
  await w.startDaemon();
});
