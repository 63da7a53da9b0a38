// Checks on the phone page: for how long they stand, what a signing came to, how one without a reading is
// said to have failed, and a test that failed before.
import assert from 'node:assert/strict';
import { Phone } from './harness/phone.mjs';
import { Repair } from './harness/repair.mjs';
import { tokens } from './harness/web.mjs';
import { scenario } from './harness/world.mjs';

const plain = { maxAge: 20, tweak: tokens };
const ageing = {
  maxAge: 20,
  tweak(plan) {
    tokens(plan);
    plan.procedures.boot.verify[0].valid_s = 12;
    plan.procedures.boot.tests[0].valid_s = 3600;
  },
};
const line = (phone, id, text) => phone.page.locator(`#${id} .line`, { hasText: text });
const close = async (phone) => {
  phone.sound();
  await phone.close();
};

scenario('how long a check stands is counted down, and shown in time', ageing, async (w) => {
  const job = await new Repair(w).to('working');
  const leader = await Phone.open(w);
  const verify = line(leader, 'checks', 'Trigger squeezed');
  await verify.getByText(/good for \d+ s/).waitFor();
  await verify.locator('time.ageing').waitFor(); // a fifth of it is left
  await leader.shot('check-ageing');
  await verify.getByRole('button', { name: 'Sign again: Trigger squeezed' }).click();
  await leader.answer('Done: Trigger squeezed, nothing flows');
  await verify.locator('time:not(.ageing)[data-left-until]').waitFor();
  assert.equal((await job.doc(() => true)).phase, 'working');
  await job.phase('stopped', 'broken'); // nobody signs again
  await verify.getByText('no longer stands').waitFor();
  await close(leader);
});

scenario('a check without a reading is said to have failed', plain, async (w) => {
  const job = await new Repair(w).to('working');
  const leader = await Phone.open(w);
  const verify = line(leader, 'checks', 'Trigger squeezed');
  await verify.getByRole('button', { name: 'It FAILED: Trigger squeezed' }).click();
  const dialog = leader.page.locator('dialog[open]');
  await dialog.getByText('Whoever works has to get out').waitFor();
  await leader.shot('check-failed-confirm');
  assert.equal((await job.doc(() => true)).phase, 'working'); // asked once more first
  await dialog.locator('button.danger').click();
  await job.phase('stopped', 'broken');
  await verify.getByText('FAILED', { exact: true }).waitFor();
  await close(leader);
});

scenario('a test that failed asks what was changed', ageing, async (w) => {
  const job = await new Repair(w).to('testing');
  const leader = await Phone.open(w);
  const form = leader.page.locator('dialog[open]');
  const verdict = (word) => form.getByText(word, { exact: true }).click();
  await leader.next('Record test: leak');
  await leader.fill({ verdict: false });
  await line(leader, 'tests', 'FAILED').waitFor();
  await leader.next('Record test: leak');
  await form.getByLabel('What was changed since it failed').waitFor();
  await leader.shot('form-tested-again');
  await verdict('✓ PASS');
  await form.locator('button[type=submit]').click();
  await form.getByText('This is needed.').waitFor();
  await form.getByLabel('What was changed since it failed').fill('gasket replaced');
  await form.locator('button[type=submit]').click();
  await leader.answer('Passed');
  await line(leader, 'tests', 'PASSED').getByText(/good for/).waitFor();
  const { note } = (await w.journal()).filter((e) => e.type.endsWith('test.recorded')).at(-1).data;
  assert.equal(note, 'gasket replaced');
  await job.ask('return-position');
  await close(leader);
});
