// What a caller may ask and the step that leads on: a crew that knows nothing else comes from opening to
// return, and what is said to be possible is accepted.
import assert from 'node:assert/strict';
import { Repair } from './harness/repair.mjs';
import { Web, tokens } from './harness/web.mjs';
import { scenario } from './harness/world.mjs';

const plain = { tweak: tokens };
const READINGS = { drained: { value: 1.5, unit: 'L' }, 'no-voltage': { value: 0.2, unit: 'V' } };
const gateOf = (web, person, at = 'job/J-1') => web.get(`/api/juniper/${at}/gate`, person);
const said = ({ mine, by, code, subject, ...about }) => about;

// The body of a step or choice, with what a person brings to it.
function bodyOf({ verb, ...about }, position) {
  if (verb === 'open-job') return { job: 'J-1', position, procedure: 'boot', technician: 't-104' };
  const brought = {
    'sign-check': READINGS[about.check],
    'record-test': { readings: { pass: true } },
    'stop-work': { reason: 'a look' },
  };
  return { ...said(about), ...brought[verb], ...(verb !== 'acknowledge-alarm' && { job: 'J-1' }) };
}

const act = (w, person, step, position) => w.ok(person, step.verb, bodyOf(step, position));

// What nobody can ask for, the hardware does: the breaker is opened, or closed again.
async function turn(w, { phase, next }) {
  const state = phase === 'testing' ? 'live' : 'isolated';
  assert.match(next.code, /^(point-|controller-)/, JSON.stringify(next));
  await w.hw.set('4-power', state);
  await w.point('4-power', state, 'fresh');
}

scenario('whoever does what `next` says repairs the position', plain, async (w) => {
  const web = new Web(w);
  const asked = [];
  const free = await gateOf(web, 't-104', 'position/4A');
  assert.deepEqual(
    [free.job, free.position, free.phase, free.gate, free.open, free.next],
    [null, '4A', null, null, false, null],
  );
  assert.ok(!free.may.includes('open-job'));
  for (let i = 0; i < 80; i += 1) {
    const at = asked.length ? 'job/J-1' : 'position/4A';
    const gates = { 'k-1': await gateOf(web, 'k-1', at) };
    if (gates['k-1'].phase === 'returned') break;
    for (const person of ['t-104', 'm-1']) gates[person] = await gateOf(web, person, at);
    const doer = Object.keys(gates).find((person) => gates[person].next?.mine);
    if (!doer) {
      await turn(w, gates['t-104']);
      continue;
    }
    const { next, may, choices } = gates[doer];
    assert.ok(may.includes(next.verb), `${next.verb} is in ${may}`);
    assert.deepEqual(next.by, []);
    if (next.verb !== 'open-job')
      assert.ok(
        choices.some((c) => JSON.stringify(c) === JSON.stringify(said(next))),
        `${JSON.stringify(next)} is one of ${JSON.stringify(choices)}`,
      );
    await act(w, doer, next, '4A');
    asked.push(next.verb);
  }
  const { phase, next, may } = await gateOf(web, 't-104');
  assert.equal(phase, 'returned', asked.join(' '));
  assert.equal(next, null);
  assert.ok(!may.includes('hang-tag'));
  for (const verb of ['open-job', 'hang-tag', 'sign-check', 'start-work', 'return-position'])
    assert.ok(asked.includes(verb), verb);
});

scenario('after a break everybody sees what leads on, and by whom', plain, async (w) => {
  const web = new Web(w);
  const job = await new Repair(w).to('working');
  const of = async (person) => gateOf(web, person);
  assert.ok((await of('t-104')).may.includes('stop-work'));
  assert.ok((await of('m-1')).may.includes('stop-work'));
  assert.ok((await of('v-1')).may.includes('stop-work')); // whoever sees a hazard
  await w.hw.set('3-power', 'live');
  await job.phase('stopped', 'broken');
  const { alarm } = await job.alarm();
  const theirs = await of('t-104');
  assert.deepEqual(said(theirs.next), { verb: 'acknowledge-alarm', alarm });
  assert.equal(theirs.next.code, 'alarm-open');
  const other = (await of('v-1')).next;
  assert.deepEqual([other.verb, other.mine], ['acknowledge-alarm', false]);
  assert.deepEqual(other.by.sort(), ['crew', 'manager', 'supervisor']);
  await act(w, 't-104', theirs.next);
  const { next } = await of('t-104');
  assert.deepEqual([next.verb, next.code, next.subject], [null, 'point-live', '3-power']);
  // The position's gate is the job's that stands on it.
  const here = await gateOf(web, 't-104', 'position/3A');
  assert.deepEqual(here.next, next);
  assert.equal(here.job, 'J-1');
});

scenario('a gate is for people of the site, of a position that is there', plain, async (w) => {
  const web = new Web(w);
  await web.problem(404, 'GET', '/api/juniper/position/7Z/gate', { person: 'v-1' });
  await web.problem(401, 'GET', '/api/juniper/position/3A/gate', {});
});
