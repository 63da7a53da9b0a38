// A network that dies without a word: the connection does not hear itself any more.
import assert from 'node:assert/strict';
import { readdirSync, readFileSync } from 'node:fs';
import { setTimeout as delay } from 'node:timers/promises';
import { Repair } from './harness/repair.mjs';
import { scenario } from './harness/world.mjs';

const alarm = (w, subject, state) =>
  w.seen.alarm('link-down', (a) => a.subject === subject && a.state === state);

scenario('each connection says its pulse each second', {}, async (w) => {
  const pulses = (which) =>
    w.seen.log.filter((e) => e.below === `daemon/edge-1/pulse/${which}` && e.body.boot === w.boot);
  for (const which of ['durable', 'live']) {
    await w.seen.wait(() => pulses(which).length >= 4, `pulses of ${which}`);
    const some = pulses(which).slice(-3);
    const numbers = some.map((e) => e.body.n);
    assert.deepEqual(
      numbers,
      [...numbers].sort((a, b) => a - b),
    );
    const gap = some[2].at - some[1].at;
    assert.ok(gap > 500 && gap < 1900, `a pulse of ${which} after ${gap} ms`);
    assert.deepEqual(Object.keys(some[0].body), ['boot', 'n']);
  }
});

scenario(
  'work goes on no longer than the least age after the durable connection fell silent',
  { proxy: true, maxAge: 8, repeats: true },
  async (w) => {
    const job = await new Repair(w).to('working');
    const begun = Date.now();
    w.proxy.silence('durable');
    const down = alarm(w, 'durable', 'unacknowledged').then(() => Date.now() - begun);
    down.catch(() => null); // that the work stops is looked at first
    await job.phase('stopped', 'broken');
    const after = Date.now() - begun;
    assert.ok((await down) < 8000, `seen after ${await down} ms`);
    assert.ok(after > 6500 && after < 11000, `stopped after ${after} ms`);
    assert.equal((await job.alarm()).why, 'link-down');
    // The points were heard all the while.
    await w.point('3-power', 'isolated', 'fresh');
    w.proxy.silent.durable = false;
    w.proxy.drop('durable');
    await alarm(w, 'durable', 'returned-unacknowledged');
    // The way back.
    await job.proveAgain();
    await job.acknowledge();
    await job.ask('start-work');
    await job.phase('working', 'confirmed');
  },
);

// Times that any thread of the daemon has gone to sleep of its own will.
function sleeps({ pid }) {
  const tasks = readdirSync(`/proc/${pid}/task`);
  const status = (task) => readFileSync(`/proc/${pid}/task/${task}/status`, 'utf8');
  const of = (text) => Number(/^voluntary_ctxt_switches:\s+(\d+)/m.exec(text)[1]);
  return tasks.reduce((sum, task) => sum + of(status(task)), 0);
}

scenario('at rest it wakes at most eight times a second', { hardware: false }, async (w) => {
  await w.seen.wait(
    () => w.seen.log.filter((e) => e.below.includes('/pulse/')).length > 8,
    'the start to be over',
  );
  // What else runs on the machine cuts what comes at once into pieces and only ever adds: the quietest of
  // some windows is what the daemon does by itself.
  let least = Infinity;
  for (let window = 0; window < 6 && least > 8; window += 1) {
    const before = sleeps(w.daemon);
    const begun = performance.now();
    await delay(2000);
    least = Math.min(least, ((sleeps(w.daemon) - before) * 1000) / (performance.now() - begun));
  }
  assert.ok(least <= 8, `${least} wake-ups a second`);
});
