// A configuration that changes under standing jobs: refused where it forgets them, stricter where it asks for more.
import assert from 'node:assert/strict';
import { rmSync } from 'node:fs';
import { join } from 'node:path';
import { run } from './harness/child.mjs';
import { Repair } from './harness/repair.mjs';
import { write } from './harness/site.mjs';
import { DAEMON, scenario } from './harness/world.mjs';

// Starting with the changed plan ends with status 3 and names the job.
async function refused(w, change, name) {
  const changed = structuredClone(w.plan);
  change(changed);
  write(w.dir, changed);
  const { code, err } = await run(DAEMON, ['-c', w.file], { cwd: w.dir });
  assert.equal(code, 3, `${change}: ${err}`);
  assert.ok(err.includes(name), `${name} is not named: ${err}`);
  write(w.dir, w.plan);
}

const without = (list, key, id) =>
  list.splice(
    list.findIndex((x) => x[key] === id),
    1,
  );

scenario('what a standing job needs cannot be taken away', {}, async (w) => {
  await new Repair(w, { position: '5A' }).to('tagged');
  await w.hw.tagging('5-power', 'hung', 't-105');
  await w.seen.doc('point/5-power', (d) => d.tags.length === 2);
  await w.stopDaemon();
  await refused(
    w,
    (p) => {
      without(p.sites.juniper.positions, 'position', '5A');
      p.sites.juniper.points = p.sites.juniper.points.filter((x) => !x.isolates.includes('5A'));
    },
    'J-1',
  );
  await refused(w, (p) => without(p.sites.juniper.points, 'point', '5-product'), 'J-1');
  await refused(w, (p) => without(p.people, 'person', 't-104'), 'J-1');
  await refused(w, (p) => without(p.people, 'person', 't-105'), 't-105');
  // As it was, it starts.
  await w.startDaemon();
  await w.job('J-1', (d) => d.phase === 'open');
});

scenario('a procedure whose tests are owed cannot be taken away', {}, async (w) => {
  const job = await new Repair(w).to('working');
  await job.signGroup('clear', 'leave');
  await job.ask('set-aside', { reason: 'a part is missing' });
  await job.lift();
  await job.restore();
  await job.ask('cancel-job', { reason: 'another kit' }, 'k-1');
  await w.stopDaemon();
  rmSync(join(w.dir, 'procedures/boot.json'));
  await refused(w, (p) => delete p.procedures.boot, 'boot');
  await w.startDaemon();
  await w.position('3A', (d) => d.cause === 'untested');
});

scenario('a standing job keeps its requirements, and takes stricter ones', {}, async (w) => {
  const job = await new Repair(w, { procedure: 'spout-and-boot' }).to('open');
  await w.stopDaemon();
  const changed = structuredClone(w.plan);
  const rules = changed.procedures['spout-and-boot'];
  rules.tests.push({ test: 'bag', rule: 'pass-fail' });
  rules.tests.splice(
    rules.tests.findIndex((x) => x.test === 'shutoff'),
    1,
  );
  rules.verify.find((x) => x.check === 'no-voltage').max = 0.5;
  write(w.dir, changed);
  await w.startDaemon();
  await job.doc(
    (d) => ['bag', 'leak', 'shutoff'].every((name) => d.tests.some((t) => t.test === name)),
    'old and new tests',
  );
  await job.to('confirmed').then(() => job.sign('no-voltage', { value: 0.8 }));
  const refusals = await job.no('start-work', {}, ['tag-missing', 'alarm-open']);
  assert.ok(refusals.some((r) => r.subject === 'no-voltage'));
});
