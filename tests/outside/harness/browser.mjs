// Real Chromium, as a person's phone or a wall display: pages with their own cookie, kept to this
// machine. Ended with its pages by `close`.
import { mkdirSync, mkdtempSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { chromium } from 'playwright-core';
import { PATIENCE } from './until.mjs';

const ARGS = [
  '--headless',
  '--no-sandbox',
  '--disable-gpu',
  '--disable-quic',
  '--no-first-run',
  '--disable-background-networking',
  '--disable-component-update',
  '--disable-sync',
];

class Browser {
  constructor(browser) {
    this.browser = browser;
  }

  // A page with that token's cookie; `base` is the daemon's address. What a page throws, or reports
  // against its content security policy, is gathered in `page.wrong`, and so is a text without a value.
  async page(token, { base, width = 360, height = 640, lang = 'en', ...more } = {}) {
    const context = await this.browser.newContext({
      baseURL: base,
      viewport: { width, height },
      locale: lang,
      ...more,
    });
    if (token)
      await context.addCookies([{ name: 'forelock', value: token, url: base, httpOnly: true }]);
    const page = await context.newPage();
    page.setDefaultTimeout(PATIENCE * 2);
    page.wrong = [];
    page.on('pageerror', (error) => page.wrong.push(String(error)));
    page.on('console', (message) => {
      if (message.type() === 'error' && /Content Security|Uncaught|for the words/.test(message.text()))
        page.wrong.push(message.text());
    });
    return page;
  }

  close() {
    return this.browser.close();
  }
}

export async function openBrowser() {
  const executablePath = process.env.CHROMIUM ?? '/usr/bin/chromium';
  return new Browser(await chromium.launch({ executablePath, args: ARGS, timeout: 60_000 }));
}

let folder = null;

// A picture of the whole page (or what is in view): its file, in FORELOCK_SHOTS if that is set.
export async function shot(page, name, { whole = true } = {}) {
  folder ??= process.env.FORELOCK_SHOTS ?? mkdtempSync(join(tmpdir(), 'forelock-shots-'));
  mkdirSync(folder, { recursive: true });
  const path = join(folder, `${name}.png`);
  await page.screenshot({ path, fullPage: whole });
  return path;
}
