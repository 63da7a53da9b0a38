// The broker goes away and comes back in every phase, and other daemons turn up on it.
import assert from 'node:assert/strict';
import { end, start } from './harness/child.mjs';
import { connect } from './harness/observer.mjs';
import { delay, until } from './harness/until.mjs';
import { Repair } from './harness/repair.mjs';
import { DAEMON, scenario } from './harness/world.mjs';

const STEPS = [
  'open',
  'tagged',
  'confirmed',
  'working',
  'stopped',
  'restoring',
  'testing',
  'passed',
  'returned',
  'cancelled',
];

async function reach(w, step) {
  const job = new Repair(w);
  await job.to({ stopped: 'working', cancelled: 'open' }[step] ?? step);
  if (step === 'stopped') await job.ask('stop-work', { pause: true });
  if (step === 'cancelled') await job.ask('cancel-job', { reason: 'lunch' }, 'm-1');
  return job;
}

// Restarts the broker; what is kept on disk is kept, or with SIGKILL perhaps lost.
async function restart(w, signal, away = 0) {
  await w.broker.stop(signal);
  await delay(away);
  const since = w.seen.mark();
  await w.broker.start();
  await w.seen.wait(() => w.seen.subscribed && w.seen.client.connected, 'the observer to be back');
  await w.seen.doc('daemon/edge-1', (d) => d.state === 'online', 'online again');
  // Its word may be one from before: only what it now hears and says tells that it is back.
  await w.responsive();
  return since;
}

for (const [i, step] of STEPS.entries()) {
  const signal = i % 2 ? 'SIGKILL' : 'SIGTERM';
  scenario(
    `the broker ends by ${signal} when ${step} and comes back`,
    { maxAge: 20, repeats: true },
    async (w) => {
      const job = await reach(w, step);
      const before = await job.doc();
      const boot = w.boot;
      await restart(w, signal);
      const after = await job.doc(
        (d) => d.phase === before.phase && d.lockout === before.lockout,
        'as before',
      );
      assert.deepEqual(after.checks, before.checks);
      assert.equal(w.seen.docs.get('daemon/edge-1').boot, boot, 'the daemon itself was restarted');
      assert.equal(w.seen.alarms('lockout-broken').length, 0);
      // Every document is there again, also where the broker lost all it had.
      for (const position of ['3A', '3B', '4A', '5A']) await w.position(position);
      for (const point of ['3-power', '3-product', '4-product']) await w.seen.doc(`point/${point}`);
      if (step === 'returned' || step === 'cancelled') return;
      if (step === 'stopped') await job.ask('start-work');
      await job.to('returned');
    },
  );
}

scenario(
  'the broker is away for longer than the points’ age: stopped, and told when it is back',
  { maxAge: 1.5, repeats: true },
  async (w) => {
    const job = await new Repair(w).to('working');
    // A tracker whose session the broker keeps: the daemon may be back before who looks on here.
    const tracker = connect(w.broker.port, {
      clean: false,
      clientId: 'tracker',
      properties: { sessionExpiryInterval: 600 },
    });
    const told = new Set();
    tracker.on('message', (_, bytes) => told.add(JSON.parse(bytes).type));
    await tracker.subscribeAsync('forelock/juniper/event', { qos: 1 });
    await restart(w, 'SIGTERM', 2500);
    await job.phase('stopped', 'broken');
    const alarm = await job.alarm();
    assert.equal(alarm.why, 'point-stale');
    await until(
      () => told.has('forelock.lockout.broken'),
      () => `the tracker to be told; it heard ${[...told].join(' ')}`,
    );
    await tracker.endAsync(true);
  },
);

scenario('the daemon is there before its broker', { daemon: false }, async (w) => {
  await w.broker.stop();
  const early = start(DAEMON, ['-c', w.file], { cwd: w.dir });
  await until(
    () => /link: .*connect/i.test(early.err),
    () => `a word of the link: ${early.err}`,
  );
  assert.equal(early.status, null);
  await w.broker.start();
  await w.seen.doc('daemon/edge-1', (d) => d.state === 'online', 'online');
  await w.position('3A', (d) => d.cause === 'unknown');
  assert.deepEqual(await end(early), { code: 0, signal: null }, early.err);
});

const other = (more = {}) => {
  const now = new Date().toISOString();
  return {
    state: 'online',
    version: '1',
    boot: 'another',
    since: now,
    at: now,
    sites: ['juniper'],
    ...more,
  };
};

scenario('contested by another daemon: nothing opens, stops are taken', {}, async (w) => {
  const job = await new Repair(w).to('working');
  await job.ask('join-job', {}, 't-105');
  await job.tag('t-105');
  await w.ok('t-105', 'sign-check', { job: 'J-1', check: 'no-flow' });
  await job.ask('hand-over', { to: 't-105' });
  await job.signGroup('clear', 'leave');
  await w.seen.publish('daemon/edge-2', other(), { retain: true });
  await w.seen.alarm('site-contested');
  await job.only('accept-lead', {}, 'site-contested', 't-105');
  await job.only('finish-work', {}, 'site-contested');
  await job.only('set-aside', { reason: 'x' }, 'site-contested');
  await job.ask('stop-work', { pause: true, reason: 'two daemons' });
  await job.no('start-work', {}, 'site-contested');
  await w.seen.publish('daemon/edge-2', '', { retain: true });
  await job.doc((d) => !d.missing.some((r) => r.code === 'site-contested'));
  await job.ask('start-work');
});

scenario('contested by its own name under another boot', {}, async (w) => {
  const job = await new Repair(w).to('confirmed');
  await w.seen.publish('daemon/edge-1', other(), { retain: true });
  await w.seen.alarm('site-contested');
  await job.no('start-work', {}, 'site-contested');
});

scenario('contested: no position comes back', {}, async (w) => {
  const job = await new Repair(w).to('passed');
  await w.hw.set('3-vapor', 'isolated');
  await w.point('3-vapor', 'isolated');
  await job.giveBack();
  await w.seen.publish('daemon/edge-2', other(), { retain: true });
  await w.seen.alarm('site-contested');
  await w.hw.set('3-vapor', 'live');
  await w.point('3-vapor', 'live');
  await w.fence();
  assert.equal((await w.position('3A')).service, 'out-of-service');
  await w.seen.publish('daemon/edge-2', other({ state: 'offline' }), { retain: true });
  await w.position('3A', (d) => d.service === 'in-service');
});

scenario(
  'another daemon that is offline, elsewhere or nonsense contests nothing',
  {},
  async (w) => {
    const job = await new Repair(w).to('confirmed');
    w.seen.strangers = ['daemon/edge-3', 'daemon/edge-5'];
    await w.seen.publish('daemon/edge-2', other({ state: 'offline' }), { retain: true });
    await w.seen.publish('daemon/edge-4', other({ sites: ['elsewhere'] }), { retain: true });
    await w.seen.publish(
      'daemon/edge-5',
      { state: 'asleep', sites: ['juniper'] },
      { retain: true },
    );
    await w.fence();
    await job.ask('start-work');
    assert.equal(w.seen.alarms('site-contested').length, 0);
  },
);
