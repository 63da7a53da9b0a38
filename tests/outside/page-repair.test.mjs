// A whole repair done by tapping on a phone of 360 by 640: what is refused as well as what is accepted.
import assert from 'node:assert/strict';
import { DESK, Phone } from './harness/phone.mjs';
import { Repair } from './harness/repair.mjs';
import { tokens } from './harness/web.mjs';
import { scenario } from './harness/world.mjs';

const plain = { tweak: tokens, maxAge: 20 };

scenario('from NOT SAFE to BACK IN SERVICE by tapping', plain, async (w) => {
  const job = new Repair(w, { procedure: 'spout-and-boot' });
  const leader = await Phone.open(w);
  await leader.says('IN SERVICE');
  await leader.shot('in-service');

  await job.to('open');
  await leader.says('NOT SAFE');
  await leader.offers('barricaded');
  await leader.shot('not-safe');
  await leader.next('Sign: Work area barricaded');
  await leader.waits('The manager signs: Site staff told');

  const manager = await Phone.open(w, { person: 'm-1' });
  await manager.says('NOT SAFE');
  await manager.next('Sign: Site staff told');
  await manager.waits('read isolated');
  await manager.close();

  await job.isolate();
  await leader.next('lock and tag hang on Point 3-power');
  await leader.next('lock and tag hang on Point 3-product');
  await leader.next('Enter reading: Liquid drained');
  await leader.shot('form-reading');
  await leader.fill({ Reading: '1,5' });
  await leader.next('Sign: Trigger squeezed');
  await leader.says('NOT SAFE');
  await leader.next('Enter reading: Absence of voltage');
  await leader.fill({ Reading: '0.2' });
  await leader.says('LOCKOUT CONFIRMED');
  await leader.offers('START WORK');
  await leader.shot('confirmed');
  await leader.next('START WORK');
  await job.phase('working', 'confirmed');
  await leader.offers('Spout nut');
  await leader.shot('working');
  await leader.shot('working-whole', true);

  const stranger = await Phone.open(w, { person: 't-105' });
  await stranger.says('NOT SAFE');
  await stranger.shot('not-crew');
  await stranger.close();

  await leader.next('Enter reading: Spout nut');
  await leader.fill({ Reading: '45', Instrument: 'tw-3' });
  await leader.next('Sign: Tools removed');
  await leader.next('Sign: Everyone clear');
  await leader.next('WORK IS FINISHED');
  await leader.says('NOT SAFE');
  await leader.shot('restoring');
  await leader.next('My lock is off Point 3-power');
  await leader.next('My lock is off Point 3-product');
  await leader.next('BEGIN TEST');
  await leader.says('TEST UNDER POWER');
  await leader.next('Record test: continuity');
  await leader.fill({ Reading: '500000' });
  await leader.waits('read live');
  await job.restore();
  await leader.offers('Record test: leak');
  await leader.shot('test');
  await leader.next('Record test: leak');
  await leader.shot('form-test');
  await leader.fill({ verdict: true });
  await leader.next('Record test: shutoff');
  await leader.fill({ verdict: false });
  await leader.answer('Failed');
  await leader.next('Record test: shutoff');
  await leader.fill({ verdict: true, 'What was changed since it failed': 'valve adjusted' });
  await leader.next('Sign: Barricade removed');
  await leader.next('RETURN TO SERVICE');
  await job.phase('returned');
  await leader.says('BACK IN SERVICE');
  await leader.shot('back');
  await leader.shot('back-whole', true);
  leader.sound();
  await leader.close();
});

scenario('refusals are said in words, all of them, and nothing is done', plain, async (w) => {
  const job = await new Repair(w, { procedure: 'spout-and-boot' }).to('open');
  const leader = await Phone.open(w);
  await leader.next('Sign: Work area barricaded');
  await leader.waits('The manager signs: Site staff told');
  await job.sign('site-told');
  await leader.waits('Waiting for Point 3-power to read isolated');
  await job.isolate();
  await leader.next('lock and tag hang on Point 3-power');
  await leader.offers('lock and tag hang on Point 3-product');
  await w.hw.set(['3-product'], 'live');
  await leader.waits('read isolated');
  await job.isolate();
  await job.tag();
  await job.sign('drained');
  await job.sign('no-flow');
  await leader.next('Enter reading: Absence of voltage');
  await leader.fill({ Reading: '230' });
  await leader.answer('Failed: 230 V');
  await leader.page.locator('#checks', { hasText: 'FAILED' }).waitFor();
  await job.phase('open', 'broken');
  await leader.next('ACKNOWLEDGE');
  await leader.next('lock and tag hang on Point 3-power');
  await leader.next('lock and tag hang on Point 3-product');
  await job.doc((d) => d.crew[0].protected, 'the taps to have arrived');
  await job.sign('drained');
  await job.sign('no-flow');
  // A reading that is none is not sent at all.
  await leader.next('Enter reading: Absence of voltage');
  const form = leader.page.locator('dialog[open]');
  await form.getByLabel('Reading').fill('none');
  await form.locator('button[type=submit]').click();
  await form.getByText('Only digits and one decimal mark, as in 8500 or 8.5.').waitFor();
  await form.getByLabel('Reading').fill('0.3');
  await form.locator('button[type=submit]').click();
  await leader.says('LOCKOUT CONFIRMED');
  // A viewer may not join. Where a page offers it all the same, because what it knows has just become old,
  // they read why in words.
  const other = await Phone.open(w, { person: 'v-1' });
  await other.says('LOCKOUT CONFIRMED');
  await other.live();
  assert.equal(await other.row('more', 'Join this job').count(), 0);
  await other.page.route('**/position/3A/gate', async (route) => {
    const gate = await (await route.fetch()).json();
    const json = {
      ...gate,
      may: [...gate.may, 'join-job'],
      choices: [...gate.choices, { verb: 'join-job' }],
    };
    await route.fulfill({ json });
  });
  await other.page.reload();
  await other.row('more', 'Join this job').click();
  await other.answer('REFUSED. Nothing was done.');
  await other.answer('That is not yours to do');
  await other.shot('refused');
  other.sound();
  await other.close();
  leader.sound();
  await leader.close();
});

scenario('two in the crew, the lead handed over, a lock of one who left', plain, async (w) => {
  const job = await new Repair(w).to('tagged');
  const second = await Phone.open(w, { person: 't-105' });
  await second.row('more', 'Join this job').click();
  await second.next('lock and tag hang on Point 3-power');
  await second.next('lock and tag hang on Point 3-product');
  await job.sign('no-flow');
  await second.says('LOCKOUT CONFIRMED');
  const leader = await Phone.open(w, { size: DESK });
  await leader.row('more', 'Hand over the lead').click();
  await leader.fill({ Person: 't-105' });
  await second.next('Accept the lead');
  await job.doc((d) => d.technician === 't-105', 'the lead of t-105');
  await leader.shot('desk-confirmed');
  const supervisor = await Phone.open(w, { person: 's-1' });
  await supervisor.row('points', 'Remove the lock of Person t-104 from Point 3-power').click();
  const form = supervisor.page.locator('dialog[open]');
  await form.waitFor();
  await supervisor.shot('form-absent');
  await form.getByRole('textbox', { name: 'Reason' }).fill('called away by an ambulance');
  for (const words of ['not on site', 'reasonable effort', 'will be told'])
    await form.getByText(words).click();
  await form.locator('button[type=submit]').click();
  await w.seen.doc('point/3-power', (d) => !d.tags.some((x) => x.person === 't-104'), 'no lock');
  supervisor.sound();
  leader.sound();
  second.sound();
  for (const p of [supervisor, leader, second]) await p.close();
});
