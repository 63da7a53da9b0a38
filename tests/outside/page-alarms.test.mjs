// Alarms on the phone page: one that stands when the page is opened, those of the site beside those
// of the job, a link that is down, a stop from far back; and that no tap is lost while it changes.
import assert from 'node:assert/strict';
import { freePort } from './harness/broker.mjs';
import { Phone } from './harness/phone.mjs';
import { Repair } from './harness/repair.mjs';
import { until } from './harness/until.mjs';
import { tokens } from './harness/web.mjs';
import { scenario } from './harness/world.mjs';

const plain = { tweak: tokens, maxAge: 60 };
const close = async (...phones) => {
  for (const phone of phones) {
    phone.sound();
    await phone.close();
  }
};
const ofType = async (w, type) => (await w.journal()).filter((e) => e.type === `forelock.${type}`);
const say = (phone, text) => phone.page.locator('.say', { hasText: text }).waitFor();

scenario('a page that is opened while the alarm stands', plain, async (w) => {
  const job = await new Repair(w).to('working');
  await w.hw.set('3-power', 'live');
  await job.phase('stopped', 'broken');
  const leader = await Phone.open(w, { locale: 'es-MX' });
  await leader.says('PARE EL TRABAJO');
  await leader.page.locator('.urgent .reason', { hasText: 'Point 3-power' }).waitFor();
  await leader.page.getByText('El sonido está bloqueado').waitFor();
  assert.equal(await leader.page.locator('#strip a').count(), 0, 'nothing leads away from it');
  await leader.shot('opened-on-stop');
  await leader.next('RECONOCER');
  await leader.page.locator('.urgent').waitFor({ state: 'detached' });
  await leader.says('PARE EL TRABAJO');
  await leader.shot('stop-acknowledged-es');
  await close(leader);
});

const away = {
  maxAge: 60,
  tweak(plan, w) {
    tokens(plan);
    plan.files = { 'tracker.secret': `whsec_${Buffer.alloc(32, 7).toString('base64')}\n` };
    plan.main.webhooks = [
      {
        webhook: 'tracker',
        url: `http://127.0.0.1:${w.nobody}/hook`,
        secret_file: 'tracker.secret',
        alarm_after_s: 1,
      },
    ];
  },
  before: async (w) => (w.nobody = await freePort()),
};

scenario('an alarm of the site does not stand in the way of the job’s', away, async (w) => {
  const job = await new Repair(w).to('working');
  const leader = await Phone.open(w);
  await leader.says('LOCKOUT CONFIRMED');
  const alarm = await w.seen.alarm('webhook-down', () => true);
  assert.equal(alarm.why, null);
  await leader.page.locator('#alarms', { hasText: 'The tracker cannot be reached' }).waitFor();
  assert.equal(await leader.sign(), 'LOCKOUT CONFIRMED');
  await leader.offers('Sign: Tools removed');
  await leader.shot('webhook-down', true);
  await w.hw.set('3-power', 'live');
  await leader.says('STOP WORK');
  await leader.next('ACKNOWLEDGE');
  await w.seen.alarm('lockout-broken', (a) => a.state === 'acknowledged');
  assert.equal(w.seen.alarms('webhook-down')[0].state, 'unacknowledged');
  await leader.waits('Waiting for Point 3-power to read isolated');
  const manager = await Phone.open(w, { person: 'm-1' });
  await manager.row('alarms', 'ACKNOWLEDGE').click();
  await w.seen.alarm('webhook-down', (a) => a.state === 'acknowledged');
  await job.phase('stopped', 'broken');
  await close(leader, manager);
});

const cut = { ...plain, proxy: true };

scenario('the link is down: not safe, whatever was heard last', cut, async (w) => {
  await new Repair(w).to('confirmed');
  const leader = await Phone.open(w);
  const other = await Phone.open(w, { position: '4A', person: 'v-1' });
  await leader.says('LOCKOUT CONFIRMED');
  await other.says('IN SERVICE');
  w.proxy.block('live');
  for (const phone of [leader, other]) await phone.says('NOT SAFE');
  await other.page.locator('#alarms', { hasText: 'hardware is down' }).waitFor();
  await say(other, 'The link to the site’s hardware is down: nothing is known.');
  assert.equal(await leader.page.locator('.on-safe').count(), 0);
  await say(leader, 'The link to the site’s hardware is down: nothing is known.');
  await leader.waits('Waiting for the link');
  await leader.shot('link-down');
  await other.shot('link-down-viewer');
  w.proxy.allow('live');
  await leader.says('LOCKOUT CONFIRMED');
  await other.says('IN SERVICE');
  await leader.offers('START WORK');
  await close(leader, other);
});

scenario('who stopped the work is found, however far back', plain, async (w) => {
  const job = await new Repair(w).to('working');
  await job.ask('stop-work', { pause: true, reason: 'a hose was nicked' });
  await job.phase('stopped');
  for (let i = 0; i < 30; i++)
    await Promise.all(Array.from({ length: 30 }, () => job.sign('tools-clear')));
  const leader = await Phone.open(w);
  await leader.says('STOP WORK');
  await leader.page
    .locator('.reason', { hasText: 'Paused by Person t-104: a hose was nicked' })
    .waitFor();
  assert.ok((await ofType(w, 'check.signed')).length > 900);
  await close(leader);
});

scenario('a called stop is answered for by who may, and in words', plain, async (w) => {
  const job = await new Repair(w).to('working');
  const leader = await Phone.open(w);
  await leader.says('LOCKOUT CONFIRMED');
  await w.ok('v-1', 'stop-work', { job: 'J-1', reason: 'it smells of fuel' });
  await leader.says('STOP WORK');
  const said = 'Person v-1 called a stop: it smells of fuel.';
  await leader.page.locator('.urgent .reason', { hasText: said }).waitFor();
  await leader.next('I HAVE SEEN IT');
  await leader.waits('A manager or supervisor acknowledges the alarm');
  await leader.shot('called-stop');
  const manager = await Phone.open(w, { person: 'm-1', locale: 'es-MX' });
  await manager.next('RECONOCER');
  await manager.fill({ 'Qué se hizo': 'Ventilado, 0 % LEL' });
  await w.seen.event('alarm.acknowledged', {
    where: (d) => d.kind === 'stop-called' && d.note === 'Ventilado, 0 % LEL',
  });
  await w.seen.wait(() => w.seen.alarms('stop-called').length === 0, 'the alarm to go');
  await job.phase('stopped', 'unconfirmed');
  await leader.page.locator('.urgent').waitFor({ state: 'detached' });
  await close(leader, manager);
});

scenario('a tap on one cause does not take the next one', plain, async (w) => {
  const job = await new Repair(w).to('working');
  const leader = await Phone.open(w);
  await leader.says('LOCKOUT CONFIRMED');
  await w.hw.set('3-product', 'live');
  await leader.says('STOP WORK');
  // The breaker is live as well before the tap has come to the daemon.
  await leader.page.route('**/request/acknowledge-alarm', async (route) => {
    await w.hw.set('3-power', 'live');
    await job.alarm((a) => a.count === 2);
    await route.continue();
  });
  await leader.next('ACKNOWLEDGE');
  await leader.answer('raised again: look at it once more');
  await job.alarm((a) => a.count === 2 && a.state === 'unacknowledged');
  await leader.page.unroute('**/request/acknowledge-alarm');
  await leader.next('ACKNOWLEDGE');
  await job.alarm((a) => a.count === 2 && a.state === 'acknowledged');
  await close(leader);
});

// A finger down on a button, something that changes the page, and the finger off again.
async function tapWhile(phone, button, change) {
  await button.and(phone.page.locator(':not([aria-disabled])')).waitFor();
  // In one step of the page: between two, a document may have come and the button be another element.
  const point = await button.evaluate((e) => {
    e.scrollIntoView({ block: 'nearest' });
    const box = e.getBoundingClientRect();
    return { x: box.x + box.width / 2, y: box.y + box.height / 2 };
  });
  const cdp = await phone.page.context().newCDPSession(phone.page);
  const touch = (type, touchPoints) => cdp.send('Input.dispatchTouchEvent', { type, touchPoints });
  await touch('touchStart', [point]);
  await change();
  await touch('touchEnd', []);
}

scenario('a tap counts although the page changes under the finger', plain, async (w) => {
  const job = await new Repair(w).to('working');
  await w.ok('t-105', 'join-job', { job: 'J-1' });
  const leader = await Phone.open(w);
  await leader.says('LOCKOUT CONFIRMED');
  const button = leader.row('checks', 'Sign: Tools removed');
  await button.waitFor();
  // A lock more is a line more above what is pressed: all below moves down.
  const tags = leader.page.locator('#points .tags');
  const lines = () => tags.evaluateAll((all) => all.reduce((sum, e) => sum + e.offsetHeight, 0));
  const before = await lines();
  await tapWhile(leader, button, () => w.ok('t-105', 'hang-tag', { job: 'J-1', point: '3-power' }));
  await job.doc((d) => d.checks.find((c) => c.check === 'tools-clear').at, 'the tap to count');
  await tags.filter({ hasText: 'Person t-105' }).first().waitFor();
  assert.ok((await lines()) > before);
  // The same with a mouse, held until the news are there, on the bar.
  await leader.offers('WORK IS FINISHED');
  await leader.page.waitForFunction(() => !document.querySelector('#bar .next')?.ariaDisabled);
  const box = await leader.page.locator('#bar .next').boundingBox();
  await leader.page.mouse.move(box.x + box.width / 2, box.y + box.height / 2);
  await leader.page.mouse.down();
  await w.ok('t-105', 'hang-tag', { job: 'J-1', point: '3-product' });
  await leader.page.mouse.up();
  await job.phase('restoring');
  const signed = (await ofType(w, 'check.signed')).filter((e) => e.data.check === 'tools-clear');
  assert.equal(signed.length, 1);
  await close(leader);
});

scenario('the first touch of a page that rings silences it', plain, async (w) => {
  const job = await new Repair(w).to('working');
  const leader = await Phone.open(w);
  await leader.says('LOCKOUT CONFIRMED');
  await job.ask('stop-work', { pause: true }); // elsewhere, and without an alarm
  await leader.page.locator('.urgent').waitFor();
  const silence = leader.page.getByRole('button', { name: 'Silence' });
  await leader.page.getByText('Sound is blocked').waitFor();
  await leader.page.locator('.urgent .reason + p').waitFor(); // when, and above the button
  // Nothing has been touched before: the touch unlocks the sound, and is the answer as well.
  await tapWhile(leader, silence, () => job.sign('tools-clear'));
  await until(
    async () => (await leader.page.locator('.urgent').count()) === 0,
    'one tap to be enough',
  );
  await leader.says('STOP WORK');
  await close(leader);
});

// What a touch screen does: the finger is off, and the click comes somewhat later, to what is there
// then. The page is so tall that nothing is scrolled, and a line more moves all below it.
const late = (page, part) =>
  page.evaluate(async (what) => {
    const button = [...document.querySelectorAll('#checks button')].find((b) =>
      b.textContent.startsWith('Sign: Tools'),
    );
    const { x, y, width, height } = button.getBoundingClientRect();
    const [clientX, clientY] = [x + width / 2, y + height / 2];
    button.dispatchEvent(new PointerEvent(what, { bubbles: true, clientX, clientY }));
    if (what === 'pointerdown') return;
    await new Promise((resolve) => setTimeout(resolve, 150));
    document.elementFromPoint(clientX, clientY).click();
  }, part);

scenario('a click that comes late after the finger finds its button', plain, async (w) => {
  const job = await new Repair(w).to('working');
  await w.ok('t-105', 'join-job', { job: 'J-1' });
  const leader = await Phone.open(w, { size: { width: 360, height: 2400 }, hasTouch: true });
  await leader.says('LOCKOUT CONFIRMED');
  const button = leader.row('checks', 'Sign: Tools removed');
  await button.and(leader.page.locator(':not([aria-disabled])')).waitFor();
  await late(leader.page, 'pointerdown');
  for (const point of ['3-power', '3-product'])
    await w.ok('t-105', 'hang-tag', { job: 'J-1', point });
  await late(leader.page, 'pointerup');
  await job.doc((d) => d.checks.find((c) => c.check === 'tools-clear').at, 'the click to count');
  await close(leader);
});
