// R9: nobody fuels beside cones, an open cabinet or a leak test: work on a dispenser takes its other
// positions out, and a procedure may take the whole site.
import assert from 'node:assert/strict';
import { Repair } from './harness/repair.mjs';
import { scenario } from './harness/world.mjs';

const beside = (w) =>
  w.position('3B', (d) => d.service === 'out-of-service' && d.cause === 'work-beside');
const back = (w) => w.position('3B', (d) => d.service === 'in-service');

scenario('the other side stays out through finish, test and a failed test', {}, async (w) => {
  await back(w);
  const job = await new Repair(w).to('lifted');
  await job.restore(); // nothing of 3B is locked or isolated any more
  assert.equal((await beside(w)).with, 'J-1');
  job.at = 'live';
  await job.to('testing');
  await job.record('leak', { pass: false });
  assert.equal((await beside(w)).with, 'J-1');
  assert.equal((await w.position('4A')).service, 'in-service');
  await job.ask('rework', { reason: 'it leaks' });
  await back(w); // open, and no tag of the job hangs
  await job.isolate();
  await job.ask('hang-tag', { point: '3-power' });
  await w.position('3B', (d) => d.cause === 'isolated-with' && d.with === 'J-1');
});

scenario('a job that only has a lock of its own side hanging', { tweak: ownLine }, async (w) => {
  await back(w);
  const job = await new Repair(w).to('open');
  await job.ask('witness-point', { point: '3A-line', state: 'isolated' });
  await job.ask('hang-tag', { point: '3A-line' });
  assert.equal((await beside(w)).with, 'J-1');
  await job.ask('lift-tag', { point: '3A-line' });
  await back(w);
});

// A valve that isolates 3A alone.
function ownLine(p) {
  p.sites.juniper.points.push({
    point: '3A-line',
    energy: 'product',
    kind: 'line-valve',
    title: 'Line valve 3A',
    isolates: ['3A'],
    sensors: [],
    witnesses: 1,
  });
}

const takesSite = (p) => {
  p.procedures.boot.takes = 'site';
};

scenario('a procedure that takes the site takes every position', { tweak: takesSite }, async (w) => {
  await w.position('4A', (d) => d.service === 'in-service');
  const job = await new Repair(w).to('open');
  for (const position of ['3B', '4A', '5A'])
    await w.position(position, (d) => d.cause === 'isolated-with' && d.with === 'J-1');
  await job.ask('cancel-job', { reason: 'not today' }, 'k-1');
  await w.position('4A', (d) => d.service === 'in-service');
});
