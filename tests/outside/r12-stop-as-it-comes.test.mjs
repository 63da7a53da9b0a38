// R12: a stop is never refused for its form, never answered from memory, and no limit of requests holds
// for it.
import assert from 'node:assert/strict';
import { Repair } from './harness/repair.mjs';
import { Web, tokens } from './harness/web.mjs';
import { scenario } from './harness/world.mjs';

scenario('a second stop under the same id stops', {}, async (w) => {
  const job = await new Repair(w).to('working');
  const stop = { id: 's-1', reason: 'lunch', pause: true };
  // The same body to the letter, as a phone sends it once more.
  const again = () => w.ok('t-104', 'stop-work', { job: 'J-1', ...stop }, { dated: false });
  await again();
  await job.start();
  const answer = await again();
  assert.equal(answer.phase, 'stopped');
  assert.equal('again' in answer, false);
  await job.start();
  await job.ask('join-job', { id: 'j-1' }, 't-105');
  await job.ask('stop-work', { id: 'j-1', reason: 'smoke' }, 't-105'); // an id of something else
  await job.phase('stopped', 'unconfirmed');
  await job.ask('lift-tag', { id: 'j-1', point: '3-power' });
  assert.equal((await job.ask('lift-tag', { id: 'j-1', point: '3-power' })).again, true);
  await job.only('lift-tag', { point: '3-product' }, 'tag-not-yours', 't-105');
});

scenario('a lift that comes again was done', {}, async (w) => {
  const job = await new Repair(w).to('tagged');
  await job.ask('join-job', {}, 't-105');
  await job.tag('t-105');
  const lift = { id: 'l-1', point: '3-power' };
  await job.ask('lift-tag', lift);
  assert.equal((await job.ask('lift-tag', lift)).again, true);
  await job.only('lift-tag', { ...lift, id: 'l-2' }, 'tag-not-yours'); // it names another's lock
  await job.ask('hang-tag', { point: '3-power' });
  assert.equal('again' in (await job.ask('lift-tag', lift)), false); // done again, whatever its id
});

scenario('whatever else it says', {}, async (w) => {
  const job = await new Repair(w, { position: '4A' }).to('working');
  const odd = { id: 'x'.repeat(70), reason: '€'.repeat(900), pause: 'maybe', colour: 'red', asked: 7 };
  await job.ask('stop-work', odd, 'v-1');
  await job.phase('stopped', 'unconfirmed');
  await w.seen.alarm('stop-called', (a) => a.by === 'v-1' && /€€€/.test(a.say));
  const since = w.seen.mark();
  await job.ask('stop-work', { reason: '€'.repeat(900) }, 's-1');
  const { data } = await w.seen.event('stop.called', { since });
  assert.equal([...data.reason].length, 500);
  await job.ask('lift-tag', { point: '4-power', note: [], id: 5 });
  const live = { job: 'no-such-job', point: '4-product', state: 'live', id: {} };
  await w.ok('v-1', 'witness-point', live, { dated: false });
  await w.point('4-product', 'live', 'witnessed');
  await job.only('witness-point', { ...live, job: 'J-1', state: 'isolated' }, 'malformed');
  await job.only('stop-work', { job: 5 }, 'malformed');
});

// What a shell, a Latin-1 keyboard, a cut emoji and a careless client make of a reason.
const ODD_TEXTS = [
  [Buffer.from('{"job":"J-1","reason":"on the\tfloor"}'), 'on the\tfloor'],
  [Buffer.from('{"job":"J-1","reason":"caf\xe9"}', 'latin1'), 'caf\ufffd'],
  [Buffer.from('{"job":"J-1","reason":"\\ud83d leaks"}'), ' leaks'],
  [Buffer.from('\ufeff{"n":1e9999,"job":"J-1","reason":"smoke",}'), 'smoke'],
];

scenario('a stop whose text is no JSON', {}, async (w) => {
  const job = await new Repair(w).to('working');
  // Which of the two jobs is meant, or nothing to do with a stop: nothing is done.
  await w.hw.send('request/v-1/stop-work', '{"job":"J-9","job":"J-1"}');
  await w.hw.send('request/t-104/finish-work', '{"job":"J-1","note":"\t"}');
  await w.fence();
  await job.phase('working', 'confirmed');
  for (const [text, reason] of ODD_TEXTS) {
    await w.hw.send('request/v-1/stop-work', text);
    await w.seen.alarm('stop-called', (a) => a.args.reason.includes(reason));
    await job.phase('stopped', 'unconfirmed');
  }
});

scenario('a reading that failed', {}, async (w) => {
  const job = await new Repair(w, { procedure: 'spout-and-boot' }).to('working');
  const found = { check: 'no-voltage', value: 240, unit: 'V', note: 5, id: 5 };
  await w.ok('t-104', 'sign-check', { job: 'J-1', ...found }, { dated: false });
  await job.phase('stopped', 'broken');
  await job.only('sign-check', { ...found, value: 0 }, 'malformed');
});

// Of what check, what it says of it, and what is recorded.
const FAILURES = [
  ['no-voltage', '"value":-1500,"unit":"mV"', -1.5],
  ['drained', '"value":-3,"unit":"gal"', -11.356],
  ['drained', '"value":-3,"unit":"bucket"', null],
  ['no-voltage', '"value":1e400,"unit":"V"', null],
  ['no-voltage', '"value":0.2,"value":240,"unit":"V"', 240],
  ['no-voltage', '"value":"240","unit":"V"', 240],
  ['no-flow', '"pass":true,"pass":false', null],
];
for (const [check, said, value] of FAILURES)
  scenario(`a reading that can only have failed: ${said}`, {}, async (w) => {
    const job = await new Repair(w, { procedure: 'spout-and-boot' }).to('working');
    await w.hw.send('request/t-104/sign-check', `{"job":"J-1","check":"${check}",${said}}`);
    await job.phase('stopped', 'broken');
    const signed = (await job.doc()).checks.find((c) => c.check === check);
    assert.equal(signed.pass, false);
    assert.equal(signed.value && Math.round(signed.value * 1000) / 1000, value);
  });

scenario('a reading of which nobody can say what it is', {}, async (w) => {
  const job = await new Repair(w, { procedure: 'spout-and-boot' }).to('working');
  const before = (await job.doc()).checks.find((c) => c.check === 'no-voltage');
  for (const said of [
    '"value":0.5,"value":0.4,"unit":"V"',
    '"value":"low","unit":"V"',
    '"value":3,"unit":"bolts"',
    '"value":NaN,"unit":"V"',
    '"value":1e-400,"unit":"V"',
  ])
    await w.hw.send('request/t-104/sign-check', `{"job":"J-1","check":"no-voltage",${said}}`);
  await w.fence();
  await job.phase('working', 'confirmed');
  assert.deepEqual((await job.doc()).checks.find((c) => c.check === 'no-voltage'), before);
});

scenario('past every limit', { tweak: tokens }, async (w) => {
  await new Repair(w).to('working');
  const web = new Web(w);
  const ask = (verb, body) => web.post('v-1', verb, body);
  const flood = await Promise.all(
    Array.from({ length: 500 }, () => ask('start-work', { job: 'J-1' })),
  );
  assert.ok(flood.some((r) => r.status === 429));
  const mixed = await Promise.all(
    Array.from({ length: 400 }, (_, i) =>
      ask(i % 2 ? 'start-work' : 'stop-work', { job: 'J-1', reason: `smoke ${i}` }),
    ),
  );
  assert.ok(mixed.some((r, i) => i % 2 && r.status === 429));
  assert.ok(mixed.every((r, i) => i % 2 || r.status === 200));
  assert.equal((await ask('witness-point', { point: '4-product', state: 'live' })).status, 200);
});
