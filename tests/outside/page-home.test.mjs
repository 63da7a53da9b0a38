// From an enrolled phone to the cabinet and back by tapping, and the page kept on the home screen.
import assert from 'node:assert/strict';
import { after } from 'node:test';
import { sideways, smallTargets } from './harness/access.mjs';
import { openBrowser, shot } from './harness/browser.mjs';
import { SMALL } from './harness/phone.mjs';
import { tokenOf, tokens } from './harness/web.mjs';
import { scenario } from './harness/world.mjs';

let browser = null;
after(() => browser?.then((b) => b.close()));

async function phoneOf(w, person = 't-104', more = {}) {
  browser ??= openBrowser();
  const base = `http://${w.plan.main.http.listen}`;
  const options = { base, ...SMALL, hasTouch: true, isMobile: true, ...more };
  const page = await (await browser).page(person && tokenOf(person), options);
  page.setDefaultTimeout(20000);
  return page;
}

const path = (page) => new URL(page.url()).pathname;
const plain = { tweak: tokens, maxAge: 20 };

scenario('from the front door to a cabinet and back', plain, async (w) => {
  const page = await phoneOf(w);
  await page.goto('/');
  assert.match(path(page), /^\/board/);
  const site = page.locator('a[href="/board/juniper"]').first();
  await page.locator('a[href="/board/juniper"], a[href="/at/juniper/3A"]').first().waitFor();
  await shot(page, 'home-board');
  if (await site.count()) await site.click();
  const cabinet = page.locator('a[href="/at/juniper/3A"]').first();
  await cabinet.waitFor();
  await shot(page, 'home-site');
  await cabinet.click();
  await page.locator('#verdict h1', { hasText: 'IN SERVICE' }).waitFor();
  assert.equal(path(page), '/at/juniper/3A');
  // The way back is in the strip on top, where it stays.
  const back = page.getByRole('link', { name: /3A.*All positions/ });
  await back.waitFor();
  await page.locator('#foot').evaluate((e) => e.scrollIntoView({ block: 'nearest' }));
  assert.deepEqual(await smallTargets(page), []);
  assert.ok((await sideways(page)) <= 0);
  await page.locator('#strip a').click();
  await page.locator('a[href="/at/juniper/3A"]').first().waitFor();
  assert.equal(path(page), '/board/juniper');
  assert.deepEqual(page.wrong, []);
  await page.context().close();
});

scenario('a phone can keep the page on its home screen', plain, async (w) => {
  for (const [person, at] of [
    ['t-104', '/at/juniper/3A'],
    ['t-104', '/board/juniper'],
    [null, '/enroll'],
  ]) {
    const page = await phoneOf(w, person);
    await page.goto(at, { waitUntil: 'load' });
    const cdp = await page.context().newCDPSession(page);
    const { url, data, errors } = await cdp.send('Page.getAppManifest');
    assert.deepEqual(errors, [], at);
    assert.match(url, /\/static\/forelock\.webmanifest$/);
    const { start_url: start, display, icons } = JSON.parse(data);
    assert.deepEqual([start, display], ['/board', 'standalone']);
    // Whatever keeps it is not for want of a manifest or an icon that can be used.
    const { installabilityErrors } = await cdp.send('Page.getInstallabilityErrors');
    const wrong = installabilityErrors.map((e) => e.errorId).filter((e) => /manifest|icon/.test(e));
    assert.deepEqual(wrong, [], at);
    for (const { src, type } of icons) {
      const answer = await page.request.get(src);
      assert.equal(answer.status(), 200, src);
      assert.equal(answer.headers()['content-type'], type, src);
    }
    const manifest = await page.request.get('/static/forelock.webmanifest');
    assert.match(manifest.headers()['content-type'], /^application\/manifest\+json/);
    assert.deepEqual(page.wrong, []);
    await page.context().close();
  }
});
