// The HTTP API while the journal cannot write: what permits is 503, what stops is taken, reads go on.
import assert from 'node:assert/strict';
import { Disk } from './harness/disk.mjs';
import { Repair } from './harness/repair.mjs';
import { Web, tokens } from './harness/web.mjs';
import { scenario } from './harness/world.mjs';

let disk;
const options = {
  repeats: true,
  maxAge: 60,
  tweak: (plan, w) => {
    tokens(plan);
    disk = new Disk(w.dir);
    plan.main.journal = 'disk/forelock.db';
  },
};

scenario('a full disk', options, async (w) => {
  try {
    const web = new Web(w);
    await new Repair(w).to('working');
    const stream = await web.stream();
    disk.fill(w.daemon.pid);
    let answer;
    for (let i = 0; answer?.status !== 503; i++) {
      assert.ok(i < 150, `the daemon goes on writing on a full disk: ${answer?.text}`);
      answer = await web.post('t-104', 'sign-check', { job: 'J-1', check: 'tools-clear' });
    }
    assert.deepEqual(
      answer.body.refusals.map((r) => r.code),
      ['journal-down'],
    );
    const health = await web.ask('GET', '/health');
    assert.deepEqual([health.status, health.body.journal], [503, false]);
    const finish = await web.post('t-104', 'finish-work', { job: 'J-1' });
    assert.equal(finish.status, 503, 'of several codes 503 wins');
    const stop = await web.post('m-1', 'stop-work', { id: 's-1', job: 'J-1', reason: 'a storm' });
    assert.deepEqual([stop.status, stop.body.phase], [200, 'stopped'], stop.text);
    assert.equal((await web.get('/api/juniper/job/J-1')).phase, 'stopped');
    assert.ok((await web.get('/api/juniper/events')).length > 10);
    disk.empty(w.daemon.pid);
    await stream.wait(() => stream.told('work.stopped').length === 1, 'the event');
    const again = await web.post('m-1', 'stop-work', { id: 's-1', job: 'J-1', reason: 'a storm' });
    assert.deepEqual([again.status, again.body.again], [200, true]);
    await stream.close();
    await w.stopDaemon();
  } finally {
    if (w.daemon?.status === null) await w.killDaemon();
    disk.remove();
  }
});
