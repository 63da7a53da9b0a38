// The journal cannot write: everything that permits is refused, everything that stops still stops, and
// what was stopped is written down when there is room again.
import assert from 'node:assert/strict';
import { Disk } from './harness/disk.mjs';
import { Repair } from './harness/repair.mjs';
import { scenario } from './harness/world.mjs';

function onSmallDisk(name, body, size) {
  let disk;
  const options = {
    repeats: true,
    tweak: (p, w) => {
      disk = new Disk(w.dir, size);
      p.main.journal = 'disk/forelock.db';
    },
  };
  scenario(name, options, async (w) => {
    try {
      await body(w, disk);
      disk.empty(w.daemon.pid);
      await w.stopDaemon();
      const verified = await w.tool('journal', 'verify');
      assert.equal(verified.code, 0, verified.err);
    } finally {
      if (w.daemon?.status === null) await w.killDaemon();
      disk.remove();
    }
  });
}

// Asks until the daemon has noticed: a write that still finds room in a page may yet succeed.
async function untilDown(w, job) {
  for (let i = 0; i < 2000; i++) {
    const answer = await w.seen.request('t-104', 'sign-check', { job, check: 'no-flow' });
    if (!answer.accepted) return answer.refusals;
  }
  throw new Error('the daemon goes on writing on a full disk');
}

onSmallDisk('permits are refused and stops are taken', async (w, disk) => {
  const job = await new Repair(w).to('working');
  disk.fill(w.daemon.pid);
  const refusals = await untilDown(w, 'J-1');
  assert.ok(
    refusals.some((r) => r.code === 'journal-down'),
    JSON.stringify(refusals),
  );
  await w.seen.alarm('journal-down');
  await w.no(
    'k-1',
    'open-job',
    { job: 'J-2', position: '4A', procedure: 'boot', technician: 't-105' },
    'journal-down',
  );
  await w.no('t-104', 'finish-work', { job: 'J-1' }, 'journal-down');
  await job.ask('stop-work', { pause: true, reason: 'a customer on the island' });
  await job.phase('stopped');
  await w.no('t-104', 'start-work', { job: 'J-1' }, 'journal-down');
  disk.empty(w.daemon.pid);
  await w.job('J-1', (d) => !d.missing.some((r) => r.code === 'journal-down'));
  const written = await w.journal();
  assert.ok(
    written.some((l) => l.type.endsWith('work.stopped')),
    'the stop was never written',
  );
  await job.ask('start-work');
});

onSmallDisk('a breaker that comes back is told on a full disk', async (w, disk) => {
  const job = await new Repair(w).to('working');
  disk.fill(w.daemon.pid);
  await untilDown(w, 'J-1');
  await w.hw.set('3-power', 'live');
  await job.phase('stopped', 'broken');
  const alarm = await job.alarm();
  assert.equal(alarm.why, 'point-live');
  await job.ask('lift-tag', { point: '3-product' });
  await w.seen.doc('point/3-product', (d) => d.tags.length === 0);
  await w.killDaemon();
  disk.empty(w.daemon.pid);
  await w.startDaemon();
  // Killed before there was room, the daemon may have kept the stop in its reserve or lost it; either way
  // the point is heard live at once and nobody is told to go on.
  await job.doc((d) => d.phase === 'stopped' && d.lockout === 'broken', 'stopped and broken');
  await job.alarm();
});

// Of a disk in memory alone: a limit on the size of files is no full disk, and its reserve is no room.
onSmallDisk('a stop that was answered out of the reserve survives a kill', async (w, disk) => {
  if (!disk.mounted) return;
  const job = await new Repair(w).to('working');
  disk.fill(w.daemon.pid);
  await untilDown(w, 'J-1');
  for (const reason of ['gas', 'smoke', 'a leak']) {
    const answer = await w.seen.request('v-1', 'stop-work', { job: 'J-1', reason });
    assert.equal(answer.accepted, true, JSON.stringify(answer));
  }
  await w.killDaemon(); // at once: none of them may be lost
  disk.empty(w.daemon.pid);
  const called = (await w.journal()).filter((l) => l.type.endsWith('stop.called'));
  assert.equal(called.length, 3, 'a stop that was answered is lost');
  await w.startDaemon();
  await job.phase('stopped', 'unconfirmed');
  await w.seen.alarm('stop-called', (a) => a.count === 3);
});

// Of a disk in memory alone: the reserve and the room beside it are more than there is.
onSmallDisk(
  'a disk that is too small says how much is wanted',
  async (w, disk) => {
    if (!disk.mounted) return;
    const alarm = await w.seen.alarm('journal-down', (a) => a.args.say.endsWith('.room'));
    const { unit, min, value } = alarm.args;
    assert.deepEqual([unit, min], ['MiB', 3]);
    assert.ok(value < 3, `${value}`);
    assert.ok(alarm.say.includes('3 MiB must be free on its disk'), alarm.say);
    assert.equal(alarm.count, 1);
    assert.match(w.daemon.err, /need=3.0 MiB found=/);
    disk.grow('24m');
    await w.seen.alarm('journal-down', (a) => a.state === 'returned-unacknowledged');
    await new Repair(w).to('open');
  },
  '2m',
);
