// Every event of the contract is told once, about the right position and job, in the journal's order and
// with the journal's own facts.
import assert from 'node:assert/strict';
import test from 'node:test';
import { Repair } from './harness/repair.mjs';
import { EVENTS } from './harness/shape.mjs';
import { pointOf } from './harness/site.mjs';
import { scenario } from './harness/world.mjs';

const told = new Set();
const attest = { not_on_site: true, contact_tried: true, will_be_told: true };

// What was told is what was written: every fact of a published type once, with its number, type, subject,
// time and data.
async function asWritten(w) {
  const published = new Set(EVENTS.map((type) => `forelock.${type}`));
  const lines = (await w.journal()).filter((l) => published.has(l.type));
  const last = lines.at(-1);
  await w.seen.wait(
    () => w.seen.events().some((e) => Number(e.body.id) === last.seq),
    `the last fact, ${last.seq} (${last.type}), as an event`,
  );
  // What came to be after the journal was read is not in it: a point of the last step may still settle.
  const events = w.seen
    .events()
    .map((e) => e.body)
    .filter((e) => Number(e.id) <= last.seq);
  assert.deepEqual(
    events.map((e) => Number(e.id)),
    lines.map((l) => l.seq),
  );
  events.forEach((event, i) => {
    const line = lines[i];
    assert.deepEqual(
      [event.type, event.subject ?? null, event.data, event.time],
      [line.type, line.subject ?? null, line.data, line.at],
    );
    assert.equal(event.source, `/forelock/${line.site}`);
    told.add(event.type.slice('forelock.'.length));
  });
}

// The types of one job's events, in their order. They are about the job's position, but for those of a
// point that isolates several.
function ofJob(w, job, position) {
  const events = w.seen.events().filter((e) => e.body.data.job === job);
  for (const { body } of events) {
    const about = [body.subject ?? null, body.data.position];
    if (/\.(tag|point)\./.test(body.type) && body.subject === undefined)
      assert.deepEqual(about, [null, null], body.type);
    else assert.deepEqual(about, [position, position], body.type);
  }
  return events.map((e) => e.body.type.slice('forelock.'.length));
}

// That `wanted` happens in this order; other things may happen in between.
function inOrder(types, wanted) {
  let at = -1;
  for (const type of wanted) {
    const next = types.indexOf(type, at + 1);
    assert.ok(
      next > at,
      `${type} is missing after ${types.slice(0, at + 1).join(' ')} in ${types}`,
    );
    at = next;
  }
}

scenario('a repair with a break and a change of the lead', {}, async (w) => {
  const job = new Repair(w);
  await w.ok('k-1', 'open-job', { job: 'J-1', position: '3A', procedure: 'boot' });
  await w.ok('k-1', 'assign-job', { job: 'J-1', technician: 't-104' });
  job.at = 'open';
  await job.no('start-work', {}, 'point-live');
  await job.to('isolated');
  await job.ask('join-job', {}, 't-105');
  await job.tag('t-105');
  await job.to('working');
  await job.ask('lift-tag', { point: '3-power' }, 't-105');
  await job.ask('hang-tag', { point: '3-power' }, 't-105');
  await w.ok('t-105', 'sign-check', { job: 'J-1', check: 'no-flow' });
  await job.ask('hand-over', { to: 't-105' });
  await job.ask('accept-lead', {}, 't-105');
  await job.lift('t-104');
  await job.ask('leave-job', {}, 't-104');
  await w.hw.set('3-power', 'live');
  await job.phase('stopped', 'broken');
  await job.acknowledge('t-105');
  job.leader = 't-105';
  await job.proveAgain();
  await job.ask('start-work');
  await job.ask('stop-work', { reason: 'a delivery', pause: true });
  await job.ask('start-work');
  job.at = 'working';
  await job.to('restoring');
  await job.no('begin-test', {}, 'tag-hung');
  await job.to('testing');
  await job.no('return-position', {}, 'test-missing');
  await job.to('returned');
  await w.position('3A', (d) => d.service === 'in-service');
  await asWritten(w);
  inOrder(
    ofJob(w, 'J-1', '3A'),
    (
      'job.opened job.assigned work.refused crew.joined tag.hung crew.protected lockout.confirmed work.started ' +
      'tag.lifted crew.unprotected tag.hung crew.protected lead.offered job.handed-over crew.left ' +
      'lockout.broken alarm.acknowledged lockout.confirmed alarm.cleared work.started work.stopped ' +
      'work.started work.finished test.refused test.begun return.refused test.recorded job.returned'
    ).split(' '),
  );
  const service = w.seen
    .events()
    .filter((e) => e.body.subject === '3A' && e.body.type.startsWith('forelock.position.'))
    .map((e) => e.body.type);
  assert.deepEqual(service.slice(-2), [
    'forelock.position.out-of-service',
    'forelock.position.returned',
  ]);
});

scenario(
  'a repair that is lost, set aside, done again and cancelled',
  { maxAge: 1.5 },
  async (w) => {
    const job = await new Repair(w, { position: '4A' }).to('confirmed');
    w.hw.mute('4-power');
    await w.seen.event('lockout.lost', { where: (d) => d.job === 'J-1' });
    await w.hw.set('4-power', 'isolated');
    await w.point('4-power', 'isolated', 'fresh');
    await job.tag();
    await job.confirm();
    await job.start();
    await job.signGroup('clear', 'leave');
    await job.ask('set-aside', { reason: 'a part is missing' });
    await job.confirm();
    await job.start();
    await job.finish();
    await job.ask('rework', { reason: 'it leaks' });
    await job.signGroup('leave');
    await job.lift();
    await job.ask('cancel-job', { reason: 'another kit' }, 'k-1');
    await asWritten(w);
    inOrder(
      ofJob(w, 'J-1', '4A'),
      (
        'job.opened point.witnessed tag.hung lockout.confirmed lockout.lost lockout.confirmed work.started ' +
        'work.set-aside lockout.confirmed work.started work.finished work.reopened tag.lifted job.cancelled'
      ).split(' '),
    );
  },
);

scenario(
  'an event of a point names the position only if it isolates no other',
  { tweak: (p) => (pointOf(p, '3-vapor').settle_s = 0) },
  async (w) => {
    const since = w.seen.mark();
    await w.hw.set(['3-vapor', '3-power'], 'isolated');
    const alone = await w.seen.event('point.changed', {
      since,
      where: (d) => JSON.stringify(d).includes('3-vapor'),
    });
    assert.equal(alone.subject, '3A');
    const shared = await w.seen.event('point.changed', {
      since,
      where: (d) => JSON.stringify(d).includes('3-power'),
    });
    assert.ok(!('subject' in shared), JSON.stringify(shared));
    await w.hw.tagging('3-vapor', 'hung', 'B-1');
    await w.seen.doc('point/3-vapor', (d) => d.tags.length === 1);
    const removal = { point: '3-vapor', badge: 'B-1', reason: 'cut off', attest };
    await w.ok('s-1', 'lift-absent-tag', removal);
    const lifted = await w.seen.event('tag.lifted', { since });
    assert.equal(lifted.data.job, null);
    await asWritten(w);
  },
);

scenario(
  'a word that ages, and a removal that its owner was told of',
  { maxAge: 30, tweak: (p) => (pointOf(p, '4-product').witness_valid_s = 4) },
  async (w) => {
    const job = await new Repair(w, { position: '4A' }).to('tagged');
    await job.ask('join-job', {}, 't-105');
    await job.ask('hang-tag', { point: '4-power' }, 't-105');
    const removal = { point: '4-power', person: 't-105', reason: 'went home', attest };
    await job.ask('lift-absent-tag', removal, 's-1');
    await w.ok('t-105', 'confirm-told', {});
    await w.seen.event('point.ageing');
    await asWritten(w);
  },
);

scenario(
  'a check that ages, a check-in, a called stop and a sensor out of order',
  {
    maxAge: 30,
    tweak: (p) => {
      p.procedures.boot.verify[0].valid_s = 5;
      p.procedures.boot.check_in_s = 600;
    },
  },
  async (w) => {
    const job = await new Repair(w).to('working');
    await job.ask('check-in');
    await w.seen.event('check.ageing');
    await job.ask('stop-work', { reason: 'it smells of fuel' });
    await w.seen.event('stop.called');
    w.hw.mute('3-power');
    const sensor = '3-power';
    await w.ok('s-1', 'distrust-sensor', { sensor, hours: 1, reason: 'it says nothing' });
    await w.ok('s-1', 'trust-sensor', { sensor });
    await w.seen.event('sensor.trusted');
    await asWritten(w);
  },
);

scenario('what a day has beside the repair', {}, async (w) => {
  const job = await new Repair(w).to('working');
  await job.ask('fit-part', { part: 'boot', family: 'k2' });
  await job.ask('record-fuel', { product: 'regular', unit: 'gal', drawn: 2, returned: 2 });
  await job.ask('expect-back', { at: '2099-01-01T10:00:00Z' });
  const sha256 = 'a'.repeat(64);
  await job.ask('attach', { url: 'https://files.example/1', sha256, title: 'The old boot' });
  const spill = { position: '3A', product: 'regular', quantity: 26, unit: 'gal' };
  const { result } = await w.ok('v-1', 'record-spill', spill);
  await w.ok('m-1', 'report-spill', { spill: result.spill, reference: 'A-1' });
  await w.ok('v-1', 'report-fault', { position: '3B', text: 'the display flickers' });
  await asWritten(w);
  inOrder(
    ofJob(w, 'J-1', '3A'),
    'work.started part.fitted fuel.recorded job.expected evidence.attached'.split(' '),
  );
});

test('each type was told', () => {
  assert.deepEqual(
    EVENTS.filter((type) => !told.has(type)),
    [],
  );
});
