// What a person has to say on the phone beside the repair itself: that they know of a removed lock, that
// they help without a credential, that the leader was found, and how a repair was left safe.
import assert from 'node:assert/strict';
import { Phone } from './harness/phone.mjs';
import { Repair } from './harness/repair.mjs';
import { tokens } from './harness/web.mjs';
import { scenario } from './harness/world.mjs';

const plain = { tweak: tokens, maxAge: 30 };
const HAND = { width: 390, height: 844 };
const phoneOf = (w, person, more = {}) =>
  Phone.open(w, { person, size: HAND, hasTouch: true, isMobile: true, ...more });
const sound = async (...phones) => {
  for (const phone of phones) {
    phone.sound();
    await phone.close();
  }
};
// Nothing is wider than the screen, and no button's words are cut off.
const whole = async (phone) => {
  const cut = await phone.page.evaluate(() =>
    [...document.querySelectorAll('button, h1, p, li')]
      .filter((e) => e.scrollWidth > e.clientWidth + 1 && getComputedStyle(e).display !== 'inline')
      .map((e) => e.textContent),
  );
  assert.deepEqual(cut, [], 'words that are cut off');
};

scenario('whose lock was removed says so before anything else', plain, async (w) => {
  const job = await new Repair(w).to('tagged');
  const attest = { not_on_site: true, contact_tried: true, will_be_told: true };
  const off = { point: '3-power', person: 't-104', reason: 'went home', attest };
  await job.ask('lift-absent-tag', off, 's-1');
  const owner = await phoneOf(w, 't-104');
  await owner.offers('I KNOW: MY LOCK ON Point 3-power WAS REMOVED');
  await owner.shot('told');
  await owner.shot('told-whole', true);
  await whole(owner);
  const spanish = await phoneOf(w, 't-104', { locale: 'es-MX' });
  await spanish.offers('LO SÉ: QUITARON MI CANDADO DE Point 3-power');
  await whole(spanish);
  await owner.next('I KNOW');
  await w.seen.event('told.confirmed', { where: (d) => d.person === 't-104' });
  await owner.page.locator('#alarms', { hasText: 'removed the lock of Person t-104' }).waitFor();
  await owner.shot('told-after', true);
  await sound(owner, spanish);
});

const often = (p) => {
  tokens(p);
  p.procedures.boot.check_in_s = 60;
};
// The daemon's own least is a minute: this one waits for it.
scenario('a leader who was not heard of is looked for', { tweak: often, maxAge: 30 }, async (w) => {
  await new Repair(w).to('working');
  const leader = await phoneOf(w, 't-104');
  const manager = await phoneOf(w, 'm-1', { locale: 'es-MX' });
  await leader.page.locator('.check-in', { hasText: 'left' }).waitFor();
  await leader.shot('check-in-due');
  await w.seen.alarm('check-in-overdue', () => true, 90_000);
  await leader.page.locator('.check-in', { hasText: 'OVERDUE' }).waitFor();
  await leader.shot('check-in-late', true);
  await whole(leader);
  await manager.page.locator('#alarms', { hasText: 'no ha dado señales' }).waitFor();
  await manager.shot('check-in-late-es', true);
  assert.equal(await leader.page.locator('.check-in button').count(), 0, 'one button for one thing');
  await leader.offers('CHECK IN: ALL IS WELL');
  await manager.next('RECONOCER');
  await manager.fill({ 'Cómo se le encontró': 'está bien' });
  await leader.page.locator('.check-in button', { hasText: 'ALL IS WELL' }).click();
  await leader.page.locator('.check-in', { hasText: 'left' }).waitFor();
  await sound(leader, manager);
});

scenario('who helps without a credential is shown so, and signs nothing', plain, async (w) => {
  await new Repair(w, { procedure: 'spout-and-boot' }).to('tagged');
  const helper = await phoneOf(w, 't-107');
  await helper.row('more', 'Join this job').click();
  await helper.page.locator('#crew', { hasText: 'helper' }).waitFor();
  for (const point of ['3-power', '3-product'])
    await helper.row('points', `My lock and tag hang on Point ${point}`).click();
  await helper.page.locator('#crew .line', { hasText: /107.*helper.*protected/ }).waitFor();
  assert.equal(await helper.row('checks', 'Sign:').count(), 0);
  assert.ok((await helper.row('checks', 'FAILED').count()) > 0, 'that it failed is theirs to say');
  await helper.shot('helper', true);
  await whole(helper);
  const spanish = await phoneOf(w, 't-107', { locale: 'es-MX' });
  await spanish.page.locator('#crew', { hasText: 'ayudante' }).waitFor();
  await spanish.shot('helper-es', true);
  await sound(helper, spanish);
});

// A repair that failed its test and cannot be locked: its supervisor writes how it was made safe.
scenario('a repair that cannot be locked is left safe in words', plain, async (w) => {
  const job = await new Repair(w).to('testing');
  await job.record('leak', { pass: false });
  await job.ask('rework', { reason: 'it leaks' });
  await job.phase('open');
  const boss = await phoneOf(w, 's-1');
  await boss.live();
  await boss.shot('leave-supervisor', true);
  await boss.row('checks', 'Hose off or capped').click();
  await boss.page.locator('dialog[open]').waitFor();
  await boss.shot('leave-form');
  await boss.fill({ 'How it was made safe': 'hose capped, breaker sealed' });
  await boss.page.locator('#checks', { hasText: 'signed by' }).waitFor();
  await boss.row('more', 'Cancel this job').click();
  await boss.fill({ Reason: 'a part is missing' });
  await job.phase('cancelled');
  await boss.page.locator('.say', { hasText: 'Work was done here and its tests are still owed.' }).waitFor();
  await boss.shot('left', true);
  await sound(boss);
});

scenario('a hazard is everybody’s to call, in any phase', plain, async (w) => {
  const job = await new Repair(w).to('open');
  const viewer = await phoneOf(w, 'v-1', { locale: 'es-MX' });
  await viewer.page.locator('#bar .stop', { hasText: 'PELIGRO' }).click();
  await viewer.page.locator('dialog[open]').waitFor();
  await viewer.shot('stop-form-es');
  await viewer.page.getByRole('button', { name: 'Olor a vapor' }).click();
  await w.seen.alarm('stop-called', (a) => a.by === 'v-1');
  await job.phase('open');
  await viewer.says('PARE');
  await viewer.next('RECONOCER');
  await viewer.page.locator('dialog[open]').waitFor();
  await viewer.shot('stop-done-es');
  await viewer.fill({ 'Qué se hizo': 'era la calle' });
  await w.seen.wait(() => w.seen.alarms('stop-called').length === 0, 'the alarm to go');
  await viewer.shot('stop-over-es', true);
  await sound(viewer);
});
