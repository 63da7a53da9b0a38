// A break that people were told of stands, though the commit that held it failed.
import assert from 'node:assert/strict';
import { lockJournal } from './harness/journal-lock.mjs';
import { Repair } from './harness/repair.mjs';
import { scenario } from './harness/world.mjs';

scenario('a live said once while the journal is locked stops the work for good', {}, async (w) => {
  const repair = await new Repair(w).to('working');
  const release = await lockJournal(w);
  await w.hw.set('3-power', 'live');
  await repair.phase('stopped', 'broken');
  await w.hw.set('3-power', 'isolated');
  await w.seen.wait(
    () => [...w.seen.docs.values()].some((d) => d?.kind === 'journal-down'),
    'the commit to fail',
  );
  await release();
  await w.seen.wait(
    () =>
      [...w.seen.docs.values()].some(
        (d) => d?.kind === 'journal-down' && d.state === 'returned-unacknowledged',
      ),
    'the journal to be up again',
  );
  const job = w.seen.docs.get('juniper/job/J-1');
  assert.deepEqual([job.phase, job.lockout], ['stopped', 'broken']);
  const broken = [...w.seen.docs.values()].filter((d) => d?.kind === 'lockout-broken');
  assert.equal(broken.length, 1);
  await w.no('t-104', 'start-work', { job: 'J-1' }, 'tag-missing');
});
