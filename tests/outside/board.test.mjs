// The board in a real browser: what is out, since when, why, and what it waits for; and what a
// manager does there.
import assert from 'node:assert/strict';
import { becomes, boardScenario, outCard, says, tile } from './harness/board.mjs';
import { Repair } from './harness/repair.mjs';

const texts = (locator) => locator.allTextContents();
const positionsOut = (page) =>
  page.locator('.out').evaluateAll((cards) => cards.map((card) => card.dataset.position));

boardScenario('what is out, the oldest first, and why', {}, async (w) => {
  await new Repair(w, { job: 'J-4', position: '4A', leader: 't-105' }).to('working');
  await new Repair(w, { job: 'J-1', procedure: 'spout-and-boot' }).to('tagged');
  const page = await w.board('m-1');
  const { positions } = await w.web.get('/api/juniper');
  const expected = positions
    .filter((p) => p.service === 'out-of-service')
    .sort((a, b) => a.since.localeCompare(b.since) || a.position.localeCompare(b.position))
    .map((p) => p.position);
  assert.ok(expected.includes('3B') && expected[0] === '4A', expected.join());
  assert.deepEqual(await positionsOut(page), expected);
  await says(
    outCard(page, '3A'),
    /OUT OF SERVICE/,
    /job J-1: Replace spout assembly and vapor boot/,
    /not started/,
    /not confirmed/,
    /Person t-104/,
    /Site staff told before locks go on: not signed yet/,
    /since \d\d:\d\d/,
  );
  await says(outCard(page, '3B'), /isolated with job J-1/, /J-1 of another position holds it out/);
  await says(outCard(page, '4A'), /WORK UNDER WAY/, /working/, /confirmed/, /Person t-105/);
  assert.deepEqual(await texts(tile(page, '5A').locator('.word')), ['IN SERVICE']);
  const links = await outCard(page, '3A')
    .locator('a')
    .evaluateAll((all) => all.map((a) => a.getAttribute('href')));
  assert.deepEqual(links, ['/at/juniper/3A', '/record/juniper/J-1']);
  // Its age counts on without anything else changing.
  const age = outCard(page, '4A').locator('.age .counting');
  const first = await age.textContent();
  await page.waitForFunction(
    (was) => document.querySelector('.out[data-position="4A"] .age .counting').textContent !== was,
    first,
  );
  assert.equal(await page.locator('.figure-outs b').textContent(), String(expected.length));
});

boardScenario('changes come by themselves; a manager signs and acknowledges', {}, async (w) => {
  const four = await new Repair(w, { job: 'J-4', position: '4A', leader: 't-105' }).to('working');
  await new Repair(w, { job: 'J-1', procedure: 'spout-and-boot' }).to('tagged');
  const page = await w.board('m-1');
  const viewer = await w.board('v-1');
  const technician = await w.board('t-105');
  await becomes(page, '4A', 'working');
  // What only a manager may sign waits for the manager, and for nobody else.
  const wait = page.locator('.wait[data-check="site-told"]');
  await says(wait, /Site staff told before locks go on/);
  assert.equal(await technician.locator('.wait').count(), 0);
  await wait.locator('button').click();
  const signed = (d) => d.checks.some((c) => c.check === 'site-told' && c.by === 'm-1' && c.pass);
  await w.job('J-1', signed, 'signed by the manager');
  await wait.waitFor({ state: 'detached' });
  // A break is on the board without anybody asking for it.
  await w.hw.set('4-power', 'live');
  await four.phase('stopped', 'broken');
  await becomes(page, '4A', 'stopped');
  await says(outCard(page, '4A'), /WORK STOPPED/, /BROKEN/, /reads LIVE/);
  const alarm = page.locator('.alarm.on-danger');
  await says(alarm, /Lockout broken/, /J-4/, /nobody has acknowledged it/);
  await says(viewer.locator('.alarm'), /Lockout broken/);
  assert.match(await page.title(), /1 alarm/);
  // Who may only look has nothing to press; the crew of that job may acknowledge.
  assert.equal(await viewer.locator('button.press, [data-key="open-job"], .wait').count(), 0);
  assert.equal(await viewer.locator('.out button').count(), 0);
  await says(technician.locator('.alarm button'), /Acknowledge/);
  await alarm.locator('button').click();
  await four.alarm((a) => a.state === 'acknowledged');
  await says(page.locator('.alarm.seen'), /acknowledged, still standing/);
  await says(technician.locator('.alarm.seen'), /still standing/);
  assert.equal(await page.locator('.alarm button').count(), 0);
});

boardScenario('a job is opened, assigned and cancelled; a refusal says why', {}, async (w) => {
  const page = await w.board('m-1');
  await page.click('[data-key="open-job"]');
  const form = page.locator('.dialog form');
  await form.locator('[name="position"]').selectOption('3A');
  await form.locator('[name="procedure"]').selectOption('spout-and-boot');
  await form.locator('[name="job"]').fill('W-77');
  await form.locator('[name="kit_family"]').fill('k9');
  await form.locator('[name="defect"]').fill('Boot torn');
  await form.locator('button[type="submit"]').click();
  await says(form.locator('.said'), /kit \(k9\) must match the nozzle \(k2\)/);
  assert.equal(await form.locator('[name="defect"]').inputValue(), 'Boot torn');
  await form.locator('[name="kit_family"]').fill('k2');
  await form.locator('button[type="submit"]').click();
  await form.waitFor({ state: 'detached' });
  await says(outCard(page, '3A'), /job W-77/, /nobody assigned/);
  await page.click('[data-key="assign 3A"]');
  await form.locator('[name="technician"]').selectOption('t-104');
  await form.locator('button[type="submit"]').click();
  await says(outCard(page, '3A'), /Person t-104/);
  await page.click('[data-key="cancel 3A"]');
  await form.locator('[name="reason"]').fill('Opened by mistake');
  await form.locator('button[type="submit"]').click();
  await becomes(page, '3A', 'in-service');
  const opened = (await w.journal()).find((l) => l.type.endsWith('job.opened'));
  assert.deepEqual(
    [opened.data.job, opened.data.by, opened.data.defect],
    ['W-77', 'm-1', 'Boot torn'],
  );
});

boardScenario('hardware that nobody hears is seen', {}, async (w) => {
  const page = await w.board('v-1');
  const line = (id) => page.locator(`.point[data-point="${id}"]`);
  await says(line('5-product'), /LIVE/, /ago/);
  w.hw.mute('5-product');
  await w.point('5-product', 'unknown', 'stale');
  await says(line('5-product'), /UNKNOWN/, /NOT WATCHED/, /silent for too long/);
  await says(line('4-product'), /no sensor/);
  await w.hw.controller('panel-1', 'offline');
  await w.point('3-power', 'unknown', 'controller-offline');
  await says(line('3-power'), /NOT WATCHED/, /controller is offline/);
  await page.reload();
  await says(page.locator('[data-notice="controller-offline"]'), /panel-1 is offline/);
  await says(page.locator('[data-notice="calibration-ended"]'), /tw-old.*2020-01-31/);
  await says(page.locator('[data-notice="credential-ended"]'), /Person t-106/);
  // Without its hardware's link, what was in service is not known any more.
  await w.broker.stop();
  await becomes(page, '5A', 'unknown');
  await says(tile(page, '5A'), /NOT KNOWN/, /link to the site’s hardware is down/);
});

const second = (plan) => {
  plan.sites.alder = {
    ...structuredClone(plan.sites.juniper),
    site: 'alder',
    title: 'Alder Street',
  };
  for (const person of plan.people) if (person.person === 'v-1') person.sites = ['juniper'];
};

boardScenario('all sites, the one that needs somebody first', { tweak: second }, async (w) => {
  const job = await new Repair(w).to('working');
  await w.hw.set('3-power', 'live');
  await job.phase('stopped');
  const { positions } = await w.web.get('/api/juniper');
  const outs = positions.filter((p) => p.service === 'out-of-service').length;
  const page = await w.board('m-1', { path: '/board' });
  const first = page.locator('.site-card').first();
  await says(first, /Juniper Crossing/, /1 alarm/, /1 stopped/);
  await says(first, `${outs} out of service of 5 positions`);
  await says(first, /longest out/, /as of \d+ s ago/);
  await says(page.locator('.site-card').nth(1), /Alder Street/, /5 out of service of 5/);
  await page.waitForFunction(() => document.querySelectorAll('.site-card.live').length === 2);
  await first.locator('a').click();
  await page.waitForURL('**/board/juniper');
  await page.waitForSelector('body.live .alarm');
  assert.equal(await page.locator('a[href="/board"]').count(), 1);
  // Who has one site comes to it at once, and to no other.
  const viewer = await w.board('v-1', { path: '/board' });
  await viewer.waitForURL('**/board/juniper');
  assert.equal((await viewer.goto('/board/alder')).status(), 403);
});
