// R10: a repair that was begun is not cancelled with an open hose behind a live valve.
import assert from 'node:assert/strict';
import { Repair } from './harness/repair.mjs';
import { scenario } from './harness/world.mjs';

const cancel = (job, codes) =>
  codes
    ? job.only('cancel-job', { reason: 'another day' }, codes, 'k-1')
    : job.ask('cancel-job', { reason: 'another day' }, 'k-1');

async function failedTest(w) {
  const job = await new Repair(w).to('testing');
  await job.record('leak', { pass: false });
  await job.ask('rework', { reason: 'it leaks' });
  await job.phase('open');
  return job;
}

scenario('a failed leak test and a cancelled job', {}, async (w) => {
  const job = await failedTest(w);
  await cancel(job, 'check-missing');
  await job.only('sign-check', { check: 'made-safe' }, 'check-out-of-season'); // no lock, and live
  await job.isolate();
  await job.tag();
  await job.sign('made-safe');
  await cancel(job, 'tag-hung');
  await job.lift();
  await cancel(job);
  await job.phase('cancelled');
});

scenario('where a point cannot be isolated a supervisor says how it was left', {}, async (w) => {
  const job = await failedTest(w);
  await job.only('sign-check', { check: 'made-safe' }, 'note-missing', 's-1');
  await job.sign('made-safe', { note: 'valve stuck: hose off, outlet plugged' }, 's-1');
  await cancel(job);
});

scenario('a lock hung since is work that may have been done', {}, async (w) => {
  const job = await failedTest(w);
  await job.isolate();
  await job.tag();
  await job.sign('made-safe');
  await job.ask('lift-tag', { point: '3-power' });
  await job.ask('hang-tag', { point: '3-power' });
  await job.lift();
  await cancel(job, 'check-void');
});

scenario('what was set aside is left safe already', {}, async (w) => {
  const job = await new Repair(w).to('working');
  await job.signGroup('clear', 'leave');
  await job.ask('set-aside', { reason: 'a part is missing' });
  await job.lift();
  const { checks } = await job.phase('open');
  assert.deepEqual(
    checks.filter((c) => c.at && !c.void).map((c) => c.check),
    ['made-safe'],
  );
  await cancel(job);
});

scenario('not while an alarm of the job is unacknowledged', {}, async (w) => {
  const job = await new Repair(w).to('tagged');
  await w.hw.set('3-power', 'live');
  await job.alarm();
  await job.lift();
  await cancel(job, 'alarm-open');
  await job.acknowledge();
  await cancel(job);
  const other = await new Repair(w, { job: 'J-2', position: '4A' }).to('working');
  await other.ask('stop-work', { reason: 'smoke' }, 'v-1');
  await other.signGroup('clear', 'leave');
  await other.only('set-aside', { reason: 'enough' }, 'alarm-open');
});

const managersClear = (p) => {
  for (const procedure of Object.values(p.procedures)) {
    for (const check of procedure.clear ?? []) {
      if (check.check === 'tools-clear') check.by = 'manager';
    }
  }
};

scenario('a point that stays live, and a clear check of a role', { tweak: managersClear }, async (w) => {
  const job = await new Repair(w).to('working');
  await w.hw.set('3-power', 'live');
  await job.phase('stopped', 'broken');
  await job.acknowledge();
  const clear = { check: 'tools-clear' };
  await job.only('sign-check', clear, 'check-out-of-season', 'm-1'); // who leads cannot be locked
  await job.only('sign-check', clear, 'note-missing', 's-1');
  await job.sign('tools-clear', { note: 'cut at the panel; looked into the cabinet' }, 's-1');
  await job.signGroup('leave');
  await job.ask('set-aside', { reason: 'the breaker is broken' });
});
