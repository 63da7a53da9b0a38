// A point without a sensor on the phone page: people look and say so, and anybody may stop the work.
import { Phone } from './harness/phone.mjs';
import { Repair } from './harness/repair.mjs';
import { tokens } from './harness/web.mjs';
import { scenario } from './harness/world.mjs';

const plain = { tweak: tokens, maxAge: 20 };

scenario('a point without a sensor: a person looks, and says so', plain, async (w) => {
  const job = await new Repair(w, { position: '4A' }).to('open');
  await w.hw.set('4-power', 'isolated');
  await w.point('4-power', 'isolated', 'fresh');
  const leader = await Phone.open(w, { position: '4A' });
  const viewer = await Phone.open(w, { position: '4A', person: 'v-1' });
  await viewer.waits('4-product: one of the crew must look');
  await leader.offers('I looked: Point 4-product is ISOLATED');
  await leader.shot('witness');
  await leader.next('I looked: Point 4-product is ISOLATED');
  await leader.page.locator('#points', { hasText: 'said by a person who looked' }).waitFor();
  await leader.next('My lock and tag hang on Point 4-power');
  await leader.next('My lock and tag hang on Point 4-product');
  await leader.next('Sign: Trigger squeezed');
  await leader.next('START WORK');
  await leader.says('LOCKOUT CONFIRMED');
  // The word may be renewed while it stands, and the row says for how long it is good.
  await leader.page.locator('#points', { hasText: /said .* ago, good for \d/ }).waitFor();
  await leader.row('points', 'I looked again: Point 4-product is ISOLATED').click();
  await w.seen.wait(() => w.seen.events('point.witnessed').length === 2, 'the word to be renewed');
  await leader.says('LOCKOUT CONFIRMED');
  // Anybody may say that it is live, and the work stops at once.
  await viewer.row('points', 'I looked: Point 4-product is LIVE').click();
  await leader.says('STOP WORK');
  await leader.page.locator('.reason', { hasText: 'Point 4-product reads LIVE.' }).waitFor();
  await leader.next('ACKNOWLEDGE');
  await leader.next('I looked: Point 4-product is ISOLATED');
  await leader.next('My lock and tag hang on Point 4-product');
  await leader.next('Sign: Trigger squeezed');
  await leader.next('START WORK AGAIN');
  await leader.next('Sign: Tools removed');
  await leader.next('WORK IS FINISHED');
  await leader.next('My lock is off Point 4-power');
  await leader.next('My lock is off Point 4-product');
  await leader.next('BEGIN TEST');
  await w.hw.set('4-power', 'live');
  await leader.next('I looked: Point 4-product is LIVE');
  await leader.next('Record test: leak');
  await leader.fill({ verdict: true });
  await leader.next('RETURN TO SERVICE');
  await leader.says('BACK IN SERVICE');
  await job.phase('returned');
  for (const phone of [leader, viewer]) {
    phone.sound();
    await phone.close();
  }
});
