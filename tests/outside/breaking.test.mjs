// Every cause that breaks a lockout, in every phase in which it does, and the way back.
import assert from 'node:assert/strict';
import { Repair } from './harness/repair.mjs';
import { scenario } from './harness/world.mjs';

// What a break looks like to everybody, wherever it comes from.
async function broken(w, job, { why, point, since = 0, phase = 'stopped' }) {
  await job.phase(phase, 'broken');
  const alarm = await job.alarm((a) => a.state === 'unacknowledged');
  assert.equal(alarm.position, job.position);
  if (why) assert.ok([why].flat().includes(alarm.why), `why is ${alarm.why}`);
  if (point) assert.equal(alarm.point, point);
  await w.position(job.position, (d) => d.phase === phase && d.lockout === 'broken');
  const event = await w.seen.event('lockout.broken', { since, where: (d) => d.job === job.job });
  await w.seen.event('alarm.raised', { since });
  if (point)
    assert.ok(
      event.data.evidence.some((e) => e.point === point),
      JSON.stringify(event.data.evidence),
    );
  // Everything that would go on is refused.
  await job.no('start-work', {}, 'alarm-open');
}

const live = {
  name: 'reads live',
  why: 'point-live',
  point: '5-product',
  cause: (w) => w.hw.set('5-product', 'live'),
};
const CAUSES = [
  live,
  {
    name: 'is of bad quality',
    why: 'point-unknown',
    point: '5-product',
    cause: (w) => w.hw.set('5-product', 'isolated', 'bad'),
  },
  {
    name: 'is said in words that nobody can read',
    why: 'point-unknown',
    point: '5-product',
    cause: (w) => w.hw.send('signal/5-product', '{"state":'),
  },
  {
    name: 'disagrees with itself',
    why: 'point-disagrees',
    point: '5-power',
    cause: (w) => w.hw.set('5-power-b', 'live'),
  },
  {
    name: 'goes offline with its controller',
    why: 'controller-offline',
    point: '5-power',
    cause: (w) => w.hw.controller('panel-1', 'offline'),
  },
  {
    name: 'is unheard for too long',
    why: 'point-stale',
    point: '5-product',
    maxAge: 1.5,
    cause: (w) => w.hw.mute('5-product'),
  },
];
const tweak = (p) => {
  p.sites.juniper.points.find((x) => x.point === '5-power').controller = 'panel-1';
};

for (const c of CAUSES) {
  const options = { maxAge: c.maxAge ?? 5, tweak };
  scenario(`while working, a point ${c.name}`, options, async (w) => {
    const job = await new Repair(w, { position: '5A' }).to('working');
    const since = w.seen.mark();
    await c.cause(w);
    await broken(w, job, { ...c, since });
    // The alarm and the job's document are told at once; the events follow the commit.
    const first = w.seen.log.find((e) => e.n >= since && e.below.startsWith('juniper/alarm/'));
    const event = w.seen.events('lockout.broken', since)[0];
    assert.ok(first.n < event.n, 'the event came before the alarm');
  });

  scenario(`while stopped by a person, a point ${c.name}`, options, async (w) => {
    const job = await new Repair(w, { position: '5A' }).to('working');
    await job.ask('stop-work', { reason: 'lunch', pause: true });
    await job.phase('stopped', 'confirmed');
    const since = w.seen.mark();
    await c.cause(w);
    await broken(w, job, { ...c, since });
  });
}

scenario('while working, the whole site falls silent', { maxAge: 1.5, tweak }, async (w) => {
  const job = await new Repair(w, { position: '5A' }).to('working');
  await w.hw.close();
  await job.phase('stopped', 'broken');
  const alarm = await job.alarm();
  assert.equal(alarm.why, 'point-stale');
  await w.position('5A', (d) => d.phase === 'stopped' && d.lockout === 'broken');
  for (const id of ['5-power', '5-product', '3-power']) await w.point(id, 'unknown', 'stale');
});

for (const phase of ['working', 'stopped']) {
  scenario(`while ${phase}, the leader’s tag is lifted`, {}, async (w) => {
    const job = await new Repair(w).to('working');
    if (phase === 'stopped') await job.ask('stop-work', { reason: 'lunch', pause: true });
    const since = w.seen.mark();
    await job.ask('lift-tag', { point: '3-power' });
    await broken(w, job, { since });
  });

  scenario(`while ${phase}, the leader’s lock is read as taken off`, {}, async (w) => {
    const job = await new Repair(w).to('working');
    if (phase === 'stopped') await job.ask('stop-work', { reason: 'lunch', pause: true });
    const since = w.seen.mark();
    await w.hw.tagging('3-product', 'lifted', 't-104');
    await broken(w, job, { since });
  });

  for (const [check, value] of [
    ['no-voltage', { value: 40 }],
    ['drained', { value: -1 }],
  ])
    scenario(`while ${phase}, ${check} is signed outside its limits`, {}, async (w) => {
      const job = await new Repair(w, { procedure: 'spout-and-boot' }).to('working');
      if (phase === 'stopped') await job.ask('stop-work', { reason: 'lunch', pause: true });
      const since = w.seen.mark();
      await job.sign(check, value);
      await broken(w, job, { since, why: ['check-failed'] });
    });
}

for (const [step, phase] of [
  ['tagged', 'open'],
  ['confirmed', 'open'],
  ['restoring', 'restoring'],
]) {
  scenario(`hands in the cabinet: live under a counting tag when ${step}`, {}, async (w) => {
    const job = await new Repair(w).to(step);
    const since = w.seen.mark();
    await w.hw.set('3-power', 'live');
    const alarm = await job.alarm();
    assert.deepEqual([alarm.why, alarm.point, alarm.position], ['point-live', '3-power', '3A']);
    await job.phase(phase, 'broken');
    await w.seen.event('alarm.raised', { since });
    // The tag is there and counts no more, and does not count again by itself.
    await w.seen.doc('point/3-power', (d) => d.tags.length === 1 && d.tags[0].counts === false);
    await w.hw.set('3-power', 'isolated');
    await w.point('3-power', 'isolated', 'fresh');
    assert.equal((await w.seen.doc('point/3-power')).tags[0].counts, false);
  });
}

scenario('hands in the cabinet: two sensors disagree under a counting tag', {}, async (w) => {
  const job = await new Repair(w, { position: '5A' }).to('tagged');
  await w.hw.set('5-power-a', 'live');
  const alarm = await job.alarm();
  assert.deepEqual([alarm.why, alarm.point], ['point-disagrees', '5-power']);
});

scenario('after the finish the lockout stays broken until the return', {}, async (w) => {
  const job = await new Repair(w).to('restoring');
  await w.hw.set('3-power', 'live');
  await job.phase('restoring', 'broken');
  await job.to('live');
  await job.only('begin-test', {}, 'alarm-open');
  await job.acknowledge();
  await job.to('passed');
  assert.equal((await job.doc()).lockout, 'broken');
  await job.giveBack();
});

scenario('live without a tag is no alarm', {}, async (w) => {
  const job = await new Repair(w).to('isolated');
  await w.hw.set('3-power', 'live');
  await w.point('3-power', 'live');
  await w.fence();
  assert.equal(w.seen.alarms('lockout-broken').length, 0);
  assert.equal((await job.doc()).lockout, 'unconfirmed');
});

scenario(
  'a confirmed lockout that goes while nobody works is lost, not broken',
  { maxAge: 1.5 },
  async (w) => {
    const job = await new Repair(w).to('confirmed');
    const since = w.seen.mark();
    w.hw.mute('3-product');
    await w.seen.event('lockout.lost', { since });
    const document = await job.phase('open', 'unconfirmed');
    assert.ok(document.missing.some((r) => r.code === 'point-stale' && r.subject === '3-product'));
    assert.equal(w.seen.alarms('lockout-broken').length, 0);
    // The proof rested on the hold of the points: it has to be given anew.
    await w.hw.set('3-product', 'isolated');
    await w.point('3-product', 'isolated', 'fresh');
    await job.no('start-work', {}, 'check-void');
  },
);

scenario('the way back, step by step', {}, async (w) => {
  const job = await new Repair(w, { procedure: 'spout-and-boot' }).to('working');
  await w.hw.set('3-power', 'live');
  await job.phase('stopped', 'broken');
  await job.lacks('alarm-open', 'check-void', 'point-live', 'tag-missing');
  await job.isolate();
  await job.lacks('alarm-open', 'check-void', 'tag-missing');
  await job.no('sign-check', { check: 'no-flow' }, 'check-out-of-season');
  await job.ask('hang-tag', { point: '3-power' });
  await job.doc((d) => !d.missing.some((r) => r.code === 'tag-missing'));
  await job.sign('drained');
  await job.signGroup('verify');
  await job.phase('stopped', 'confirmed');
  await job.lacks('alarm-open');
  await job.only('start-work', {}, 'alarm-open');
  await job.acknowledge();
  await job.ask('start-work');
  await job.phase('working', 'confirmed');
});

scenario(
  'an alarm acknowledged first is gone when the lockout is confirmed anew',
  {},
  async (w) => {
    const job = await new Repair(w).to('working');
    await w.hw.set('3-power', 'live');
    const alarm = await job.alarm((a) => a.state === 'unacknowledged');
    await w.no('v-1', 'acknowledge-alarm', { alarm: alarm.alarm }, 'not-allowed');
    await w.no('t-105', 'acknowledge-alarm', { alarm: alarm.alarm }, 'not-in-crew');
    await job.acknowledge('s-1');
    await job.alarm((a) => a.state === 'acknowledged');
    await w.seen.event('alarm.acknowledged');
    await job.proveAgain();
    await w.seen.gone(`alarm/${alarm.alarm}`);
    await w.seen.event('alarm.cleared');
    await w.no('s-1', 'acknowledge-alarm', { alarm: alarm.alarm }, 'unknown-alarm');
    await job.ask('start-work');
  },
);

scenario('an alarm that returned first is gone when it is acknowledged', {}, async (w) => {
  const job = await new Repair(w).to('working');
  await w.hw.set('3-power', 'live');
  await job.phase('stopped', 'broken');
  await job.proveAgain();
  const alarm = await job.alarm((a) => a.state === 'returned-unacknowledged');
  await job.acknowledge();
  await w.seen.gone(`alarm/${alarm.alarm}`);
  await w.seen.event('alarm.cleared');
});

scenario('a break while stopped raises an acknowledged alarm again', {}, async (w) => {
  const job = await new Repair(w).to('working');
  await w.hw.set('3-power', 'live');
  await job.acknowledge();
  await job.alarm((a) => a.state === 'acknowledged');
  await w.hw.set('3-product', 'live');
  await job.alarm((a) => a.state === 'unacknowledged');
  await job.phase('stopped', 'broken');
});

scenario('stopped and cleared, the leader’s tag lifted is lost without alarm', {}, async (w) => {
  const job = await new Repair(w, { procedure: 'spout-and-boot' }).to('working');
  await job.ask('stop-work', { reason: 'to leave it for tomorrow', pause: true });
  await job.signGroup('clear', 'leave');
  const since = w.seen.mark();
  await job.ask('lift-tag', { point: '3-power' });
  await w.seen.event('lockout.lost', { since });
  await job.phase('stopped', 'unconfirmed');
  assert.equal(w.seen.alarms('lockout-broken').length, 0);
});
