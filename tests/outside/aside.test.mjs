// A repair that is left half done: set aside, powered again, cancelled, and what the position then owes.
import assert from 'node:assert/strict';
import { Repair } from './harness/repair.mjs';
import { scenario } from './harness/world.mjs';

scenario('set aside, gone on with, returned', {}, async (w) => {
  const job = await new Repair(w, { procedure: 'spout-and-boot' }).to('working');
  await job.only('set-aside', { reason: 'a part is missing' }, 'check-missing');
  await job.signGroup('clear', 'leave');
  await job.only('set-aside', {}, 'malformed');
  await job.ask('set-aside', { reason: 'a part is missing' });
  const document = await job.phase('open');
  assert.ok(
    document.checks.every((c) => c.by === null || c.void || c.group === 'leave'),
    'a signature survived',
  );
  await w.seen.event('work.set-aside');
  await job.lift();
  await job.restore();
  // The dispenser is powered again: the neighbor sells, this position does not.
  await w.position('3B', (d) => d.service === 'in-service');
  const position = await w.position('3A');
  assert.deepEqual([position.service, position.cause], ['out-of-service', 'job']);
  job.at = 'open';
  await job.to('returned');
  await w.position('3A', (d) => d.service === 'in-service');
});

scenario('set aside, a point of this position alone that reads live is an alarm', {}, async (w) => {
  await w.hw.set('3-vapor', 'isolated');
  await w.point('3-vapor', 'isolated');
  const job = await new Repair(w).to('working');
  await job.signGroup('clear', 'leave');
  await job.ask('set-aside', { reason: 'a part is missing' });
  assert.equal(w.seen.alarms('left-live').length, 0);
  await w.hw.set('3-vapor', 'live');
  const alarm = await w.seen.alarm('left-live');
  assert.deepEqual([alarm.point, alarm.position], ['3-vapor', '3A']);
  await w.hw.set('3-vapor', 'isolated');
  await w.seen.alarm('left-live', (a) => a.state === 'returned-unacknowledged');
});

scenario('a break ends when the job is set aside', {}, async (w) => {
  const job = await new Repair(w).to('working');
  await w.hw.set('3-power', 'live');
  await job.phase('stopped', 'broken');
  await job.acknowledge();
  await job.signGroup('clear', 'leave');
  await job.ask('set-aside', { reason: 'enough for today' });
  await job.phase('open', 'unconfirmed');
  await w.seen.wait(() => w.seen.alarms('lockout-broken').length === 0, 'the alarm to go');
});

scenario(
  'cancelled after work was started, the position owes its tests',
  {
    tweak: (p) => {
      p.procedures.other = {
        ...p.procedures.boot,
        procedure: 'other',
        tests: [
          { test: 'leak', rule: 'range', unit: 'L', max: 1 },
          { test: 'bag', rule: 'pass-fail' },
        ],
      };
    },
  },
  async (w) => {
    const first = await new Repair(w, { procedure: 'boot' }).to('working');
    await first.signGroup('clear', 'leave');
    await first.ask('set-aside', { reason: 'a part is missing' });
    await first.only('cancel-job', { reason: 'wrong kit' }, 'tag-hung', 'k-1');
    await first.lift();
    await first.restore();
    await first.ask('cancel-job', { reason: 'wrong kit' }, 'k-1');
    await first.phase('cancelled');
    const owing = await w.position('3A', (d) => d.cause === 'untested');
    assert.deepEqual([owing.service, owing.job], ['out-of-service', null]);
    assert.equal((await w.position('3B')).service, 'in-service');
    const next = await new Repair(w, { job: 'J-2', procedure: 'other' }).to('testing');
    await next.record('leak', { value: 0.5 });
    await next.record('bag');
    // One id with two rules: both are owed, the older under its procedure's name.
    const refusals = await next.only('return-position', {}, 'test-missing');
    assert.deepEqual(
      refusals.map((r) => r.subject),
      ['boot.leak'],
    );
    assert.deepEqual((await next.doc()).tests.map((t) => t.test).sort(), [
      'bag',
      'boot.leak',
      'leak',
    ]);
    await next.record('boot.leak');
    await next.giveBack();
    await w.position('3A', (d) => d.service === 'in-service');
  },
);

scenario(
  'under one id the stricter limit counts',
  {
    tweak: (p) => {
      const range = (max) => [{ test: 'ohms', rule: 'range', unit: 'ohm', max }];
      p.procedures.strict = { ...p.procedures.boot, procedure: 'strict', tests: range(10) };
      p.procedures.loose = { ...p.procedures.boot, procedure: 'loose', tests: range(100) };
    },
  },
  async (w) => {
    const first = await new Repair(w, { procedure: 'strict' }).to('working');
    await first.signGroup('clear', 'leave');
    await first.ask('set-aside', { reason: 'a part is missing' });
    await first.lift();
    await first.restore();
    await first.ask('cancel-job', { reason: 'wrong kit' }, 'k-1');
    const next = await new Repair(w, { job: 'J-2', procedure: 'loose' }).to('testing');
    assert.equal((await next.record('ohms', { value: 50 })).result.pass, false);
    await next.only('return-position', {}, 'test-failed');
    const better = await next.record('ohms', { value: 10 }, { note: 'the bond was cleaned' });
    assert.equal(better.result.pass, true);
    await next.giveBack();
  },
);

scenario('cancelled before work was started, it owes nothing', {}, async (w) => {
  const job = await new Repair(w).to('confirmed');
  await job.only('cancel-job', { reason: 'not needed' }, 'tag-hung', 'm-1');
  await job.lift();
  await job.ask('cancel-job', { reason: 'not needed' }, 'm-1');
  await w.seen.event('job.cancelled');
  await job.restore();
  await w.position('3A', (d) => d.service === 'in-service');
  await w.position('3B', (d) => d.service === 'in-service');
});
