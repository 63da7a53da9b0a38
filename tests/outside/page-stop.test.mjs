// STOP WORK on open pages: at once, with its reason, until it was acknowledged and proved anew.
import assert from 'node:assert/strict';
import { DESK, Phone } from './harness/phone.mjs';
import { Repair } from './harness/repair.mjs';
import { until } from './harness/until.mjs';
import { tokens } from './harness/web.mjs';
import { scenario } from './harness/world.mjs';

const plain = { tweak: tokens, maxAge: 20 };

scenario('a point that reads live takes the screen, and the way back', plain, async (w) => {
  const job = await new Repair(w).to('working');
  const leader = await Phone.open(w);
  const viewer = await Phone.open(w, { person: 'v-1', size: DESK });
  await leader.says('LOCKOUT CONFIRMED');
  await viewer.says('LOCKOUT CONFIRMED');
  // A form lies over the page when it happens: nothing may hide the stop.
  await leader.page.locator('#points button', { hasText: 'My lock is off Point 3-power' }).click();
  await leader.page.locator('dialog[open]').waitFor();
  await w.hw.set('3-power', 'live');
  const at = Date.now();
  await leader.says('STOP WORK');
  assert.ok(Date.now() - at < 5000, `the stop took ${Date.now() - at} ms`);
  await viewer.says('STOP WORK');
  assert.match(await leader.page.title(), /^STOP WORK/);
  await leader.page.locator('.urgent .reason', { hasText: 'Point 3-power reads LIVE.' }).waitFor();
  assert.equal(await leader.page.locator('dialog[open]').count(), 0);
  await until(
    () => leader.page.evaluate(() => document.activeElement.tagName === 'H1'),
    'the word to have the focus',
  );
  await until(
    async () => /STOP WORK/.test(await leader.page.locator('[role=alert].only-read').textContent()),
    'the alert to be spoken',
  );
  const box = await leader.page.locator('.urgent .panel').boundingBox();
  assert.ok(box.y <= 60 && box.height >= 450, `the stop fills the screen: ${JSON.stringify(box)}`);
  await viewer.page.getByText('Sound is blocked').waitFor();
  await leader.shot('stop');
  await viewer.shot('desk-stop');
  // Touched once, it rings; a machine under load may take a while to find a device to ring with.
  const blocked = viewer.page.getByText('Sound is blocked');
  await until(
    async () => {
      await viewer.page.locator('h1').click();
      return (await blocked.count()) === 0;
    },
    'the sound to be let through',
    { timeout: 30000, every: 2000 },
  );
  assert.equal(await viewer.page.locator('#bar .next').count(), 0, 'a viewer has nothing to press');
  await leader.next('ACKNOWLEDGE');
  await leader.page.locator('.urgent').waitFor({ state: 'detached' });
  await leader.says('STOP WORK');
  await leader.waits('Waiting for Point 3-power to read isolated');
  await leader.shot('stop-acknowledged');
  await job.isolate();
  // The reason is of when it broke, while the alarm stands and after it.
  const broke = /^The lockout broke at \d\d:\d\d: Point 3-power read LIVE\.$/;
  await leader.page.locator('.reason', { hasText: broke }).waitFor();
  await leader.next('My lock and tag hang on Point 3-power');
  await leader.next('Sign: Trigger squeezed');
  await leader.offers('START WORK AGAIN');
  await leader.page.locator('.reason', { hasText: broke }).waitFor();
  const late = await Phone.open(w, { person: 'v-1', lang: 'es' });
  const lost = /^Se perdió el bloqueo \(\d\d:\d\d\): Point 3-power estaba ENERGIZADO\.$/;
  await late.page.locator('.reason', { hasText: lost }).waitFor();
  assert.doesNotMatch(await late.page.locator('body').innerText(), /\{|hands out|reads LIVE/);
  late.sound();
  await late.close();
  await leader.next('START WORK AGAIN');
  await leader.says('LOCKOUT CONFIRMED');
  await viewer.says('LOCKOUT CONFIRMED');
  leader.sound();
  viewer.sound();
  await leader.close();
  await viewer.close();
});

scenario('whoever sees a hazard stops with one reason and one tap', plain, async (w) => {
  const job = await new Repair(w).to('working');
  const viewer = await Phone.open(w, { person: 'v-1' }); // neither of the crew nor over it
  const leader = await Phone.open(w);
  const manager = await Phone.open(w, { person: 'm-1', lang: 'es' });
  await leader.says('LOCKOUT CONFIRMED');
  await viewer.page.locator('#bar .stop', { hasText: 'HAZARD' }).click();
  await viewer.page.locator('dialog[open]').waitFor();
  await viewer.shot('form-stop');
  await viewer.page.getByRole('button', { name: 'Smell of vapor' }).click();
  await leader.says('STOP WORK');
  const why = { hasText: 'Person v-1 called a stop: Smell of vapor' };
  await leader.page.locator('.reason', why).waitFor();
  await leader.page.locator('.urgent').waitFor();
  await leader.shot('stop-person');
  // It is not the leader's to acknowledge: seen, the page goes on.
  await leader.next('I HAVE SEEN IT');
  await leader.page.locator('.urgent').waitFor({ state: 'detached' });
  await leader.says('STOP WORK');
  await leader.waits('A manager or supervisor acknowledges the alarm');
  await viewer.says('STOP WORK');
  assert.equal(await viewer.page.locator('.urgent').count(), 0, 'who stopped needs no alarm');
  // A page that is opened later says the same.
  const late = await Phone.open(w, { person: 't-105' });
  await late.says('STOP WORK');
  await late.page.locator('.reason', why).waitFor();
  await job.phase('stopped', 'unconfirmed');
  // Whoever may says what was done.
  await manager.page.locator('.urgent .reason', { hasText: 'pidió parar: Smell of vapor' }).waitFor();
  await manager.next('RECONOCER');
  await manager.page.locator('dialog[open] textarea').fill('ventilado y medido');
  await manager.shot('stop-done');
  await manager.page.locator('dialog[open] button[type=submit]').click();
  await manager.page.locator('.urgent').waitFor({ state: 'detached' });
  await leader.next('Sign: Trigger squeezed');
  await leader.next('START WORK AGAIN');
  await leader.says('LOCKOUT CONFIRMED');
  for (const p of [viewer, leader, manager, late]) {
    p.sound();
    await p.close();
  }
});

scenario('who leads pauses, and one tap goes on', plain, async (w) => {
  const job = await new Repair(w).to('working');
  const leader = await Phone.open(w);
  const other = await Phone.open(w, { person: 't-105' });
  await leader.says('LOCKOUT CONFIRMED');
  assert.equal(await other.page.getByRole('button', { name: 'PAUSE' }).count(), 0);
  await leader.page.locator('#more button', { hasText: 'PAUSE' }).click();
  await leader.page.locator('.reason', { hasText: 'Paused by Person t-104.' }).waitFor();
  await job.phase('stopped', 'confirmed');
  assert.deepEqual(w.seen.alarms('stop-called'), []);
  await leader.next('START WORK AGAIN');
  await leader.says('LOCKOUT CONFIRMED');
  for (const p of [leader, other]) {
    p.sound();
    await p.close();
  }
});

const often = (p) => {
  tokens(p);
  p.procedures.boot.check_in_s = 90;
};

scenario('who leads checks in, and sees by when', { tweak: often, maxAge: 20 }, async (w) => {
  await new Repair(w).to('working');
  const leader = await Phone.open(w);
  const other = await Phone.open(w, { person: 'm-1', lang: 'es' });
  await leader.page.locator('.check-in', { hasText: /Check in by \d\d:\d\d: .* left/ }).waitFor();
  await other.page.locator('.check-in', { hasText: /quedan/ }).waitFor();
  assert.equal(await other.page.locator('.check-in button').count(), 0);
  await leader.shot('check-in');
  const since = w.seen.mark();
  await leader.page.getByRole('button', { name: 'ALL IS WELL' }).click();
  await w.seen.event('checked-in', { since, where: (d) => d.by === 't-104' });
  for (const p of [leader, other]) {
    p.sound();
    await p.close();
  }
});
