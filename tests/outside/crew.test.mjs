// Who is in the cabinet: joining, leaving, protection, the lead and how it changes hands.
import assert from 'node:assert/strict';
import { Repair } from './harness/repair.mjs';
import { scenario } from './harness/world.mjs';

const member = (d, person) => d.crew.find((c) => c.person === person);
const codes = (refusals) => refusals.map((r) => r.code);

scenario('one who joins while others work is off the job until protected', {}, async (w) => {
  const job = await new Repair(w, { procedure: 'spout-and-boot' }).to('working');
  await w.no('m-1', 'join-job', { job: 'J-1' }, 'not-allowed');
  await job.ask('join-job', {}, 't-105');
  await w.seen.event('crew.joined', { where: (d) => d.job === 'J-1' });
  await job.doc((d) => member(d, 't-105')?.protected === false);
  await job.phase('working', 'confirmed');
  const nut = { job: 'J-1', check: 'spout-nut', value: 45, unit: 'N.m', instrument: 'tw-3' };
  await w.only('t-105', 'sign-check', nut, 'check-out-of-season');
  await job.ask('hang-tag', { point: '3-power' }, 't-105');
  await job.doc((d) => member(d, 't-105').protected === false);
  await job.ask('hang-tag', { point: '3-product' }, 't-105');
  await w.seen.event('crew.protected', { where: (d) => JSON.stringify(d).includes('t-105') });
  await job.doc((d) => member(d, 't-105').protected);
  await w.ok('t-105', 'sign-check', nut);
  // The last join is younger than what was cleared before it.
  await job.signGroup('clear');
  await job.ask('join-job', {}, 's-2');
  assert.ok(codes(await job.no('finish-work', {}, 'check-void')).every((c) => c === 'check-void'));
});

scenario('one of the crew who lifts a tag is unprotected, and the work goes on', {}, async (w) => {
  const job = await new Repair(w).to('confirmed');
  await job.ask('join-job', {}, 't-105');
  await job.only('start-work', {}, 'tag-missing');
  await job.tag('t-105');
  await job.to('working');
  const since = w.seen.mark();
  await job.ask('lift-tag', { point: '3-power' }, 't-105');
  await w.seen.event('crew.unprotected', {
    since,
    where: (d) => JSON.stringify(d).includes('t-105'),
  });
  await job.doc((d) => member(d, 't-105').protected === false && d.phase === 'working');
  await w.fence();
  assert.equal(w.seen.alarms('lockout-broken').length, 0);
  assert.equal((await job.doc()).lockout, 'confirmed');
  await job.ask('hang-tag', { point: '3-power' }, 't-105');
  await job.doc((d) => member(d, 't-105').protected);
});

scenario('live under the tag of one of the crew raises the alarm too', {}, async (w) => {
  const job = await new Repair(w).to('isolated');
  await job.ask('join-job', {}, 't-105');
  await job.ask('hang-tag', { point: '3-power' }, 't-105');
  await w.hw.set('3-power', 'live');
  const alarm = await job.alarm();
  assert.equal(alarm.point, '3-power');
  assert.equal((await job.doc()).phase, 'open');
});

scenario('leaving', {}, async (w) => {
  const job = await new Repair(w).to('isolated');
  for (const person of ['t-105', 's-2']) await job.ask('join-job', {}, person);
  await job.tag('t-105');
  await job.only('leave-job', {}, 'tag-hung', 't-105');
  await job.only('leave-job', { person: 't-105' }, 'tag-hung', 's-1');
  await job.lift('t-105');
  const byPeer = await w.seen.request('t-105', 'leave-job', { job: 'J-1', person: 's-2' });
  assert.equal(byPeer.accepted, false);
  await job.ask('leave-job', {}, 't-105');
  await w.seen.event('crew.left');
  await job.doc((d) => !member(d, 't-105'));
  await job.only('hang-tag', { point: '3-power' }, 'not-in-crew', 't-105');
  await job.ask('join-job', {}, 't-105');
  await job.ask('leave-job', { person: 't-105' }, 't-104');
  await job.ask('leave-job', { person: 's-2' }, 's-1');
  await job.only('leave-job', {}, 'not-allowed');
  await job.only('leave-job', { person: 't-104' }, 'not-allowed', 's-1');
  await job.doc((d) => d.crew.length === 1);
});

scenario('the lead changes hands while work goes on', {}, async (w) => {
  const job = await new Repair(w).to('working');
  await job.only('hand-over', { to: 't-105' }, 'not-in-crew');
  await job.ask('join-job', {}, 't-105');
  await job.only('hand-over', { to: 't-105' }, 'not-assigned', 't-105');
  await job.no('accept-lead', {}, ['not-allowed', 'tag-missing', 'check-missing'], 't-105');
  await job.ask('hand-over', { to: 't-105' });
  await w.seen.event('lead.offered');
  await job.doc((d) => d.offered === 't-105' && d.technician === 't-104');
  const lacking = codes(await job.no('accept-lead', {}, 'tag-missing', 't-105'));
  assert.ok(lacking.includes('check-missing') || lacking.includes('check-void'), `${lacking}`);
  await job.tag('t-105');
  await w.ok('t-105', 'sign-check', { job: 'J-1', check: 'no-flow' });
  await job.ask('accept-lead', {}, 't-105');
  await w.seen.event('job.handed-over');
  const document = await job.doc((d) => d.technician === 't-105' && d.offered === null);
  assert.deepEqual([document.phase, document.lockout], ['working', 'confirmed']);
  assert.ok(member(document, 't-104'), 'who led stays in the crew');
  // The tags of who led before hold nothing any more.
  await job.lift('t-104');
  await job.doc((d) => member(d, 't-104').protected === false && d.phase === 'working');
  await job.ask('leave-job', {}, 't-104');
  assert.ok(codes(await job.no('finish-work', {}, 'not-assigned')).includes('not-assigned'));
  await w.ok('t-105', 'sign-check', { job: 'J-1', check: 'tools-clear' });
  await job.ask('finish-work', {}, 't-105');
});

scenario('the new leader’s tag is now the one that holds the lockout', {}, async (w) => {
  const job = await new Repair(w).to('working');
  await job.ask('join-job', {}, 't-105');
  await job.tag('t-105');
  await w.ok('t-105', 'sign-check', { job: 'J-1', check: 'no-flow' });
  await job.ask('hand-over', { to: 't-105' }, 's-1');
  await job.ask('accept-lead', {}, 't-105');
  await job.ask('lift-tag', { point: '3-power' }, 't-105');
  await job.phase('stopped', 'broken');
  await job.alarm();
});

scenario('an offer ends with a change of phase and with a new offer', {}, async (w) => {
  const job = await new Repair(w).to('confirmed');
  for (const person of ['t-105', 's-2']) {
    await job.ask('join-job', {}, person);
    await job.tag(person);
  }
  await job.ask('hand-over', { to: 't-105' });
  await job.ask('hand-over', { to: 's-2' });
  await job.doc((d) => d.offered === 's-2');
  await job.only('accept-lead', {}, 'not-allowed', 't-105');
  await job.to('working');
  await job.doc((d) => d.offered === null);
  await job.no('accept-lead', {}, 'not-allowed', 's-2');
});

scenario('in open the lead is taken with the tags that the leader has', {}, async (w) => {
  const job = await new Repair(w).to('isolated');
  await job.ask('hang-tag', { point: '3-power' });
  await job.ask('join-job', {}, 't-105');
  await job.ask('hand-over', { to: 't-105' });
  const refusals = await job.only('accept-lead', {}, 'tag-missing', 't-105');
  assert.equal(refusals.length, 1);
  await job.ask('hang-tag', { point: '3-power' }, 't-105');
  await job.ask('accept-lead', {}, 't-105');
  await job.doc((d) => d.technician === 't-105');
});

scenario('assigning another takes who led out of the crew', {}, async (w) => {
  const job = await new Repair(w).to('tagged');
  await job.only('assign-job', { technician: 't-105' }, 'tag-hung', 'k-1');
  await job.lift();
  const lacking = await w.seen.request('k-1', 'assign-job', { job: 'J-1', technician: 't-107' });
  if (!lacking.accepted) assert.deepEqual(codes(lacking.refusals), ['credential-missing']);
  await job.ask('assign-job', { technician: 't-105' }, 'k-1');
  await w.seen.event('job.assigned', { where: (d) => JSON.stringify(d).includes('t-105') });
  const document = await job.doc((d) => d.technician === 't-105');
  assert.deepEqual(
    document.crew.map((c) => c.person),
    ['t-105'],
  );
  await job.no('start-work', {}, 'not-assigned', 't-104');
});

const attest = { not_on_site: true, contact_tried: true, will_be_told: true };

scenario('an absent one’s tag is taken off with three words', {}, async (w) => {
  const job = await new Repair(w).to('confirmed');
  await job.ask('join-job', {}, 't-105');
  await job.tag('t-105');
  await job.to('working');
  const removal = (point, person) => ({ point, person, reason: 'was called away', attest });
  for (const name of Object.keys(attest)) {
    const two = { ...removal('3-power', 't-105'), attest: { ...attest, [name]: false } };
    await job.only('lift-absent-tag', two, 'attestation-missing', 's-1');
  }
  await job.ask('lift-absent-tag', removal('3-power', 't-105'), 's-1');
  await w.seen.event('tag.lifted', { where: (d) => JSON.stringify(d).includes('t-105') });
  await job.doc((d) => member(d, 't-105')?.protected === false && d.phase === 'stopped');
  await job.ask('lift-absent-tag', removal('3-product', 't-105'), 's-1');
  await job.doc((d) => !member(d, 't-105'));
  // It stopped the work, and people look up before it goes on; the lockout held.
  const removed = await w.seen.alarm('absent-lock-removed', (a) => a.job === 'J-1');
  await job.only('start-work', {}, 'alarm-open');
  await w.ok('t-104', 'acknowledge-alarm', { alarm: removed.alarm });
  await job.start();
  // The leader's: it breaks, and the leader stays the leader.
  await job.ask('lift-absent-tag', removal('3-power', 't-104'), 's-1');
  await job.phase('stopped', 'broken');
  await job.ask('lift-absent-tag', removal('3-product', 't-104'), 's-1');
  await job.doc((d) => d.technician === 't-104' && member(d, 't-104'));
});

scenario('nobody takes off their own tag as an absent one’s', {}, async (w) => {
  const job = await new Repair(w, { leader: 's-2' }).to('tagged');
  const own = { point: '3-power', person: 's-2', reason: 'x', attest };
  await job.only('lift-absent-tag', own, 'not-allowed', 's-2');
  await job.ask('lift-absent-tag', own, 's-1');
});

scenario(
  'a credential that has run out stops the start',
  {
    tweak: (p) => (p.people.find((x) => x.person === 't-105').roles = ['technician', 'supervisor']),
  },
  async (w) => {
    const job = await new Repair(w, { leader: 't-106' }).to('open');
    await job.isolate();
    await job.tag();
    const expired = await job.no('start-work', {}, 'credential-expired');
    assert.ok(expired.every((r) => r.say.length > 0));
    const foreign = await w.seen.request('t-108', 'join-job', { job: 'J-1' });
    assert.equal(foreign.accepted, false, 'somebody of another site joined');
    await job.ask('lift-tag', { point: '3-power' });
    await job.ask('lift-tag', { point: '3-product' });
    await job.ask('assign-job', { technician: 't-104' }, 'k-1');
    job.leader = 't-104';
    job.at = 'isolated';
    await job.to('working');
  },
);
