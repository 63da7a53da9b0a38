// A board as a manager looks at it: a world with tokens, a browser, and what is read off the page.
import { openBrowser } from './browser.mjs';
import { tokenOf, tokens, Web } from './web.mjs';
import { scenario } from './world.mjs';

// Declares a scenario with a browser; `body` gets the world with `w.web` and `w.board(person, …)`.
export function boardScenario(name, { tweak, ...options }, body) {
  const all = (plan, w) => {
    tokens(plan);
    tweak?.(plan, w);
  };
  scenario(name, { tweak: all, ...options }, async (w, t) => {
    const browser = await openBrowser();
    w.web = new Web(w);
    w.base = `http://${w.web.host}:${w.web.port}`;
    const pages = [];
    w.board = async (person, { path = '/board/juniper', ...size } = {}) => {
      const page = await browser.page(tokenOf(person), {
        base: w.base,
        width: 1280,
        height: 800,
        ...size,
      });
      pages.push(page);
      await page.goto(path);
      if (path.startsWith('/board/')) await page.waitForSelector('body.live .cabinet h3');
      return page;
    };
    try {
      await body(w, t);
      const wrong = pages.flatMap((page) => page.wrong);
      if (wrong.length) throw new Error(`a page reported: ${wrong.join('\n')}`);
    } finally {
      await browser.close();
    }
  });
}

export const outCard = (page, position) => page.locator(`.out[data-position="${position}"]`);
export const tile = (page, position) => page.locator(`.tile[data-position="${position}"]`);

// Waits until the text of what is found has all of these.
export async function says(locator, ...patterns) {
  for (const pattern of patterns)
    await locator.filter({ hasText: pattern }).first().waitFor({ state: 'attached' });
}

// Waits until a position's tile is of that kind.
export const becomes = (page, position, kind) =>
  page.waitForSelector(`.tile[data-position="${position}"][data-kind="${kind}"]`);
