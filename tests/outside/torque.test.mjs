// A torque check: with an adapter on the wrench what it applies at the nut counts, and readings are given in
// the unit that the wrench is marked in.
import assert from 'node:assert/strict';
import { Phone } from './harness/phone.mjs';
import { Repair } from './harness/repair.mjs';
import { tokens } from './harness/web.mjs';
import { scenario } from './harness/world.mjs';

const PROCEDURE = 'spout-and-boot';
const nut = (plan) => plan.procedures[PROCEDURE].work.find((c) => c.check === 'spout-nut');

// A wrench of 12 in with an adapter of 3 in in line: 34 on it is 42.5 at the nut (US Army TM 1-1500-204-23-9
// Fig 8-16, as the rule's own worked value).
const adapter = {
  maxAge: 20,
  tweak(plan) {
    tokens(plan);
    Object.assign(nut(plan), { unit: 'ft.lbf', min: 32, max: 36, rule: 'torque-applied', twin: true });
    const until = '2099-12-31';
    plan.instruments = plan.instruments
      .filter((i) => i.kind !== 'torque-wrench')
      .concat([
        ...[{ instrument: 'tw-3', kind: 'torque-wrench', calibrated_until: until, wrench_in: 12 }],
        ...[
          {
            ...{ instrument: 'tw-3-flat', kind: 'torque-wrench', calibrated_until: until },
            ...{ wrench_in: 12, adapter_in: 3 },
          },
        ],
      ]);
  },
};

scenario('what the wrench applies at the nut counts', adapter, async (w) => {
  const job = await new Repair(w, { procedure: PROCEDURE }).to('working');
  const sign = async (value, unit, instrument) =>
    (await job.ask('sign-check', { check: 'spout-nut', value, unit, instrument })).result;
  const out = await sign(34, 'ft.lbf', 'tw-3-flat');
  assert.deepEqual(out, {
    ...{ pass: false, value: 42.5, unit: 'ft.lbf', reading: 34, reading_unit: 'ft.lbf' },
    ...{ min: 32, max: 36 },
  });
  const signed = (d) => d.checks.find((c) => c.check === 'spout-nut');
  const { checks } = await job.doc((d) => signed(d).value === 42.5);
  assert.equal(signed({ checks }).reading, 34);
  await job.no('finish-work', {}, 'check-failed');
  assert.equal((await sign(27.2, 'ft.lbf', 'tw-3-flat')).value, 34);
  const twin = await sign(46, 'N.m', 'tw-3');
  assert.ok(twin.pass && Math.abs(twin.value - 33.928) < 0.001, JSON.stringify(twin));
  assert.equal(twin.reading_unit, 'N.m');
  await job.no('sign-check', { check: 'spout-nut', value: 34, unit: 'psi', instrument: 'tw-3' }, 'malformed');
  // The journal keeps both, and folds to the same after a restart.
  const facts = (await w.journal()).filter(
    (e) => e.type === 'forelock.check.signed' && e.data.check === 'spout-nut',
  );
  assert.deepEqual(
    facts.map(({ data }) => [data.reading, data.reading_unit, data.pass]),
    [
      [34, 'ft.lbf', false],
      [27.2, 'ft.lbf', true],
      [46, 'N.m', true],
    ],
  );
  const { code, out: paper, err } = await w.tool('record', job.job);
  assert.equal(code, 0, err);
  assert.match(paper, /FAILED: 42\.5 ft\.lbf[^]*?from 34 ft\.lbf on the wrench; the value is at the nut/);
  await w.killDaemon();
  await w.startDaemon();
  const after = await job.doc((d) => signed(d).reading === 46);
  assert.equal(signed(after).reading_unit, 'N.m');
});

const WORDS = {
  'en-US': {
    measure: 'Measure: Spout nut torqued',
    out: 'Failed: 34 ft·lbf on the wrench is 42.5 ft·lbf at the nut: OUT OF LIMITS, from 32 to 36',
    good: 'Passed: 36.9 N·m on the wrench is 34 ft·lbf at the nut',
  },
  'es-MX': {
    measure: 'Medir: Spout nut torqued',
    out: 'No pasó: 34 ft·lbf en la llave son 42.5 ft·lbf en la tuerca: FUERA DE LÍMITES, de 32 a 36',
    good: 'Pasó: 36.9 N·m en la llave son 34',
  },
};

for (const [locale, words] of Object.entries(WORDS))
  scenario(`a torque on the phone (${locale})`, adapter, async (w) => {
    const job = await new Repair(w, { procedure: PROCEDURE }).to('working');
    const leader = await Phone.open(w, { locale });
    const form = leader.page.locator('dialog[open]');
    const row = leader.page.locator('#checks .line', { hasText: 'Spout nut torqued' });
    const measure = async (value, unit, instrument) => {
      await row.getByRole('button').first().click();
      await form.getByRole('textbox').first().fill(value);
      await form.locator('[data-field="value"] select').selectOption({ label: unit });
      await form.locator('[data-field="instrument"] select').selectOption(instrument);
      await leader.shot(`torque-form-${locale}`);
      await form.locator('button[type=submit]').click();
    };
    await measure('34', 'ft·lbf', 'tw-3-flat');
    await leader.answer(words.out);
    await row.getByText(words.out.replace(/^.*?: /, '')).waitFor();
    await leader.shot(`torque-out-${locale}`);
    await measure('36.9', 'N·m', 'tw-3-flat');
    await job.doc((d) => d.checks.find((c) => c.check === 'spout-nut').pass, 'it to pass');
    await row.getByText(/36\.9 N·m/).waitFor();
    leader.sound();
    await leader.close();
  });
