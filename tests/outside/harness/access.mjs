// What makes a page usable by everybody: checked in the browser, on the page as it stands.
import { readFileSync } from 'node:fs';
import { createRequire } from 'node:module';

const AXE = readFileSync(createRequire(import.meta.url).resolve('axe-core/axe.min.js'), 'utf8');
const TAGS = ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa', 'wcag2aaa', 'best-practice'];

// The violations that axe-core finds, contrast of 7:1 among the rules. The checker is evaluated by the
// browser's own tools, past the page's policy, which stays as it is.
export async function violations(page, { disabled = [] } = {}) {
  await page.evaluate(AXE);
  return page.evaluate(
    async ({ off, tags }) => {
      const rules = { 'color-contrast-enhanced': { enabled: true } };
      for (const rule of off) rules[rule] = { enabled: false };
      const run = { resultTypes: ['violations'], runOnly: tags, rules };
      const { violations: found } = await globalThis.axe.run(document, run);
      return found.map((v) => ({
        id: v.id,
        nodes: v.nodes.map((n) => `${n.target.join(' ')}: ${n.failureSummary}`),
      }));
    },
    { off: disabled, tags: TAGS },
  );
}

const PRESSED =
  'button, a[href], input:not([type=hidden]), select, textarea, summary, [role=button]';

// Everything that can be pressed (a selector), is in sight, and is smaller than 48 px either way.
export const smallTargets = (page, { pressed = PRESSED, least = 48 } = {}) =>
  page.evaluate(
    ({ what, min }) =>
      [...document.querySelectorAll(what)]
        .map((e) => ({ e, box: (e.closest('label') ?? e).getBoundingClientRect() }))
        .filter(({ box }) => box.width > 0 && box.height > 0)
        .filter(({ box }) => box.width < min - 0.5 || box.height < min - 0.5)
        .map(({ e, box }) => `${e.outerHTML.slice(0, 120)} ${box.width}x${box.height}`),
    { what: pressed, min: least },
  );

// How far the page can be scrolled sideways, which should be nowhere.
export const sideways = (page) =>
  page.evaluate(() => {
    const { scrollWidth, clientWidth } = document.documentElement;
    return scrollWidth - clientWidth;
  });
