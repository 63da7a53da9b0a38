// What is rarer on the phone page, done by tapping: opening, assigning and cancelling a job, set
// aside and rework, joining and leaving, a cabinet taken whole.
import assert from 'node:assert/strict';
import { Phone } from './harness/phone.mjs';
import { Repair } from './harness/repair.mjs';
import { tokens } from './harness/web.mjs';
import { scenario } from './harness/world.mjs';

const plain = { tweak: tokens, maxAge: 20 };
const label = (phone, text) => phone.page.locator('.say', { hasText: text }).waitFor();
const sound = async (...phones) => {
  for (const phone of phones) {
    phone.sound();
    await phone.close();
  }
};

scenario('a job opened, its kit named, assigned anew, cancelled', plain, async (w) => {
  const desk = await Phone.open(w, { person: 'm-1' });
  await desk.says('IN SERVICE');
  await desk.next('Open a job here');
  await desk.page.locator('dialog[open]').waitFor();
  await desk.shot('form-open');
  await desk.fill({ 'Job number': 'J-7', Procedure: 'spout-and-boot', Defect: 'spout bent' });
  await desk.says('NOT SAFE');
  await w.job('J-7', (d) => d.technician === null);
  const technician = await Phone.open(w);
  await technician.waits('Waiting for a technician to be assigned');
  // Without a name nothing is sent.
  await desk.next('Assign a technician');
  await desk.page.locator('dialog[open] button[type=submit]').click();
  await desk.page.getByText('This is needed.').waitFor();
  await desk.fill({ Technician: 't-104' });
  await w.job('J-7', (d) => d.technician === 't-104');
  await technician.offers('Sign: Work area barricaded');
  await technician.page.locator('.ladder', { hasText: 'Kit' }).waitFor();
  await desk.next('Name the kit');
  const who = desk.page.locator('dialog[open]').getByLabel('Technician');
  assert.equal(await who.inputValue(), 't-104', 'who leads goes on leading');
  await desk.fill({ 'Kit family': 'k2' });
  await desk.next('Sign: Site staff told');
  await desk.row('more', 'Assign a technician').click();
  await desk.fill({ Technician: 't-105' });
  await w.job('J-7', (d) => d.technician === 't-105');
  await technician.row('more', 'Join this job').waitFor();
  await desk.row('more', 'Cancel this job').click();
  await desk.page.locator('dialog[open]').getByText('It cannot be opened again').waitFor();
  await desk.shot('form-cancel');
  await desk.fill({ Reason: 'the site is closed' });
  await w.job('J-7', (d) => d.phase === 'cancelled');
  await desk.says('IN SERVICE');
  await desk.page.locator('#history', { hasText: 'the site is closed' }).waitFor();
  await sound(desk, technician);
});

scenario('set aside half done, taken up again, and back to repair', plain, async (w) => {
  const job = await new Repair(w, { procedure: 'spout-and-boot' }).to('working');
  const leader = await Phone.open(w);
  // It is offered once all that it takes is signed.
  for (const check of ['Tools removed', 'Everyone clear', 'Hose off or capped']) {
    assert.equal(await leader.row('more', 'Set the repair aside').count(), 0, check);
    await leader.row('checks', `Sign: ${check}`).click();
    await leader.row('checks', `Sign again: ${check}`).waitFor();
  }
  await leader.row('more', 'Set the repair aside').click();
  await leader.page.locator('dialog[open]').waitFor();
  await leader.shot('form-set-aside');
  await leader.fill({ Reason: 'a part is missing' });
  await job.phase('open');
  await leader.says('NOT SAFE');
  await leader.page.locator('#history', { hasText: 'Set aside by Person t-104' }).waitFor();
  await leader.shot('set-aside', true);
  job.at = 'tagged';
  await job.to('testing');
  await leader.says('TEST UNDER POWER');
  await leader.row('more', 'Back to repair').click();
  await leader.fill({ Reason: 'it drips' });
  await job.phase('open');
  await leader.says('NOT SAFE');
  const told = 'Back to repair by Person t-104: it drips';
  await leader.page.locator('#history', { hasText: told }).waitFor();
  await leader.page.locator('#tests', { hasText: 'not recorded' }).waitFor();
  await sound(leader);
});

scenario('joining and leaving, and somebody taken off the job', plain, async (w) => {
  const job = await new Repair(w).to('working');
  const second = await Phone.open(w, { person: 't-105' });
  const leader = await Phone.open(w);
  await second.says('NOT SAFE');
  await label(second, 'Not for you: your locks do not hang. Working: Person t-104.');
  await second.row('more', 'Join this job').click();
  await label(second, 'hang your own lock and tag on every point first');
  await second.shot('joined');
  // Who joined is off the job until their own locks hang; the leader works on.
  await leader.says('LOCKOUT CONFIRMED');
  await leader.page.locator('#crew', { hasText: 'NOT PROTECTED' }).waitFor();
  await second.row('points', 'My lock and tag hang on Point 3-power').click();
  await second.row('points', 'My lock and tag hang on Point 3-product').click();
  await second.says('LOCKOUT CONFIRMED');
  // With a lock still on, nobody leaves.
  assert.equal(await second.row('more', 'Leave this job').count(), 0);
  for (const point of ['3-power', '3-product']) {
    await second.row('points', `My lock is off Point ${point}`).click();
    await second.page.getByText('WORK IS GOING ON').waitFor();
    await second.page.getByRole('button', { name: 'Yes' }).click();
    await second.row('points', `My lock and tag hang on Point ${point}`).waitFor();
  }
  await second.says('NOT SAFE');
  await leader.says('LOCKOUT CONFIRMED');
  await second.row('more', 'Leave this job').click();
  await second.page.getByRole('button', { name: 'Yes' }).click();
  await job.doc((d) => d.crew.length === 1, 'one left');
  await second.row('more', 'Join this job').click();
  await leader.row('more', 'Take somebody off this job').click();
  await leader.fill({ Person: 't-105' });
  await job.doc((d) => d.crew.length === 1, 'one left');
  await second.row('more', 'Join this job').waitFor();
  await sound(leader, second);
});

scenario('a procedure that takes the cabinet: its other side says so', plain, async (w) => {
  await new Repair(w, { procedure: 'cabinet' }).to('working');
  const beside = await Phone.open(w, { position: '3B' });
  await beside.says('NOT SAFE');
  await label(beside, 'Job J-1 holds this position; no work is allowed here.');
  assert.equal(await beside.page.locator('.on-safe').count(), 0);
  await beside.page.locator('#points', { hasText: 'Person t-104' }).waitFor();
  await beside.shot('beside', true);
  await sound(beside);
});
