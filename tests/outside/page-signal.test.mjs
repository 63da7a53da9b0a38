// One bar of signal: what is not known is never shown as safe, and nothing is kept for later.
import assert from 'node:assert/strict';
import { Phone } from './harness/phone.mjs';
import { Relay } from './harness/relay.mjs';
import { Repair } from './harness/repair.mjs';
import { until } from './harness/until.mjs';
import { tokens } from './harness/web.mjs';
import { scenario } from './harness/world.mjs';

const plain = { tweak: tokens, maxAge: 60 };
const signed = async (w) => (await w.journal()).filter((e) => e.type.endsWith('check.signed'));

scenario(
  'no news: late, then not live; a tap that does not get through is over',
  plain,
  async (w) => {
    const job = await new Repair(w).to('working');
    const air = await new Relay(w.plan.main.http.listen).start();
    const phone = await Phone.open(w, { base: `http://${air.address}` });
    await phone.says('LOCKOUT CONFIRMED');
    await phone.offers('Sign: Tools removed');
    await phone.page.waitForFunction(() => !document.querySelector('#bar .next')?.ariaDisabled);
    // The words that the sign goes through, and whether it ever looked safe while the news were old.
    air.hush();
    const hushed = Date.now();
    await phone.page.locator('#bar .next').click();
    await phone.says('LATE: NO NEWS');
    assert.ok(Date.now() - hushed < 8000, 'late within 3 s and some patience');
    assert.equal(await phone.page.locator('.on-safe').count(), 0);
    await phone.page.locator('.say', { hasText: 'Treat the dispenser as live' }).waitFor();
    await phone.shot('late');
    await phone.says('NO CONNECTION: DO NOT RELY ON THIS');
    assert.match(await phone.page.title(), /^NO CONNECTION/);
    assert.match(
      await phone.page.locator('main').evaluate((e) => getComputedStyle(e).filter),
      /grayscale/,
    );
    assert.equal(await phone.page.locator('.ladder, .on-safe').count(), 0);
    await phone.answer('NO ANSWER');
    await phone.shot('dead');
    for (const row of await phone.page.locator('.rows button:not([data-key=older])').all())
      assert.equal(await row.getAttribute('aria-disabled'), 'true');
    // Stopping is tried all the same, and says that it failed.
    await phone.page.locator('#answer button').click();
    await phone.page.locator('#bar .stop').click();
    await phone.page.getByRole('button', { name: 'Spill or leak' }).click();
    await phone.answer('NO ANSWER');
    air.speak();
    await phone.says('LOCKOUT CONFIRMED');
    // Everything asked before this is decided by now, had anything been kept.
    await job.sign('tools-clear');
    await phone.page.locator('#checks .line', { hasText: 'signed by' }).first().waitFor();
    assert.deepEqual(
      (await signed(w)).map((e) => e.data.check),
      ['no-flow', 'tools-clear'],
    );
    assert.equal((await w.journal()).filter((e) => e.type.endsWith('work.stopped')).length, 0);
    phone.sound();
    await phone.close();
    await air.stop();
  },
);

scenario('the daemon is away and comes back: the page is right again', plain, async (w) => {
  const job = await new Repair(w).to('isolated');
  const phone = await Phone.open(w);
  await phone.offers('My lock and tag hang on Point 3-power');
  await w.stopDaemon();
  await phone.says(/^(LATE: NO NEWS|NO CONNECTION)/);
  await w.startDaemon();
  await phone.says('NOT SAFE');
  await job.isolate();
  await phone.next('My lock and tag hang on Point 3-power');
  await phone.next('My lock and tag hang on Point 3-product');
  await phone.next('Sign: Trigger squeezed');
  await phone.says('LOCKOUT CONFIRMED');
  phone.sound();
  await phone.close();
});

scenario('a double tap does one thing, and two phones agree', plain, async (w) => {
  await new Repair(w).to('isolated');
  const one = await Phone.open(w);
  const two = await Phone.open(w);
  await one.offers('My lock and tag hang on Point 3-power');
  await two.offers('My lock and tag hang on Point 3-power');
  await one.page.waitForFunction(() => !document.querySelector('#bar .next')?.ariaDisabled);
  // Two quick taps at one place, whatever stands there by then.
  await one.page.locator('#bar .next').dblclick({ delay: 20 });
  await one.offers('My lock and tag hang on Point 3-product');
  await two.offers('My lock and tag hang on Point 3-product');
  const hung = async () => (await w.journal()).filter((e) => e.type.endsWith('tag.hung'));
  assert.deepEqual(
    (await hung()).map((e) => e.data.point),
    ['3-power'],
  );
  const before = w.seen.log.length;
  await one.next('My lock and tag hang on Point 3-product');
  await two.offers('Sign: Trigger squeezed');
  await until(() => w.seen.log.length > before, 'the news');
  await two.next('Sign: Trigger squeezed');
  await one.says('LOCKOUT CONFIRMED');
  await two.says('LOCKOUT CONFIRMED');
  assert.equal((await hung()).length, 2);
  assert.equal((await signed(w)).length, 1);
  for (const p of [one, two]) {
    p.sound();
    await p.close();
  }
});
