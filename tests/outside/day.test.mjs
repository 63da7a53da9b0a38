// The day around a repair, from outside: faults, when it is back, the shift note, evidence.
import assert from 'node:assert/strict';
import { writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { Repair } from './harness/repair.mjs';
import { scenario } from './harness/world.mjs';

const DIGEST = 'b'.repeat(64);
const picture = (n) => ({ url: `https://files.example/${n}`, sha256: DIGEST, title: `Picture ${n}` });

scenario('a fault is told to the tracker, with a job or without', {}, async (w) => {
  await w.ok('v-1', 'report-fault', { position: '3A', text: 'the display flickers' });
  const event = await w.seen.event('fault.reported', { where: (d) => d.position === '3A' });
  assert.equal(event.data.text, 'the display flickers');
  assert.equal(event.data.by, 'v-1');
  await w.only('v-1', 'report-fault', { position: '9Z', text: 'x' }, 'unknown-position');
  await w.only('v-1', 'report-fault', { position: '3A', text: ' ' }, 'malformed');
});

scenario('when it is back is said, moved and counted', {}, async (w) => {
  const job = await new Repair(w).to('open');
  assert.equal((await job.doc()).expected, null);
  await job.ask('expect-back', { at: '2027-01-01T10:00:00Z' });
  await job.ask('expect-back', { at: '2027-01-01T10:00:00Z' }, 'm-1');
  await job.ask('expect-back', { at: '2027-01-01T12:00:00+01:00', note: 'a part is late' }, 'm-1');
  const { expected } = await job.doc((d) => d.expected?.moved === 1);
  assert.deepEqual(expected, { at: '2027-01-01T11:00:00.000Z', by: 'm-1', moved: 1 });
  const event = await w.seen.event('job.expected', { where: (d) => d.moved === 1 });
  assert.equal(event.data.expected, '2027-01-01T11:00:00.000Z');
  assert.equal(event.data.note, 'a part is late');
  await job.only('expect-back', { at: 'noon' }, 'malformed');
  await job.only('expect-back', { at: '2027-01-01T10:00:00Z' }, 'not-allowed', 'v-1');
});

scenario('who takes the lead signs the note of the shift before', {}, async (w) => {
  const job = await new Repair(w).to('open');
  await job.ask('join-job', {}, 't-105');
  await job.ask('hand-over', { to: 't-105', note: 'boot half seated' });
  const offered = await job.doc((d) => d.shift_note);
  assert.equal(offered.shift_note.note, 'boot half seated');
  assert.equal(offered.shift_note.signed_by, null);
  await job.ask('accept-lead', {}, 't-105');
  const taken = await job.doc((d) => d.shift_note?.signed_by === 't-105');
  assert.equal(taken.technician, 't-105');
  const event = await w.seen.event('job.handed-over', { where: (d) => d.job === 'J-1' });
  assert.equal(event.data.note, 'boot half seated');
});

scenario('evidence is named, kept over a restart, and at most sixteen', {}, async (w) => {
  const job = await new Repair(w).to('open');
  const { check } = (await job.doc()).checks[0];
  await job.ask('attach', { ...picture(1), check });
  await job.only('attach', { ...picture(2), check: 'no-such' }, 'unknown-check');
  await job.only('attach', { ...picture(2), url: 'javascript:alert(1)' }, 'malformed');
  await job.only('attach', { ...picture(2), sha256: 'b' }, 'malformed');
  for (let n = 2; n <= 16; n++) await job.ask('attach', picture(n));
  await job.only('attach', picture(17), 'too-many');
  await w.stopDaemon();
  await w.startDaemon();
  const { attachments } = await job.doc((d) => d.attachments?.length === 16);
  assert.equal(attachments[0].check, check);
  assert.equal(attachments[0].url, 'https://files.example/1');
  assert.equal(attachments[15].title, 'Picture 16');
});

scenario('what was drawn is accounted for before the return', {}, async (w) => {
  const job = await new Repair(w).to('passed');
  const fuel = (body) => job.ask('record-fuel', { product: 'regular', unit: 'gal', ...body });
  await fuel({ totalizer_before: 1000, totalizer_after: 1005 });
  await fuel({ returned: 30, tank: '1' });
  const over = await job.no('return-position', {}, 'fuel-unaccounted');
  assert.match(over[0].say, /^25 gal more of regular/);
  await job.only('record-fuel', { product: 'regular', unit: 'gal', returned: -27 }, 'note-missing');
  await fuel({ returned: -27, note: 'typed 30 for 3' });
  const rest = await job.no('return-position', {}, 'fuel-unaccounted');
  assert.match(rest[0].say, /^2 gal of regular is not accounted for/);
  const refused = await w.seen.event('return.refused', {
    where: (d) => d.refusals.some((r) => r.code === 'fuel-unaccounted' && r.args.value === 2),
  });
  assert.equal(refused.data.job, 'J-1');
  await fuel({ kept: 2 });
  const event = await w.seen.event('fuel.recorded', { where: (d) => d.kept === 2 });
  assert.deepEqual(
    { ...event.data.sum, tolerance: 0 },
    { drawn: 5, returned: 3, kept: 2, unaccounted: 0, tolerance: 0, unit: 'gal', accounted: true },
  );
  // NIST Handbook 44 3.30 T.2: 1 in3 and 1 in3 for each of 5 gal, of 231 in3 each.
  assert.ok(Math.abs(event.data.sum.tolerance - 6 / 231) < 1e-6);
  const [ledger] = (await job.doc((d) => d.fuel?.[0].accounted)).fuel;
  assert.equal(ledger.tank, '1');
  await job.ask('return-position');
  const told = w.tool('record', 'J-1', '--json');
  assert.match(JSON.stringify(await told), /unaccounted/);
  const returned = await w.seen.event('job.returned', { where: (d) => d.job === 'J-1' });
  assert.deepEqual(returned.data.fuel, [{ product: 'regular', ...event.data.sum }]);
  // The journal keeps it as it was told, and a restart reads it.
  await w.stopDaemon();
  await w.startDaemon();
  await w.job('J-1', (d) => d.phase === 'returned' && d.fuel[0].accounted);
  const kept = (await w.journal()).find((l) => l.type === 'forelock.job.returned');
  assert.deepEqual(kept.data, returned.data);
});

scenario('a return without fuel tells of none', {}, async (w) => {
  await new Repair(w).to('returned');
  const returned = await w.seen.event('job.returned', { where: (d) => d.job === 'J-1' });
  assert.equal('fuel' in returned.data, false);
});

scenario('what is fitted hangs there from the return on, and judges the next kit', {}, async (w) => {
  const job = await new Repair(w).to('working');
  await job.ask('fit-part', { part: 'nozzle', family: 'k9', serial: 'S-77', due: '2031-05-31' });
  await job.only('fit-part', { part: 'nozzle', due: 'soon' }, 'malformed');
  await job.doc((d) => d.fitted?.[0].family === 'k9');
  assert.equal((await w.position('3A')).hangs, undefined);
  await job.to('returned');
  const told = await w.position('3A', (d) => d.hangs);
  const [{ fitted, ...nozzle }] = told.hangs;
  assert.deepEqual(nozzle, { part: 'nozzle', family: 'k9', serial: 'S-77', job: 'J-1', due: '2031-05-31' });
  assert.ok(Math.abs(Date.now() - Date.parse(fitted)) < 60_000);
  const event = await w.seen.event('part.fitted', { where: (d) => d.job === 'J-1' });
  assert.equal(event.data.serial, 'S-77');
  const next = { job: 'J-2', position: '3A', procedure: 'spout-and-boot', technician: 't-104' };
  await w.only('k-1', 'open-job', { ...next, kit_family: 'k2' }, 'part-mismatch');
  await w.stopDaemon();
  await w.startDaemon();
  await w.position('3A', (d) => d.hangs?.[0].family === 'k9');
  await w.ok('k-1', 'open-job', { ...next, kit_family: 'k9' });
});

scenario('a spill over the limit is to be reported, over a restart too', {}, async (w) => {
  const spill = { position: '3A', product: 'regular', unit: 'gal' };
  const small = await w.ok('v-1', 'record-spill', { ...spill, quantity: 25 });
  assert.deepEqual(small.result, { spill: 's1', report_due: null });
  const { result } = await w.ok('t-104', 'record-spill', { ...spill, quantity: 25.1 });
  assert.equal(result.spill, 's2');
  const event = await w.seen.event('spill.recorded', { where: (d) => d.spill === 's2' });
  assert.equal(event.data.report_due, result.report_due);
  assert.equal(Date.parse(result.report_due) - Date.parse(event.data.at), 24 * 3600 * 1000);
  const alarm = await w.seen.alarm('spill-report-due', (a) => a.subject === 's2');
  assert.equal(alarm.priority, 'low');
  assert.equal(alarm.group, 'spill/s2');
  assert.equal(alarm.args.until, result.report_due);
  assert.match(alarm.say, /25\.1 gal of regular: report due by /);
  await w.stopDaemon();
  await w.startDaemon();
  await w.only('t-104', 'report-spill', { spill: 's2', reference: 'A-1' }, 'not-allowed');
  await w.only('m-1', 'report-spill', { spill: 's9', reference: 'A-1' }, 'malformed');
  await w.ok('m-1', 'report-spill', { spill: 's2', reference: 'A-1' });
  const reported = await w.seen.event('spill.reported', { where: (d) => d.spill === 's2' });
  assert.equal(reported.data.reference, 'A-1');
  await w.seen.event('alarm.cleared', { where: (d) => d.kind === 'spill-report-due' });
});

const LIST = [
  'site,position,part,family,serial,fitted,due',
  'juniper,3A,hose,h4,"S ""1"", old",2022-08-15,2026-08-15',
  'juniper,4A,nozzle,,,,',
];

scenario('a list of what hangs is imported while no daemon writes, and exported', {}, async (w) => {
  const file = join(w.dir, 'hangs.csv');
  const list = (...lines) => writeFileSync(file, `${lines.join('\r\n')}\r\n`);
  list(...LIST);
  const beside = await w.tool('hangs', 'import', 'm-1', file);
  assert.equal(beside.code, 4, beside.err);
  assert.match(beside.err, /Stop the daemon first/);
  await w.stopDaemon();
  list(...LIST, 'juniper,9Z,hose,,,,');
  const wrong = await w.tool('hangs', 'import', 'm-1', file);
  assert.equal(wrong.code, 1, wrong.err);
  assert.match(wrong.err, /line 4: position/);
  list(...LIST);
  assert.equal((await w.tool('hangs', 'import', 't-104', file)).code, 1);
  const taken = await w.tool('hangs', 'import', 'm-1', file);
  assert.equal(taken.code, 0, taken.err);
  assert.match(taken.out, /^2 parts are listed/);
  const facts = (await w.journal()).filter((f) => f.type === 'forelock.part.listed');
  assert.deepEqual(facts.map((f) => [f.data.by, f.subject]), [['m-1', '3A'], ['m-1', '4A']]);
  await w.startDaemon();
  const { hangs } = await w.position('3A', (d) => d.hangs);
  assert.equal(hangs[0].serial, 'S "1", old');
  assert.equal(hangs[0].fitted, '2022-08-15T12:00:00.000Z');
  const out = await w.tool('hangs', 'export');
  assert.equal(out.code, 0, out.err);
  const [head, first] = out.out.split('\r\n');
  assert.equal(head, 'site,position,part,family,serial,fitted,job,due');
  assert.equal(first, 'juniper,3A,hose,h4,"S ""1"", old",2022-08-15T12:00:00.000Z,,2026-08-15');
});
