// What local authority asks for from a day on, levels of credentials, fields of the record, and the
// isolation that is refused before anybody opens a cabinet.
import assert from 'node:assert/strict';
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { dirname, join } from 'node:path';
import test from 'node:test';
import { fileURLToPath } from 'node:url';
import { run } from './harness/child.mjs';
import { Repair } from './harness/repair.mjs';
import { plan, write } from './harness/site.mjs';
import { DAEMON, scenario } from './harness/world.mjs';

const EXAMPLE = join(dirname(fileURLToPath(import.meta.url)), '../../config/forelock.json');

const notice = { check: 'notice', ask: 'District told, number of its notice', note: true };
const receipt = { check: 'receipt', ask: 'Receipt number of the results', note: true };
const rules = (effective, adds) => ({
  district: 'north-basin',
  ...(effective ? { effective } : {}),
  adds: { boot: adds },
});

// The plan with a district before a day long gone, from it, and from a day long to come.
function dated(p) {
  p.districts = {
    before: rules(null, { tests: [{ test: 'decay', rule: 'pressure-decay' }] }),
    now: rules('2020-01-01', { prepare: [notice], finish: [receipt] }),
    later: rules('2999-01-01', { tests: [{ test: 'bag', rule: 'pass-fail' }] }),
  };
}

const openedOf = async (w) => (await w.journal()).find((l) => l.type === 'forelock.job.opened');
const names = (list, key) => list.map((e) => e[key]);

const OPENED = 'a job has the rules of its day, and its record names them';
scenario(OPENED, { tweak: dated }, async (w) => {
  const job = await new Repair(w).to('open');
  const document = await job.doc((d) => d.checks.length > 0);
  assert.ok(names(document.checks, 'check').includes('notice'));
  assert.deepEqual(names(document.tests, 'test'), ['leak']);
  const { data } = await openedOf(w);
  assert.equal(data.requirements.district, 'north-basin');
  assert.equal(data.requirements.effective, '2020-01-01');
});

const STANDING = 'later rules do not touch a standing job, stricter ones of its day tighten it';
scenario(STANDING, { tweak: dated }, async (w) => {
  await new Repair(w).to('open');
  await w.stopDaemon();
  // The file of that day is edited, which a standing job has to meet; one of a coming day is not.
  w.plan.districts.now = rules('2020-01-01', {
    prepare: [notice],
    tests: [{ test: 'creep', rule: 'pass-fail' }],
  });
  w.plan.districts.later = rules('2999-01-01', { finish: [receipt] });
  write(w.dir, w.plan);
  await w.startDaemon();
  await w.job('J-1', (d) => names(d.tests, 'test').includes('creep'), 'asked for more');
  const document = await w.job('J-1', () => true);
  assert.deepEqual(names(document.tests, 'test').sort(), ['creep', 'leak']);
  assert.ok(names(document.checks, 'check').includes('receipt'), 'what it was opened with is kept');
});

scenario('a field of the record is answered in words', { tweak: dated }, async (w) => {
  const job = await new Repair(w).to('open');
  await job.only('sign-check', { check: 'notice' }, 'malformed');
  await job.only('sign-check', { check: 'notice', note: '  ' }, 'malformed');
  await job.ask('sign-check', { check: 'notice', note: 'N-2044' });
  const signed = (await w.journal()).find((l) => l.type === 'forelock.check.signed');
  assert.equal(signed.data.note, 'N-2044');
});

function levelled(p) {
  p.main.credentials = 'credentials.json';
  p.files = {
    'credentials.json': {
      credentials: [
        { credential: 'vapor-a' },
        { credential: 'vapor-b', includes: ['vapor-a'] },
        { credential: 'vapor-c', includes: ['vapor-b'] },
        { credential: 'vapor-d', includes: ['vapor-c'] },
      ],
    },
  };
  p.procedures.boot.credentials = [['vapor-a']];
  p.procedures.cabinet.credentials = [['vapor-c']];
}

const LEVELS = 'a higher level does for a lower one, and never the other way';
scenario(LEVELS, { tweak: levelled }, async (w) => {
  await new Repair(w).to('open'); // t-104 holds vapor-b, and vapor-a is asked for
  await w.ok('t-105', 'join-job', { job: 'J-1' });
  await w.ok('k-1', 'open-job', { job: 'J-2', position: '4A', procedure: 'cabinet' });
  await w.ok('t-105', 'join-job', { job: 'J-2' });
  const helps = (d) => d.crew.find((m) => m.person === 't-105').helper;
  assert.equal(helps(await w.job('J-1')), false);
  assert.equal(helps(await w.job('J-2')), true);
});

// `forelockd -t` on a changed plan.
async function checked(tweak) {
  const dir = mkdtempSync(join(tmpdir(), 'forelock-rules-'));
  try {
    const p = plan();
    tweak(p);
    const { code, out, err } = await run(DAEMON, ['-t', '-c', write(dir, p)]);
    return { code, text: out + err };
  } finally {
    rmSync(dir, { recursive: true, force: true });
  }
}

const HAZARDS = {
  'a second circuit of another name': { energy: 'lighting', kind: 'breaker' },
  'a line for data': { energy: 'data', kind: 'disconnect' },
};
for (const [name, point] of Object.entries(HAZARDS)) {
  test(`${name} that the procedure leaves on is refused with the clause`, async () => {
    const { code, text } = await checked((p) => {
      p.sites.juniper.points.push({ point: '3-other', isolates: ['3A', '3B'], ...point });
      p.procedures.lines.isolate.push(point.energy); // that another one does helps nobody
    });
    assert.equal(code, 3, text);
    assert.match(text, /juniper\.json:\d+:\d+: \/points\/8: .*"3-other".*NEC 514\.11\(A\)/);
    const { code: isolated } = await checked((p) => {
      p.sites.juniper.points.push({ point: '3-other', isolates: ['3A', '3B'], ...point });
      p.procedures.lines.isolate.push('electrical');
      for (const procedure of Object.values(p.procedures)) procedure.isolate.push(point.energy);
    });
    assert.equal(isolated, 0);
  });
}

test('what only stops the control of a machine is no point', async () => {
  for (const kind of ['push button', 'emergency stop', 'console stop', 'door interlock', 'relay']) {
    const { code, text } = await checked((p) => (p.sites.juniper.points[0].kind = kind));
    assert.equal(code, 3, `${kind}: ${text}`);
    assert.match(text, /\/points\/0\/kind: .*29 CFR 1910\.147\(b\)/);
  }
});

test('two files of a district that contradict each other are told', async () => {
  const { code, text } = await checked((p) => {
    dated(p);
    p.districts.twin = rules('2020-01-01', {});
  });
  assert.equal(code, 3);
  assert.match(text, /: \/effective: .*north-basin/);
});

test('the example that ships has no errors and no warnings', async () => {
  const { code, out, err } = await run(DAEMON, ['-t', '-c', EXAMPLE]);
  assert.equal(code, 0, err);
  assert.match(out + err, /0 warnings/);
});
