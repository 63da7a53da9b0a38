// The phone page for everybody: a screen reader, gloves, the sun, less motion, 360 px, two languages.
import assert from 'node:assert/strict';
import { execFileSync } from 'node:child_process';
import test from 'node:test';
import { readFileSync, readdirSync } from 'node:fs';
import { join } from 'node:path';
import { sideways, smallTargets, violations } from './harness/access.mjs';
import { PAGES, flat, load } from './harness/pages.mjs';
import { Phone } from './harness/phone.mjs';
import { Repair } from './harness/repair.mjs';
import { tokens } from './harness/web.mjs';
import { FACTS_JSON, scenario } from './harness/world.mjs';

const dir = flat('common', 'at');

async function words() {
  for (const name of readdirSync(dir).filter((n) => n.endsWith('-words.js'))) await load(dir, name);
  return load(dir, 'words.js');
}

// Every text that sources name in full as a key: t('…'), label: 'do.…', say: 'say.…'.
function keysUsed() {
  const used = new Set();
  for (const name of readdirSync(dir).filter((n) => n.endsWith('.js') && !n.endsWith('-words.js')))
    for (const [, key] of readFileSync(join(dir, name), 'utf8').matchAll(
      /'([a-z]+\.[a-z][a-z.-]*)'/g,
    ))
      if (!key.endsWith('.js') && !key.endsWith('.')) used.add(key);
  return used;
}

test('both languages have the same words, and every word that is used', async () => {
  const { keysOf } = await words();
  assert.ok(keysOf('en').length > 200);
  assert.deepEqual(keysOf('es'), keysOf('en'));
  const known = new Set(keysOf('en'));
  const families = new Set(keysOf('en').map((k) => k.split('.')[0]));
  const used = [...keysUsed()].filter((k) => families.has(k.split('.')[0]));
  assert.ok(used.length > 80);
  assert.deepEqual(
    used.filter((k) => !known.has(k)),
    [],
  );
});

test('a word for every kind, state and trust that the daemon has', async () => {
  const { keysOf } = await words();
  const known = new Set(keysOf('en'));
  const source = readFileSync(join(PAGES, '../model/words.c'), 'utf8');
  const table = (name) => {
    const body = source.match(new RegExp(`${name}\\[[^=]*= \\{([^;]*)\\};`))[1];
    return [...body.matchAll(/"([^"]+)"/g)].map(([, word]) => word);
  };
  const published = JSON.parse(execFileSync(FACTS_JSON)).filter((row) => row.published);
  assert.deepEqual(
    published.filter(({ fact }) => !known.has(`event.${fact}`)),
    [],
  );
  for (const [list, family] of [
    ['alarm_kind_names', 'alarm'],
    ['phase_names', 'phase'],
    ['point_state_names', 'point'],
    ['trust_names', 'trust'],
  ])
    assert.deepEqual(
      table(list).filter((w) => !known.has(`${family}.${w}`)),
      [],
      family,
    );
});

// Texts of the page that the English table has and the Spanish one has not.
async function english(page) {
  const { keysOf, setLanguage, t } = await words();
  const table = (lang) => (setLanguage(lang), keysOf('en').map((k) => t(k)));
  const spanish = new Set(table('es'));
  const only = table('en').filter((x) => !spanish.has(x) && !x.includes('{'));
  const seen = await page.evaluate(() => {
    const walk = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
    const out = [];
    while (walk.nextNode()) out.push(walk.currentNode.textContent.trim());
    return out;
  });
  return seen.filter((x) => only.includes(x) && x !== 'English');
}

// Words of the sign and of the bar that do not fit in one line, where a letter would stand alone.
const broken = (page) =>
  page.evaluate(() => {
    const out = [];
    for (const e of document.querySelectorAll('#verdict h1, #bar .big')) {
      const text = e.firstChild;
      for (const { 0: word, index } of text?.data?.matchAll(/\p{L}+/gu) ?? []) {
        const range = document.createRange();
        range.setStart(text, index);
        range.setEnd(text, index + word.length);
        if (range.getClientRects().length > 1) out.push(word);
      }
    }
    return out;
  });

async function holds(phone, name) {
  const { page } = phone;
  assert.deepEqual(await violations(page), [], name);
  assert.deepEqual(await smallTargets(page), [], `${name}: targets`);
  assert.ok((await sideways(page)) <= 0, `${name}: scrolls sideways`);
  assert.deepEqual(await broken(page), [], `${name}: broken words`);
  const shown = await page.evaluate(() => document.documentElement.lang);
  if (shown === 'es') assert.deepEqual(await english(page), [], `${name}: English words`);
  assert.doesNotMatch(await page.locator('body').innerText(), /undefined|null|NaN|\{\w+\}/, name);
  await phone.shot(`access-${shown}-${name}`);
}

const HERE = { tweak: tokens, maxAge: 60 };

for (const lang of ['en', 'es'])
  scenario(`usable in every state (${lang})`, HERE, async (w) => {
    const job = new Repair(w, { procedure: 'spout-and-boot' });
    const locale = lang === 'es' ? 'es-MX' : 'en-US';
    const phone = await Phone.open(w, { locale, reducedMotion: 'reduce' });
    const word = (en, es) => (lang === 'es' ? es : en);
    await phone.live();
    await holds(phone, 'in-service');
    await job.to('open');
    await phone.says(word('NOT SAFE', 'NO ES SEGURO'));
    await phone.page.locator('#bar .next').waitFor();
    await holds(phone, 'open');
    await job.to('tagged');
    await job.sign('barricade');
    await job.sign('site-told');
    await phone.next(word('Enter reading', 'Anotar lectura'));
    await phone.page.locator('dialog[open]').waitFor();
    await phone.page.locator('dialog[open] button[type=submit]').click();
    await phone.page.locator('.wrong:not([hidden])').waitFor();
    await holds(phone, 'form');
    await phone.page.keyboard.press('Escape');
    await job.to('working');
    await phone.says(word('LOCKOUT CONFIRMED', 'BLOQUEO CONFIRMADO'));
    await phone.page.locator('#bar .next').waitFor();
    await holds(phone, 'working');
    await w.hw.set('3-power', 'live');
    await phone.says(word('STOP WORK', 'PARE EL TRABAJO'));
    await phone.page.locator('.urgent').waitFor();
    // A panel that was just drawn anew has no style any more: it is asked for until it has one.
    const motion = await phone.page.waitForFunction(() => {
      const panel = document.querySelector('.urgent .panel');
      return panel && getComputedStyle(panel).animationName;
    });
    assert.equal(await motion.jsonValue(), 'none', 'no motion for who does not want it');
    await holds(phone, 'stop');
    await job.acknowledge();
    await job.proveAgain();
    await job.start();
    job.at = 'working';
    await job.to('testing');
    await phone.says(word('TEST UNDER POWER', 'PRUEBA CON ENERGÍA'));
    await phone.page.locator('#bar .next').waitFor();
    await holds(phone, 'testing');
    await job.to('returned');
    await phone.says(word('BACK IN SERVICE', 'DE NUEVO EN SERVICIO'));
    await holds(phone, 'back');
    await w.stopDaemon();
    await phone.says(word('NO CONNECTION', 'SIN CONEXIÓN'), 20000);
    await holds(phone, 'dead');
    phone.sound();
    await phone.close();
    await w.startDaemon();
  });

scenario(
  'the checks can fail: what is pale, small, nameless or too wide is found',
  HERE,
  async (w) => {
    const phone = await Phone.open(w);
    await phone.live();
    await phone.page.evaluate(() => {
      // In a place of its own, which the page does not draw anew.
      const place = document.createElement('div');
      place.className = 'only-for-test';
      const pale = document.createElement('p');
      pale.textContent = 'pale';
      place.append(pale, document.createElement('button'));
      document.body.append(place);
      const sheet = new CSSStyleSheet();
      sheet.replaceSync(
        '.only-for-test > p { color: #6a6a6a; width: 500px } .only-for-test > button { all: unset; width: 20px; height: 20px; display: block; background: #000 }',
      );
      document.adoptedStyleSheets = [sheet];
    });
    const found = (await violations(phone.page)).map((v) => v.id);
    assert.ok(found.includes('color-contrast-enhanced'), found.join());
    assert.ok(found.includes('button-name'), found.join());
    assert.equal((await smallTargets(phone.page)).length, 1);
    assert.ok((await sideways(phone.page)) > 0);
    await phone.close();
  },
);

scenario('the other language at a tap, kept for the next visit', HERE, async (w) => {
  const phone = await Phone.open(w);
  await phone.says('IN SERVICE');
  await phone.page.locator('.language').click();
  await phone.says('EN SERVICIO');
  assert.equal(await phone.page.evaluate(() => document.documentElement.lang), 'es');
  await phone.page.reload();
  await phone.says('EN SERVICIO');
  phone.sound();
  await phone.close();
});
