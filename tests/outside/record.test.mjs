// The record of a repair as its readers get it: by the command and over HTTP, as text, JSON, CSV.
import assert from 'node:assert/strict';
import { DEFECT, eventfulRepair } from './harness/eventful.mjs';
import { Repair } from './harness/repair.mjs';
import { Web, tokens } from './harness/web.mjs';
import { scenario } from './harness/world.mjs';

// One CSV line to its fields, quotes as RFC 4180 has them.
function fields(line) {
  return [...line.matchAll(/(?:^|,)(?:"((?:[^"]|"")*)"|([^,]*))/g)].map((m) =>
    m[1] === undefined ? m[2] : m[1].replaceAll('""', '"'),
  );
}

function table(text) {
  assert.match(text, /\r\n$/);
  const [head, ...rows] = text.trimEnd().split('\r\n').map(fields);
  return rows.map((row) => {
    assert.equal(row.length, head.length, JSON.stringify(row));
    return Object.fromEntries(head.map((name, i) => [name, row[i]]));
  });
}

async function told(w, ...args) {
  const { code, out, err } = await w.tool('record', ...args);
  assert.equal(code, 0, err);
  return out;
}

const exported = async (w) => {
  const { code, out, err } = await w.tool('journal', 'export');
  assert.equal(code, 0, err);
  return out
    .split('\n')
    .filter(Boolean)
    .map((line) => JSON.parse(line));
};

function contentOf(record) {
  assert.equal(record.title, 'Juniper Crossing');
  assert.equal(record.district, 'north-basin');
  assert.equal(record.dispenser, '3');
  assert.deepEqual(record.products, ['regular']);
  assert.deepEqual(
    [record.part, record.kit_family, record.defect, record.note, record.opened_by],
    ['boot-kit-7', 'k2', DEFECT, 'seen by a customer', 'k-1'],
  );
  assert.deepEqual([record.result, record.finished, record.closed], ['returned', true, true]);
  assert.deepEqual(
    record.phases.map((p) => p.phase),
    [
      'open',
      'working',
      'stopped',
      'working',
      'restoring',
      'testing',
      'open',
      'working',
      'restoring',
      'testing',
      'returned',
    ],
  );
  assert.equal(record.reworks, 1);
  const { from, back, seconds } = record.out_of_service;
  assert.ok(Math.abs((Date.parse(back) - Date.parse(from)) / 1000 - seconds) < 0.002);
  const leader = record.crew.find((c) => c.person === 't-104');
  assert.deepEqual([leader.title, leader.led], ['Person t-104', true]);
  assert.deepEqual(leader.credentials, [{ credential: 'vapor-b', until: '2099-12-31' }]);
}

function locksOf(record) {
  assert.deepEqual(record.points.map((p) => p.point).sort(), ['3-power', '3-product']);
  const power = record.points.find((p) => p.point === '3-power');
  assert.ok(
    power.words.some((x) => x.state === 'live') && power.words.some((x) => x.state === 'isolated'),
  );
  assert.ok(record.tags.length >= 8);
  assert.ok(
    record.tags.every((tag) => tag.hung && tag.lifted),
    JSON.stringify(record.tags),
  );
  assert.ok(record.tags.some((tag) => tag.point === '3-power' && tag.discounted));
  const absent = record.tags.filter((tag) => tag.absent);
  assert.deepEqual(
    absent.map((tag) => [tag.person, tag.lifted_by, tag.reason]),
    [
      ['t-105', 's-1', 'went home ill'],
      ['t-105', 's-1', 'went home ill'],
    ],
  );
}

function signedOf(record) {
  const nut = record.checks.find((c) => c.check === 'spout-nut');
  assert.deepEqual([nut.min, nut.max, nut.unit, nut.group], [43.8, 48.4, 'N.m', 'work']);
  const [good, bad, last] = nut.signatures;
  assert.deepEqual([good.pass, bad.pass, last.pass], [true, false, true]);
  assert.deepEqual([bad.value, bad.instrument, bad.by], [60, 'tw-3', 't-104']);
  assert.match(bad.calibrated_until, /^\d{4}-\d\d-\d\d$/);
  assert.equal(last.void.why, 'reworked');
  const flow = record.checks.find((c) => c.check === 'no-flow');
  assert.ok(['lockout-broken', 'hold-ended'].includes(flow.signatures[0].void.why));
  assert.equal(flow.signatures.at(-1).pass, true);
  const leak = record.tests.find((x) => x.test === 'leak');
  assert.deepEqual(
    leak.records.map((r) => [r.pass, r.note, r.void?.why ?? null]),
    [
      [false, 'drips at the swivel', 'reworked'],
      [true, 'the swivel was tightened', null],
      [true, null, null],
    ],
  );
  const ohm = record.tests.find((x) => x.test === 'continuity').records.at(-1);
  assert.deepEqual(
    [ohm.result.value, ohm.result.limit, ohm.result.margin, ohm.pass],
    [500000, 1000000, 500000, true],
  );
  assert.ok(ohm.result.formula && ohm.result.source && ohm.result.inputs.value === 500000);
}

function storyOf(record) {
  assert.deepEqual(
    record.refusals.map((r) => [r.asked, r.by]),
    [
      ['start-work', 't-104'],
      ['return-position', 't-104'],
    ],
  );
  const early = record.refusals[0].refusals;
  assert.ok(early.some((r) => r.code === 'tag-missing' && r.need && r.found));
  const stops = record.stops.map((s) => s.what);
  for (const what of ['lockout.broken', 'work.stopped', 'work.reopened'])
    assert.ok(stops.includes(what));
  const broken = record.stops.find((s) => s.what === 'lockout.broken');
  assert.deepEqual([broken.point, broken.why], ['3-power', 'point-live']);
  assert.ok(broken.evidence.some((e) => e.point === '3-power' && e.state === 'live'));
  const alarm = record.alarms.find((a) => a.kind === 'lockout-broken');
  assert.deepEqual([alarm.acknowledged_by, alarm.gone], ['t-104', true]);
  assert.ok(record.lockout.filter((x) => x.what === 'lockout.confirmed').length >= 3);
  assert.ok(record.cautions.some((c) => /Local codes/.test(c)));
}

// What the record says of the journal it was made from, beside all rows of that journal.
function journalOf(record, rows) {
  const last = rows.find((r) => r.seq === record.journal.last_seq);
  assert.equal(record.journal.last_hash, last.hash);
  assert.equal(record.journal.head_hash, rows.at(-1).hash);
  assert.equal(record.journal.head_seq, rows.at(-1).seq);
  assert.equal(record.journal.verified, true);
  assert.equal(last.type, 'position.returned');
  assert.equal(rows.find((r) => r.seq === record.journal.first_seq).type, 'job.opened');
}

scenario(
  'a full repair with a refusal, a break, a failed test and a rework',
  { tweak: tokens },
  async (w) => {
    await eventfulRepair(w);
    const web = new Web(w);
    const record = JSON.parse(await told(w, 'J-1', '--json'));
    contentOf(record);
    locksOf(record);
    signedOf(record);
    storyOf(record);

    const text = await told(w, 'J-1');
    for (const line of text.split('\n')) assert.ok([...line].length <= 96, line);
    for (const part of [
      DEFECT,
      'Juniper Crossing',
      'LOCKOUT BROKEN',
      'leak at the swivel',
      'went home ill',
      'not on site',
      'vapor-b',
      'Local codes',
      record.journal.last_hash,
      'calibration valid until',
    ])
      assert.ok(text.replace(/\n\s+/g, ' ').includes(part), part);

    const [row] = table(await told(w, 'J-1', '--csv'));
    assert.deepEqual(
      [
        row.site,
        row.job,
        row.position,
        row.dispenser,
        row.procedure,
        row.technician,
        row.part,
        row.defect,
      ],
      ['juniper', 'J-1', '3A', '3', 'spout-and-boot', 't-104', 'boot-kit-7', DEFECT],
    );
    assert.equal(row.hash, record.journal.last_hash);
    assert.equal(Number(row.last_seq), record.journal.last_seq);
    assert.equal(Number(row.out_s), record.out_of_service.seconds);
    assert.deepEqual(
      [row.out_from, row.back_at],
      [record.out_of_service.from, record.out_of_service.back],
    );
    assert.equal(row.result, 'returned');
    assert.equal(Number(row.refusals), record.refusals.length);
    assert.equal(row.tests, 'leak passed; shutoff passed; continuity passed');

    // Over HTTP the same, and by the same formats.
    const strip = ({ made, journal, ...rest }) => ({
      ...rest,
      journal: { ...journal, head_seq: 0, head_hash: 0 },
    });
    assert.deepEqual(strip(await web.get('/api/juniper/record/J-1')), strip(record));
    assert.deepEqual(table(await web.get('/api/juniper/record/J-1?format=csv')), [row]);
    const plain = await web.ask('GET', '/api/juniper/record/J-1', {
      person: 'v-1',
      headers: { accept: 'text/plain' },
    });
    assert.equal(plain.headers['content-type'], 'text/plain; charset=utf-8');
    assert.match(plain.text, /RECORD OF REPAIR J-1/);
    await web.problem(404, 'GET', '/api/juniper/record/none', { person: 'v-1' });
    await web.problem(401, 'GET', '/api/juniper/record/J-1', {});

    // What is asked about the job when its record has closed does not change it.
    await w.no('t-104', 'start-work', { job: 'J-1' }, 'wrong-phase');
    // A journal that nobody adds to any more is compared with its record whole.
    await w.stopDaemon();
    const again = JSON.parse(await told(w, 'J-1', '--json'));
    assert.equal(again.journal.last_hash, record.journal.last_hash);
    journalOf(again, await exported(w));
  },
);

scenario('standing jobs, periods, restarts and what there is not', {}, async (w) => {
  const repair = await new Repair(w).to('working');
  await w.stopDaemon();
  await w.startDaemon();
  const record = JSON.parse(await told(w, 'J-1', '--json'));
  assert.deepEqual([record.result, record.finished, record.closed], ['standing', false, false]);
  assert.equal(record.restarts.length, 1);
  assert.deepEqual([record.out_of_service.back, record.out_of_service.ongoing], [null, true]);
  assert.match(await told(w, 'J-1'), /NOT FINISHED/);
  assert.ok(record.tags.every((tag) => tag.lifted === null));

  const today = new Date().toISOString().slice(0, 10);
  await w.ok('k-1', 'open-job', { job: 'J-2', position: '4A', procedure: 'boot' });
  await w.ok('k-1', 'cancel-job', { job: 'J-2', reason: '=not needed' });
  // Points that settle after the restart add facts: what is compared is read when the daemon has ended.
  await w.stopDaemon();
  const period = ['--site', 'juniper', '--from', today, '--to', '2099-12-31'];
  const rows = table(await told(w, ...period, '--csv'));
  assert.deepEqual(
    rows.map((r) => [r.job, r.result]),
    [
      ['J-1', 'standing'],
      ['J-2', 'cancelled'],
    ],
  );
  const all = JSON.parse(await told(w, ...period, '--json'));
  const { journal, made, ...whole } = all[0];
  assert.equal(journal.verified, false);
  const one = JSON.parse(await told(w, 'J-1', '--json'));
  assert.equal(one.journal.last_hash, journal.last_hash);
  assert.deepEqual(whole.tags, one.tags);
  assert.deepEqual(whole.restarts, one.restarts);
  assert.deepEqual(
    JSON.parse(await told(w, '--site', 'juniper', '--to', '2001-01-01', '--json')),
    [],
  );
  assert.equal((await told(w, ...period)).split('RECORD OF REPAIR').length, 3);

  for (const [code, ...args] of [
    [1, 'J-9'],
    [1, 'J-1', '--site', 'elsewhere'],
    [2],
    [2, 'J-1', '--json', '--csv'],
    [2, 'J-1', '--from', today],
    [2, '--site', 'juniper', '--from', 'yesterday'],
    [2, '--site', 'juniper', '--from', '2026-02-01', '--to', '2026-01-01'],
  ]) {
    const answer = await w.tool('record', ...args);
    assert.equal(answer.code, code, `${args}: ${answer.err}`);
    assert.equal(answer.out, '');
    assert.notEqual(answer.err, '');
  }
  assert.equal(repair.job, 'J-1');
});
