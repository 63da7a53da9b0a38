// A procedure tightens the limit that a rule publishes: `forelock check` takes it and refuses a looser
// one, `calc` and a recorded test hold the reading to the stricter of both, and say which held.
import assert from 'node:assert/strict';
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import test from 'node:test';
import { run } from './harness/child.mjs';
import { Repair } from './harness/repair.mjs';
import { plan, write } from './harness/site.mjs';
import { DAEMON, scenario, TOOL } from './harness/world.mjs';

// Of each rule that publishes a limit: one that tightens it, one that equals it and one that loosens it.
const PUBLISHED = {
  'pressure-decay': { end: 'min', tighter: 1.5, equal: 0, looser: -1 },
  'vacuum-decay': { end: 'min', tighter: 3.2, equal: 0.8, looser: 0.5 },
  'back-pressure': { end: 'max', tighter: 0.3, equal: 0.62, looser: 0.7 },
  'flow-rate': { end: 'max', tighter: 9, equal: 10, looser: 12 },
  continuity: { end: 'max', tighter: 500000, equal: 1000000 },
  'vessel-decay': { end: 'min', tighter: 1.8, equal: 1.77, looser: 1.7 },
  'hose-length': { end: 'max', tighter: 15, equal: 18, looser: 20 },
  'meter-draft': { end: 'max', tighter: 3, equal: 6 },
  'leak-detector': { end: 'max', tighter: 2, equal: 3 },
  spill: { end: 'max', tighter: 10, equal: 25, looser: 42 },
  'torque-applied': { end: 'max', tighter: 34, equal: 36 },
  'liquid-removal': { end: 'min', tighter: 6, equal: 5 },
};

// Both programs on a plan whose procedure has this one test.
async function check(one) {
  const dir = mkdtempSync(join(tmpdir(), 'forelock-limits-'));
  try {
    const p = plan();
    p.procedures.boot.tests = [{ test: 'one', ...one }];
    const main = write(dir, p);
    const tool = await run(TOOL, ['check', '-c', main]);
    const daemon = await run(DAEMON, ['-t', '-c', main]);
    assert.equal(tool.code, daemon.code, tool.err + daemon.err);
    return { code: tool.code, said: tool.out + tool.err };
  } finally {
    rmSync(dir, { recursive: true, force: true });
  }
}

for (const [rule, { end, tighter, equal, looser }] of Object.entries(PUBLISHED))
  test(`${rule}: a procedure may tighten it`, async () => {
    for (const limit of [tighter, equal]) {
      const { code, said } = await check({ rule, [end]: limit });
      assert.equal(code, 0, said);
    }
    if (looser === undefined) return;
    const { code, said } = await check({ rule, [end]: looser });
    assert.equal(code, 3);
    const where = `boot\\.json:\\d+:\\d+: /tests/0/${end}: loosens the limit that the rule "${rule}"`;
    assert.match(said, new RegExp(where));
  });

const calc = async (...line) => {
  const { out } = await run(TOOL, ['calc', ...line, '--json']);
  return JSON.parse(out);
};

test('calc holds a reading to the stricter limit', async () => {
  const tight = await calc('flow-rate', 'volume_gal=9.5', 'seconds=60', 'max=9');
  assert.deepEqual([tight.limit, tight.pass], [{ min: 5, max: 9 }, false]);
  assert.match(tight.source, /limit from configuration$/);
  const loose = await calc('flow-rate', 'volume_gal=10.5', 'seconds=60', 'max=12');
  assert.deepEqual([loose.limit, loose.pass], [{ min: 5, max: 10 }, false]);
  assert.match(loose.source, /as published there/);
  assert.doesNotMatch(loose.source, /configuration/);
  assert.match(loose.cautions[0], /max of 12 given is looser/);
});

// A district tightens the procedure once more; of the vacuum, the table's row is stricter in one test.
const tightened = (p) => {
  p.procedures.boot.tests = [
    { test: 'flow', rule: 'flow-rate', max: 9.5 },
    { test: 'vacuum', rule: 'vacuum-decay', min: 2.5 },
  ];
  p.districts['north-basin'].adds = { boot: { tests: [{ test: 'flow', max: 9 }] } };
};

scenario('a recorded test is held to the stricter limit', { tweak: tightened }, async (w) => {
  const job = await new Repair(w).to('testing');
  const note = 'adjusted';
  const record = async (id, readings) =>
    (await job.ask('record-test', { test: id, readings, note })).result;
  const fast = await record('flow', { volume_gal: 9.2, seconds: 60 });
  assert.deepEqual([fast.limit, fast.pass], [{ min: 5, max: 9 }, false]);
  assert.match(fast.source, /limit from configuration$/);
  const row = await record('vacuum', { start_inwc: 8, final_inwc: 5.4 });
  assert.deepEqual([row.limit, row.pass], [5.5, false]);
  assert.doesNotMatch(row.source, /configuration/);
  const own = await record('vacuum', { start_inwc: 4, final_inwc: 2.4 });
  assert.deepEqual([own.limit, own.pass], [2.5, false]);
  assert.match(own.source, /limit from configuration$/);
  assert.equal((await record('vacuum', { start_inwc: 4, final_inwc: 2.5 })).pass, true);
  await job.only('return-position', {}, 'test-failed');
  assert.equal((await record('flow', { volume_gal: 9, seconds: 60 })).pass, true);
  await job.giveBack();
});

// What a method holds for: a reading that is possible and outside of it is not judged.
test('calc says of readings outside the method that they are not valid', async () => {
  const line =
    'vapor-liquid-ratio meter_factor=1.3 vapor_initial_ft3=0 vapor_final_ft3=0.5 liquid_gal=4';
  const { code, out } = await run(TOOL, ['calc', ...line.split(' '), '--json']);
  const { valid, pass, reasons } = JSON.parse(out);
  assert.deepEqual([code, valid, pass], [1, false, null]);
  assert.deepEqual(
    reasons.map(({ reading, need, found }) => [reading, need, found]),
    [
      ['meter_factor', '0.9 to 1.1', '1.3'],
      ['liquid_gal', '4.5 to 5 gal', '4 gal'],
    ],
  );
  const strange = await calc('back-pressure', 'flow_cfh=60', 'pressure_inwc=0');
  assert.equal(strange.pass, true);
  assert.match(strange.cautions[0], /exactly 0 is suspicious/);
});

const vapor = (p) => {
  p.procedures.boot.tests = [
    { test: 'decay', rule: 'pressure-decay' },
    { test: 'flow', rule: 'flow-rate' },
    { test: 'back', rule: 'back-pressure' },
  ];
};

scenario('readings outside the method are refused', { tweak: vapor }, async (w) => {
  const job = await new Repair(w).to('testing');
  // A thousands comma that became a decimal point: 8,500 gal of ullage.
  const decay = { system: 'assist', nozzles: 61, ullage_gal: 8.5, initial_inwc: 2, final_inwc: 1 };
  const refusals = await job.only(
    'record-test',
    { test: 'decay', readings: decay },
    'reading-not-valid',
  );
  assert.deepEqual(
    refusals.map(({ code, subject, need, found }) => [code, subject, need, found]),
    [
      ['reading-not-valid', 'nozzles', '1 to 60', '61'],
      ['reading-not-valid', 'ullage_gal', 'at least 100 gal', '8.5 gal'],
    ],
  );
  const { min, value, unit } = refusals[1].args;
  assert.deepEqual([min, value, unit], [100, 8.5, 'gal']);
  const flow = (volume_gal, seconds) => ({ test: 'flow', readings: { volume_gal, seconds } });
  await job.only('record-test', flow(2, 20), 'reading-not-valid');
  const slow = await job.ask('record-test', flow(4, 60));
  assert.equal(slow.result.pass, false);
  const back = { test: 'back', readings: { flow_cfh: 60, pressure_inwc: 0 } };
  const { result } = await job.ask('record-test', back);
  assert.deepEqual([result.pass, result.cautions.length], [true, 1]);
  const { out } = await run(TOOL, ['record', '-c', w.file, job.job], { cwd: w.dir });
  assert.match(out, /CAUTION: A back pressure of exactly 0 is suspicious/);
});
