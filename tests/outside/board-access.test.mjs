// Whether everybody can use the board: an accessibility checker that is not ours, both languages, a
// phone's width, a wall's, reduced motion, and a page that says when it is not live.
import assert from 'node:assert/strict';
import { sideways, smallTargets, violations } from './harness/access.mjs';
import { boardScenario, says } from './harness/board.mjs';
import { Repair } from './harness/repair.mjs';

// What is pressed; links within a line of text are not held to the size.
const PRESSED = 'button, .button, select, input, summary, .tile a, .site-card > a';

async function sound(page, what) {
  assert.deepEqual(await violations(page), [], what);
  assert.deepEqual(await smallTargets(page, { pressed: PRESSED }), [], what);
  assert.equal(await sideways(page), 0, `${what} scrolls sideways`);
}

// A site with all that a board can show: work, a stop, an alarm, a wait, something silent.
async function busy(w) {
  await new Repair(w, { job: 'J-1', procedure: 'spout-and-boot' }).to('tagged');
  await new Repair(w, { job: 'J-4', position: '4A', leader: 't-105' }).to('working');
  const five = await new Repair(w, { job: 'J-5', position: '5A', leader: 't-105' }).to('working');
  await w.hw.set('5-product', 'live');
  await five.phase('stopped');
  w.hw.mute('3-vapor');
  await w.point('3-vapor', 'unknown', 'stale');
}

const second = (plan) => {
  plan.sites.alder = {
    ...structuredClone(plan.sites.juniper),
    site: 'alder',
    title: 'Alder Street',
  };
};

boardScenario('nothing is found at any size, in either language', { tweak: second }, async (w) => {
  await busy(w);
  const sizes = [
    ['es', 360, 640],
    ['en', 1920, 1080],
  ];
  for (const [lang, width, height] of sizes) {
    const page = await w.board('m-1', { width, height, lang });
    await page.waitForSelector('.band');
    await page.click('summary');
    await page.waitForSelector('.wait');
    assert.equal(await page.getAttribute('html', 'lang'), lang);
    await sound(page, `${lang} ${width}`);
    if (width > 360) continue;
    await page.click('[data-key="open-job"]');
    await sound(page, `${lang} ${width} dialog`);
  }
  const sites = await w.board('m-1', { path: '/board', width: 360, height: 640, lang: 'es' });
  await says(sites.locator('.site-card'), /Juniper Crossing/, /fuera de servicio/);
  await sound(sites, 'all sites');
});

boardScenario('Spanish is Spanish, and can be chosen', {}, async (w) => {
  await busy(w);
  const page = await w.board('m-1');
  await says(page.locator('h2'), 'Out of service', 'Forecourt');
  await page.click('[data-key="language-es"]');
  await says(page.locator('h2'), 'Fuera de servicio', 'Islas', 'Le espera a usted');
  await says(page.locator('.alarm'), /Bloqueo perdido/, /nadie la ha reconocido/);
  await says(page.locator('.out'), /TRABAJO PARADO/, /está ENERGIZADO: aíslelo/);
  await page.reload();
  await page.waitForSelector('body.live .cabinet h3');
  await says(page.locator('h2'), 'Fuera de servicio');
  // What is still English is what the site's own configuration says.
  const text = await page.locator('body').innerText();
  assert.doesNotMatch(text, /\b(since|waits|lockout|heard|stopped|alarms?|reads|not signed)\b/i);
});

boardScenario(
  'the states of eight positions on one screen of a wall',
  { tweak: eight },
  async (w) => {
    await busy(w);
    const page = await w.board('m-1', { width: 1920, height: 1080 });
    await page.waitForSelector('.alarm button:enabled'); // all that it reads is there
    const boxes = await page
      .locator('.tile')
      .evaluateAll((all) => all.map((tile) => tile.getBoundingClientRect().bottom));
    assert.equal(boxes.length, 8);
    assert.ok(Math.max(...boxes) <= 1080, `the last ends at ${Math.max(...boxes)}`);
    const size = (selector) =>
      page
        .locator(selector)
        .first()
        .evaluate((e) => parseFloat(getComputedStyle(e).fontSize));
    assert.ok((await size('.tile .id')) >= 36 && (await size('.tile .word')) >= 20);
    await page.emulateMedia({ reducedMotion: 'reduce' });
    assert.equal(await page.evaluate(() => document.getAnimations().length), 0);
  },
);

function eight(plan) {
  const [first] = plan.sites.juniper.positions;
  const add = (position, dispenser) =>
    plan.sites.juniper.positions.push({ ...first, position, dispenser, title: position });
  add('4B', '4');
  add('6A', '6');
  add('6B', '6');
  plan.sites.juniper.points.find((p) => p.point === '4-power').isolates.push('4B');
  plan.sites.juniper.points.push({
    point: '6-power',
    energy: 'electrical',
    kind: 'breaker',
    title: 'Breaker 6',
    isolates: ['6A', '6B'],
  });
}
