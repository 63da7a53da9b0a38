// Checking in: while work goes on, who leads says in time that all is well, or is looked for.
import assert from 'node:assert/strict';
import { Repair } from './harness/repair.mjs';
import { write } from './harness/site.mjs';
import { Web, tokens } from './harness/web.mjs';
import { scenario } from './harness/world.mjs';

const often = (p) => {
  tokens(p);
  p.procedures.boot.check_in_s = 60; // the least there is
};

scenario('who does not check in is looked for, also over a restart', { tweak: often }, async (w) => {
  const job = await new Repair(w).to('working');
  const web = new Web(w);
  const due = async () => {
    const gate = await web.get('/api/juniper/job/J-1/gate', 't-104');
    return gate.check_in_due;
  };
  const first = Date.parse(await due());
  await job.only('check-in', {}, 'not-assigned', 't-105');
  await job.ask('check-in');
  await w.seen.event('checked-in', { where: (d) => d.by === 't-104' });
  const then = Date.parse(await due());
  assert.ok(then > first && then - Date.now() < 61_000, `${first} ${then}`);
  await w.stopDaemon();
  await w.startDaemon();
  const overdue = await w.seen.alarm('check-in-overdue', () => true, 90_000);
  assert.ok(Date.parse(overdue.raised) - then < 5000, `${overdue.raised}`);
  assert.deepEqual(
    [overdue.job, overdue.subject, overdue.priority, overdue.why],
    ['J-1', 't-104', 'urgent', null],
  );
  await w.no('t-104', 'acknowledge-alarm', { alarm: overdue.alarm, note: 'me' }, 'not-allowed');
  await w.only('m-1', 'acknowledge-alarm', { alarm: overdue.alarm }, 'note-missing');
  await job.ask('check-in');
  await w.seen.gone(`alarm/${overdue.alarm}`);
  await job.ask('stop-work', { pause: true });
  assert.equal(await due(), null);
});

scenario('a period is at least a minute', { daemon: false, tweak: often }, async (w) => {
  w.plan.procedures.boot.check_in_s = 59;
  write(w.dir, w.plan);
  const check = await w.tool('check');
  assert.equal(check.code, 3, check.out + check.err);
  assert.match(check.out + check.err, /check_in_s/);
});
