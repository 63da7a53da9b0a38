// The board that is not live says so, and is gray; what is shown is never what may be old.
import assert from 'node:assert/strict';
import { boardScenario, says } from './harness/board.mjs';
import { Repair } from './harness/repair.mjs';

boardScenario('it says when it is not live, and comes back', {}, async (w) => {
  const five = await new Repair(w, { job: 'J-5', position: '5A' }).to('working');
  await w.hw.set('5-product', 'live');
  await five.phase('stopped');
  const page = await w.board('m-1');
  await page.waitForSelector('.alarm button:not([disabled])');
  process.kill(w.daemon.pid, 'SIGSTOP');
  try {
    await page.waitForSelector('body.late .banner-late');
    await page.waitForSelector('body.dead .banner-dead');
    await says(page.locator('.banner'), 'NO CONNECTION: DO NOT RELY ON THIS');
    assert.match(await page.title(), /^No connection/);
    assert.equal(await page.locator('.alarm button:not([disabled])').count(), 0);
    assert.match(
      await page.locator('main').evaluate((e) => getComputedStyle(e).filter),
      /grayscale/,
    );
  } finally {
    process.kill(w.daemon.pid, 'SIGCONT');
  }
  await page.waitForSelector('body.live .alarm button:not([disabled])');
  assert.equal(await page.locator('.banner').count(), 0);
  // A connection that is refused is the same to who looks.
  await w.killDaemon();
  await page.waitForSelector('body.dead .banner-dead');
  await w.startDaemon();
  await page.waitForSelector('body.live .cabinet');
});
