// A form on the phone that was refused, or did not get through, keeps what was filled in.
import assert from 'node:assert/strict';
import { Phone } from './harness/phone.mjs';
import { Repair } from './harness/repair.mjs';
import { tokens } from './harness/web.mjs';
import { scenario } from './harness/world.mjs';

const keeps = {
  maxAge: 20,
  tweak(plan) {
    tokens(plan);
    const { boot } = plan.procedures;
    boot.verify.push({ check: 'dead', ask: 'Proved dead', unit: 'V', max: 1 });
    boot.tests = [{ test: 'hose', rule: 'continuity' }];
  },
};

scenario('a form that was not done keeps what was filled in', keeps, async (w) => {
  const job = await new Repair(w).to('tagged');
  await job.sign('no-flow');
  const leader = await Phone.open(w);
  const form = leader.page.locator('dialog[open]');
  // Nothing got through: the reading is still there.
  await leader.next('Enter reading: Proved dead');
  await leader.page.context().setOffline(true);
  await leader.fill({ Reading: '0,25', Note: 'meter 7' });
  await leader.answer('NO ANSWER');
  await leader.page.context().setOffline(false);
  await leader.live();
  await leader.next('Enter reading: Proved dead');
  assert.equal(await form.getByLabel('Reading').inputValue(), '0,25');
  assert.equal(await form.getByLabel('Note').inputValue(), 'meter 7');
  await form.locator('.kept', { hasText: 'Read it again before you send it.' }).waitFor();
  await form.locator('output', { hasText: 'Understood: 0.25 V' }).waitFor();
  await leader.shot('form-kept-check');
  await form.locator('button[type=submit]').click();
  await leader.answer('Passed: 0.25 V');
  await job.doc((d) => d.checks.find((c) => c.check === 'dead').value === 0.25, 'signed');

  await job.start();
  await job.finish();
  await job.lift();
  await job.restore();
  await job.beginTest();
  await leader.next('Record test: hose');
  await leader.fill({ 'Measured over': 'parts', Resistance: '20000', Note: 'at the spout' });
  await leader.answer('An entry is missing or cannot be taken: Pieces of hardware.');
  await leader.page.locator('#answer button').click();
  await leader.next('Record test: hose');
  assert.equal(await form.getByLabel('Measured over').inputValue(), 'parts');
  assert.equal(await form.getByRole('textbox', { name: 'Resistance' }).inputValue(), '20000');
  assert.equal(await form.getByLabel('Note').inputValue(), 'at the spout');
  await leader.shot('form-kept-test', true);
  await leader.fill({ 'Pieces of hardware': '2' });
  await leader.answer('An entry is missing or cannot be taken: Length of hose.');
  await leader.next('Record test: hose');
  assert.equal(await form.getByRole('textbox', { name: 'Pieces of hardware' }).inputValue(), '2');
  await form.getByRole('textbox', { name: 'Length of hose' }).fill('12,5');
  await form.locator('button[type=submit]').click();
  await job.doc((d) => d.tests[0].pass, 'passed');
  // What was done is not filled in again.
  await leader.row('tests', 'Record test: hose').click();
  assert.equal(await form.getByRole('textbox', { name: 'Resistance' }).inputValue(), '');
  assert.equal(await form.locator('.kept').count(), 0);
  leader.sound();
  await leader.close();
});
