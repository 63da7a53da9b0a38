// R28: who lacks a credential joins as a helper, hangs locks and is protected by them, and signs nothing.
import assert from 'node:assert/strict';
import { Repair } from './harness/repair.mjs';
import { scenario } from './harness/world.mjs';

const member = (document, person) => document.crew.find((c) => c.person === person);

scenario('a helper works under locks of their own', {}, async (w) => {
  const job = await new Repair(w).to('isolated');
  await job.tag();
  await job.ask('join-job', {}, 't-107'); // no credential at all
  await job.ask('join-job', {}, 't-106'); // one that has expired
  await job.ask('join-job', {}, 't-105');
  const joined = await job.doc((d) => d.crew.length === 4);
  assert.deepEqual(
    joined.crew.map((c) => [c.person, c.helper]),
    [
      ['t-104', false],
      ['t-107', true],
      ['t-106', true],
      ['t-105', false],
    ],
  );
  for (const person of ['t-105', 't-106']) await job.ask('leave-job', {}, person);
  job.at = 'tagged';
  await job.to('confirmed');
  // The start asks everybody for locks, and who leads for the credentials.
  const lacking = await job.only('start-work', {}, 'tag-missing');
  assert.ok(lacking.every((r) => r.args.person === 't-107'));
  await job.tag('t-107');
  await job.start();
  const working = await job.doc((d) => member(d, 't-107').protected);
  assert.equal(member(working, 't-107').helper, true);
});

scenario('a helper signs nothing, and says what stops', {}, async (w) => {
  const job = await new Repair(w, { procedure: 'spout-and-boot' }).to('tagged');
  await job.ask('join-job', {}, 't-107');
  await job.tag('t-107');
  await job.signGroup('prepare');
  await w.point('3-power', 'isolated', 'fresh');
  await w.point('3-product', 'isolated', 'fresh');
  const reading = { check: 'no-voltage', value: 0.2, unit: 'V' };
  await job.only('sign-check', reading, 'credential-missing', 't-107');
  await job.only('sign-check', { check: 'barricade' }, 'credential-missing', 't-107');
  await job.to('working');
  await job.ask('sign-check', { ...reading, value: 240 }, 't-107');
  await job.phase('stopped', 'broken');
});

scenario('a helper’s word of isolated is refused, live is taken', {}, async (w) => {
  const job = await new Repair(w, { position: '4A' }).to('open');
  await job.ask('join-job', {}, 't-107');
  const word = { point: '4-product', state: 'isolated' };
  await job.only('witness-point', word, 'credential-missing', 't-107');
  await job.ask('witness-point', { ...word, state: 'live' }, 't-107');
  await w.point('4-product', 'live', 'witnessed');
});

scenario('the lead is not for a helper to take', {}, async (w) => {
  const job = await new Repair(w).to('open');
  await job.ask('join-job', {}, 't-107');
  await job.ask('hand-over', { to: 't-107' });
  await job.only('accept-lead', {}, 'credential-missing', 't-107');
});
