// The phone page in the hands of a person: what its sign says, what its bar offers, taps and forms.
import assert from 'node:assert/strict';
import { after } from 'node:test';
import { openBrowser, shot } from './browser.mjs';
import { until } from './until.mjs';
import { tokenOf } from './web.mjs';

export const SMALL = { width: 360, height: 640 };
export const DESK = { width: 1280, height: 800 };

// One browser serves a file of tests.
let browser = null;
after(() => browser?.then((b) => b.close()));

export class Phone {
  // The page of a position as a person sees it. More options are those of a browser's context.
  static async open(w, { person = 't-104', position = '3A', size = SMALL, ...more } = {}) {
    browser ??= openBrowser();
    const phone = new Phone();
    const base = `http://${w.plan.main.http.listen}`;
    const touch = size === SMALL ? { hasTouch: true, isMobile: true } : {};
    const options = { base, ...size, ...touch, ...more };
    phone.page = await (await browser).page(tokenOf(person), options);
    phone.page.setDefaultTimeout(20000);
    phone.missing = [];
    phone.page.on('response', (r) => {
      if (r.status() >= 400 && r.url().includes('/static/')) phone.missing.push(r.url());
    });
    await phone.page.goto(`/at/juniper/${position}`, { waitUntil: 'domcontentloaded' });
    return phone;
  }

  shot(name, whole = false) {
    return shot(this.page, `at-${name}`, { whole });
  }

  close() {
    return this.page.context().close();
  }

  sign() {
    return this.page.locator('#verdict h1').innerText();
  }

  // Waits until the sign says this.
  async says(word, timeout = 15000) {
    const pattern = word instanceof RegExp ? word : new RegExp(`^${word}`);
    let last = '';
    await until(
      async () => pattern.test((last = await this.sign().catch(() => ''))),
      () => `the sign to say ${word}; it says ${last}`,
      { timeout },
    );
  }

  async live() {
    await this.page.waitForSelector('body.live');
    await this.page.waitForSelector('#foot');
  }

  // Waits until the bar offers this.
  offers(text) {
    return this.page.locator('#bar .next', { hasText: text }).waitFor();
  }

  // Waits until the bar asks for patience with these words.
  waits(text) {
    return this.page.locator('#bar .wait', { hasText: text }).waitFor();
  }

  // Taps what the bar offers, which has to be this.
  async next(text) {
    await this.offers(text);
    await this.page.locator('#bar .next', { hasText: text }).click();
  }

  // Fills in the form that is open: {label: value}; true and false press PASS and FAIL.
  async fill(values) {
    const form = this.page.locator('dialog[open]');
    await form.waitFor();
    for (const [label, value] of Object.entries(values)) {
      if (typeof value === 'boolean') {
        await form.getByText(value ? 'PASS' : 'FAIL').click();
        continue;
      }
      const field = form.getByLabel(label);
      const kind = await field.evaluate((e) => e.tagName);
      if (kind === 'SELECT') await field.selectOption(value);
      else await field.fill(value);
    }
    await form.locator('button[type=submit]').click();
    await form.waitFor({ state: 'hidden' });
  }

  row(section, text) {
    return this.page.locator(`#${section} button`, { hasText: text });
  }

  answer(text) {
    return this.page.locator('#answer', { hasText: text }).waitFor();
  }

  sound() {
    assert.deepEqual(this.page.wrong, [], 'what went wrong in the page');
    assert.deepEqual(this.missing, [], 'files that are not there');
  }
}
