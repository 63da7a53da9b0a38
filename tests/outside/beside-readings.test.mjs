// What stands beside a test's readings: what the site's file says of its vapor recovery, which fills in
// and contradicts, and the uncertainty of the instrument, which decides beside the verdict.
import assert from 'node:assert/strict';
import test from 'node:test';
import { run } from './harness/child.mjs';
import { Repair } from './harness/repair.mjs';
import { scenario, TOOL } from './harness/world.mjs';

const GAUGE = { instrument: 'inwc-1', kind: 'low-gauge', calibrated_until: '2099-01-31' };

const tweak = (basis) => (p) => {
  p.sites.juniper.vapor = {
    basis,
    system: 'balance',
    nozzles: 8,
    tanks: [
      { tank: '1', product: 'regular', gallons: 6000 },
      { tank: '2', product: 'premium', gallons: 4000 },
    ],
  };
  p.instruments.push({ ...GAUGE, uncertainty: { value: 0.05, unit: 'inH2O' } });
  p.procedures.boot.tests = [{ test: 'decay', rule: 'pressure-decay', instrument: 'low-gauge' }];
};

const read = (readings) => ({
  test: 'decay',
  readings: { ullage_gal: 1000, initial_inwc: 2, ...readings },
  instrument: 'inwc-1',
  note: 'vent tightened',
});
const close = (a, b) => assert.ok(Math.abs(a - b) < 5e-4, `${a} is not ${b}`);

scenario('what was not typed is the site’s', { tweak: tweak('tp-201.3') }, async (w) => {
  const job = await new Repair(w).to('testing');
  const { result } = await job.ask('record-test', read({ final_inwc: 1.2 }));
  // K of balance systems with 7 to 12 nozzles: from memory, unverified.
  close(result.limit, 2 * Math.exp(-792.196 / 1000));
  assert.match(result.source, /^TP-201\.3.*from memory, unverified/);
  assert.doesNotMatch(result.source, /40 CFR/);
  const { basis, system, nozzles } = result.inputs;
  assert.deepEqual([basis, system, nozzles], ['tp-201.3', 'balance', 8]);
});

scenario('what contradicts the site is refused', { tweak: tweak('tp-201.3') }, async (w) => {
  const job = await new Repair(w).to('testing');
  const wrong = read({ system: 'assist', nozzles: 4, ullage_gal: 10500, final_inwc: 1.95 });
  const refusals = await job.only('record-test', wrong, 'reading-not-valid');
  assert.deepEqual(
    refusals.map(({ subject, need, found }) => [subject, need, found]),
    [
      ['system', 'balance', 'assist'],
      ['nozzles', '8', '4'],
      ['ullage_gal', 'at most 10000 gal', '10500 gal'],
    ],
  );
  const other = read({ basis: 'federal', final_inwc: 1.95 });
  const [refusal] = await job.only('record-test', other, 'reading-not-valid');
  assert.deepEqual([refusal.subject, refusal.need, refusal.found], ['basis', 'tp-201.3', 'federal']);
});

scenario('the federal rule, and the instrument beside it', { tweak: tweak('federal') }, async (w) => {
  const job = await new Repair(w).to('testing');
  // 40 CFR 63 Subpart CCCCCC Table 1 item 1(h): 1.2120 at 1000 gal. ILAC-G8:09/2019 4.2.3 with U 0.05.
  for (const [final_inwc, pass, decision] of [
    [1.1, false, 'fail'],
    [1.2, false, 'conditional fail'],
    [1.24, true, 'conditional pass'],
    [1.3, true, 'pass'],
  ]) {
    const { result } = await job.ask('record-test', read({ final_inwc }));
    close(result.limit, 1.212);
    assert.deepEqual([result.pass, result.decision, result.uncertainty], [pass, decision, 0.05]);
    assert.match(result.source, /40 CFR 63 Subpart CCCCCC/);
    assert.doesNotMatch(result.source, /TP-201\.3/);
  }
  const { out } = await run(TOOL, ['record', '-c', w.file, job.job], { cwd: w.dir });
  assert.match(out, /decision: conditional pass, uncertainty 0\.05 in WC/);
  const typed = read({ system: 'balance', final_inwc: 1.3 });
  await job.only('record-test', typed, 'reading-not-valid');
});

test('calc: basis and uncertainty', async () => {
  const calc = async (...line) => {
    const { code, out } = await run(TOOL, ['calc', ...line, '--json']);
    return { code, ...JSON.parse(out || '{}') };
  };
  const decay = ['pressure-decay', 'ullage_gal=1000', 'initial_inwc=2', 'final_inwc=1.24'];
  const federal = await calc(...decay, 'basis=federal', 'uncertainty=0.05');
  assert.deepEqual([federal.code, federal.pass, federal.decision], [0, true, 'conditional pass']);
  assert.equal((await calc(...decay, 'basis=federal', 'system=assist')).code, 2);
  assert.equal((await calc(...decay)).code, 2);
  assert.equal((await calc(...decay, 'system=assist', 'nozzles=6')).code, 0);
});
