// R22: a test that failed passes only with a note of what was changed.
import { Repair } from './harness/repair.mjs';
import { scenario } from './harness/world.mjs';

scenario('a leak that failed and is tight a second later', {}, async (w) => {
  const job = await new Repair(w).to('testing');
  const tight = { test: 'leak', readings: { pass: true } };
  await job.record('leak', { pass: false });
  const [refusal] = await job.only('record-test', tight, 'note-missing');
  if (refusal.subject !== 'leak') throw new Error(JSON.stringify(refusal));
  await job.only('record-test', { ...tight, note: ' \t ' }, 'note-missing');
  await job.record('leak', { pass: false }); // it failed again
  // Void by a new beginning, it failed all the same.
  await job.ask('stop-work', { reason: 'gasket' });
  const alarm = await w.seen.alarm('stop-called', (a) => a.job === 'J-1');
  await w.ok('m-1', 'acknowledge-alarm', { alarm: alarm.alarm, note: 'gasket being replaced' });
  await job.beginTest();
  await job.only('record-test', tight, 'note-missing');
  await job.record('leak', { pass: true }, { note: 'gasket replaced' });
  await job.record('leak'); // it passed before
  await job.giveBack();
});
