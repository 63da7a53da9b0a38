// R13: a stop is anybody's of the site, in every phase in which the job stands.
import assert from 'node:assert/strict';
import { Repair } from './harness/repair.mjs';
import { scenario } from './harness/world.mjs';

// Neither of the crew nor of those who oversee it; t-107 holds no credential.
const ANYBODY = ['t-105', 't-107', 'k-1', 'v-1', 's-1', 'm-1'];

scenario('who sees fuel may stop, whoever they are', {}, async (w) => {
  const job = await new Repair(w).to('working');
  for (const [i, person] of ANYBODY.entries()) {
    await job.ask('stop-work', { reason: 'fuel on the ground' }, person);
    await w.seen.alarm('stop-called', (a) => a.by === person && a.count === i + 1);
  }
  await job.phase('stopped', 'unconfirmed');
  await job.only('stop-work', { reason: 'x' }, 'not-allowed', 't-108'); // of another site
});

const PHASES = { open: 'open', confirmed: 'open', restoring: 'restoring', testing: 'restoring' };

for (const [step, after] of Object.entries(PHASES))
  scenario(`in ${step}`, {}, async (w) => {
    const job = await new Repair(w).to(step);
    await job.ask('stop-work', { reason: 'smell of vapor' }, 'v-1');
    await job.phase(after, 'unconfirmed');
    await w.seen.alarm('stop-called', (a) => a.by === 'v-1');
  });

scenario('of an ended job there is nothing to stop', {}, async (w) => {
  const job = await new Repair(w).to('returned');
  await job.only('stop-work', {}, 'wrong-phase', 'v-1');
  assert.deepEqual(w.seen.alarms('stop-called'), []);
});
