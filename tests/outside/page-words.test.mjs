// The words of every page: both languages have the same, and every one that is used is there.
import assert from 'node:assert/strict';
import { execFileSync } from 'node:child_process';
import { readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import test from 'node:test';
import { PAGES, flat, load } from './harness/pages.mjs';
import { ALARMS_JSON, CAUTIONS_JSON, SENTENCES_JSON } from './harness/world.mjs';

const isWords = (name) => name.endsWith('-words.js');
const scripts = (dir) => readdirSync(dir).filter((n) => n.endsWith('.js'));

// Every text that scripts name in full as a key: t('…'), label: 'do.…', say: 'say.…'.
function keysUsed(dir) {
  const used = new Set();
  for (const name of scripts(dir).filter((n) => !isWords(n)))
    for (const [, key] of readFileSync(join(dir, name), 'utf8').matchAll(
      /'([a-z]+\.[a-z][a-z.-]*)'/g,
    ))
      if (!key.endsWith('.js') && !key.endsWith('.')) used.add(key);
  return used;
}

// The arguments of every call that begins so, as they are written.
function callsOf(text, begin) {
  const calls = [];
  for (const { index } of text.matchAll(begin)) {
    let depth = 0;
    let end = text.indexOf('(', index);
    const from = end + 1;
    do depth += '([{'.includes(text[end]) ? 1 : ')]}'.includes(text[end]) ? -1 : 0;
    while (depth > 0 && ++end < text.length);
    calls.push(text.slice(from, end).trim());
  }
  return calls;
}

// The names of an object literal; null where another expression gives the values.
function given(values) {
  if (!values.startsWith('{') || values.includes('...')) return values ? null : [];
  let flatly = values.slice(1, -1);
  for (let before = ''; before !== flatly; ) {
    before = flatly;
    flatly = flatly.replace(/\([^()[\]{}]*\)|\[[^()[\]{}]*\]|\{[^()[\]{}]*\}/g, '');
  }
  return [...flatly.matchAll(/(?:^|,)\s*(\w+)/g)].map(([, name]) => name);
}

// Calls of t() with a key in full that leave a name in its text unfilled.
function unfilled(dir, namesIn) {
  const wrong = [];
  for (const name of scripts(dir).filter((n) => !isWords(n)))
    for (const call of callsOf(readFileSync(join(dir, name), 'utf8'), /(?<![\w.$])t\('/g)) {
      const [, key, rest] = call.match(/^'([^']*)'\s*,?([^]*)$/);
      const names = given(rest.trim());
      const lacking = names && namesIn(key, 'en').filter((n) => !names.includes(n));
      if (lacking?.length) wrong.push(`${name}: ${key} without ${lacking}`);
    }
  return wrong;
}

for (const page of ['at', 'board', 'record', 'enroll'])
  test(`the words of the page ${page}`, async () => {
    const dir = flat('common', page);
    for (const name of scripts(dir).filter(isWords)) await load(dir, name);
    const { keysOf, namesIn } = await load(dir, 'words.js');
    for (const key of keysOf('en'))
      assert.deepEqual(namesIn(key, 'es').sort(), namesIn(key, 'en').sort(), `the names in ${key}`);
    assert.deepEqual(unfilled(dir, namesIn), []);
    const known = new Set(keysOf('en'));
    assert.deepEqual(keysOf('es'), keysOf('en'));
    const families = new Set(keysOf('en').map((key) => key.split('.')[0]));
    const used = [...keysUsed(dir)].filter((key) => families.has(key.split('.')[0]));
    assert.ok(used.length > 5, `${used.length} are used`);
    // One that ends in a dash is the beginning of several.
    const isKnown = (key) =>
      key.endsWith('-') ? [...known].some((one) => one.startsWith(key)) : known.has(key);
    assert.deepEqual(
      used.filter((key) => !isKnown(key)),
      [],
    );
  });

test('no key of a page has two texts', () => {
  for (const page of ['at', 'board', 'record', 'enroll']) {
    const dir = flat('common', page);
    const files = new Map();
    for (const name of scripts(dir).filter(isWords)) {
      const [english] = readFileSync(join(dir, name), 'utf8').split('\n  es: {');
      for (const [, key] of english.matchAll(/^    '([^']+)':/gm)) {
        assert.equal(files.get(key), undefined, `${key} stands in ${files.get(key)} and in ${name}`);
        files.set(key, name);
      }
    }
    assert.ok(files.size > 10, `${files.size} keys of ${page}`);
  }
});

const namesOf = (text) => [...text.matchAll(/\{(\w+)/g)].map(([, name]) => name);
// Arguments that the daemon's own words do without, and what several say together in them.
const MORE = {
  'energy-unmapped': ['energy'],
  'energy-unmapped.open': ['energy'],
  'check-missing.own-verify': ['title'],
  'instrument-missing.kind': ['kind'],
  'instrument-overdue': ['instrument'],
  'reading-not-valid': ['value', 'unit', 'min', 'max'],
  'reading-not-valid.least': ['value', 'unit', 'min'],
  'reading-not-valid.most': ['value', 'unit', 'max'],
  'reading-not-valid.site': ['first', 'second'],
  'reading-not-valid.tanks': ['value', 'unit', 'max'],
};
const TOGETHER = {
  seen: ['title', 'state', 'trust', 'said', 'of'],
  signed: ['by', 'value', 'unit'],
  amount: ['value', 'unit'],
  tolerance: ['max', 'unit'],
};

test('every sentence of a refusal is said in both languages, of what it is made of', async () => {
  const { sentences, codes } = JSON.parse(execFileSync(SENTENCES_JSON));
  const dir = flat('common', 'at');
  for (const name of scripts(dir).filter(isWords)) await load(dir, name);
  const { keysOf, namesIn, setLanguage } = await load(dir, 'words.js');
  const known = new Set(keysOf('en').filter((key) => key.startsWith('refusal.')));
  assert.ok(sentences.length > codes.length, `${sentences.length} sentences`);
  assert.deepEqual([...new Set(sentences.map((s) => s.code))].sort(), [...codes].sort());
  for (const { sentence, code, need, found, say } of sentences) {
    const args = [need, found, say].flatMap(namesOf).flatMap((name) => TOGETHER[name] ?? [name]);
    if (code === 'malformed') args.push('field');
    args.push(...(MORE[sentence] ?? []));
    assert.ok(known.has(`refusal.${sentence}`), `${sentence} has no words`);
    for (const language of ['en', 'es']) {
      setLanguage(language);
      for (const name of namesIn(`refusal.${sentence}`))
        assert.ok(args.includes(name), `${language} ${sentence}: {${name}} is no argument of it`);
    }
    known.delete(`refusal.${sentence}`);
  }
  const own = ['refusal.no-kit', 'refusal.or', 'refusal.other'];
  assert.deepEqual([...known].sort(), own, 'sentences that no refusal says');
});

test('every caution of a result is said in both languages, of its figures', async () => {
  const rows = JSON.parse(execFileSync(CAUTIONS_JSON));
  for (const page of ['at', 'record']) {
    const dir = flat('common', page);
    const { cautionSentences } = await load(dir, 'cautions.js');
    const { keysOf, namesIn, setLanguage } = await load(dir, 'words.js');
    const words = keysOf('en').filter((key) => key.startsWith('cautions.'));
    assert.deepEqual(words.sort(), rows.map((x) => `cautions.${x.caution}`).sort());
    for (const { caution, say } of rows)
      for (const language of ['en', 'es'])
        assert.deepEqual(namesIn(`cautions.${caution}`, language).sort(), namesOf(say).sort(), caution);
    const told = (language, ...args) => (setLanguage(language), cautionSentences(...args));
    const result = {
      cautions: ['The runs differ by 2.5 in3, more than 2.4 in3: it fails.', 'New.', 'Old.'],
      caution_args: [{ say: 'runs-differ', value: 2.5, max: 2.4000000000000004 }, { say: 'new' }, null],
    };
    const [runs, ...others] = told('es', result);
    assert.equal(runs, 'Las mediciones difieren en 2.5 in³, más de 2.4 in³: no pasa.');
    assert.deepEqual(others, ['New.', 'Old.']);
    assert.deepEqual(told('es', { cautions: ['Of an older journal.'] }), ['Of an older journal.']);
    assert.deepEqual(told('en', null), []);
  }
});

test('every alarm is said in both languages, of what it is made of', async () => {
  const { alarms, sentences } = JSON.parse(execFileSync(ALARMS_JSON));
  const dir = flat('common', 'at');
  for (const name of scripts(dir).filter(isWords)) await load(dir, name);
  const { keysOf, namesIn, setLanguage } = await load(dir, 'words.js');
  const known = new Set(keysOf('en').filter((key) => key.startsWith('told.')));
  for (const { kind } of alarms) assert.ok(keysOf('en').includes(`alarm.${kind}`), kind);
  for (const { sentence, say } of sentences) {
    assert.ok(known.has(`told.${sentence}`), `${sentence} has no words`);
    for (const language of ['en', 'es']) {
      setLanguage(language);
      const names = namesOf(say).flatMap((name) => TOGETHER[name] ?? [name]);
      assert.deepEqual(namesIn(`told.${sentence}`).sort(), names.sort(), `${language} ${sentence}`);
    }
    known.delete(`told.${sentence}`);
  }
  assert.deepEqual([...known].sort(), ['told.no-check', 'told.no-reason'], 'sentences of no alarm');
});

test('no script of a page reads what the daemon says in words', () => {
  // Its sentences are shown whole or not at all: nothing is taken from them.
  const read = /\b(say|need|found)\??\.(match|replace|split|slice|startsWith|endsWith|includes|indexOf)\b/;
  for (const page of ['at', 'board', 'record', 'enroll']) {
    const dir = flat('common', page);
    for (const name of scripts(dir))
      assert.doesNotMatch(readFileSync(join(dir, name), 'utf8'), read, name);
  }
});

// Words that the Spanish pages do not say, and what they say in their place: one word for one thing. The
// board of a site is no tablero, which is an electrical panel; vacío is a vacuum; a job alone is cancelled.
const NOT_SAID = {
  'liberar energía': /\balivi/,
  kit: /\bjuegos?\b/,
  historial: /\bhistorias?\b/,
  'bloqueo perdido': /\brot[oa]s?\b|\broturas?\b/,
  'pantalla del sitio': /\btablero/,
  'espacio de vapor': /espacio vacío/,
  decaimiento: /caída de (presión|vacío)/,
  'a cargo': /\bmand[oa]\b/,
  'se lea': /\bconste\b/,
  energizado: /\bviv[oa]s?\b/,
  dispensador: /\bsurtidor/,
  isla: /\bpistas?\b/,
  verificación: /\bcomproba/,
  anulada: /firmas? cancelad|ya no vale|deja de valer/,
  'registro is of a job': /\bactas?\b|registrad|registrar\b|enlace de registro/,
  bitácora: /\bdiarios?\b/,
  'sistema de órdenes': /sistema de trabajos/,
  'sin conexión': /desconect/,
  parado: /\bdetien|\bdetuv|\bdetenid/,
  'no pasó': /\bfall(ó|id)/,
  promedio: /\bmedi[ao] de\b|de media\b|tiempo medio/,
  'a decimal point': /\d,\d/,
};

test('Spanish has one word for one thing', async (t) => {
  t.mock.method(console, 'error', () => {}); // names in the texts have no values here
  const wrong = [];
  const hold = (where, text) => {
    for (const [say, not] of Object.entries(NOT_SAID))
      if (not.test(text.toLowerCase())) wrong.push(`${where}: “${text}”: say ${say}`);
  };
  for (const page of ['at', 'board', 'record', 'enroll']) {
    const dir = flat('common', page);
    for (const name of scripts(dir).filter(isWords)) await load(dir, name);
    const { keysOf, setLanguage, t: said } = await load(dir, 'words.js');
    setLanguage('es');
    for (const key of keysOf('es')) hold(`${page} ${key}`, said(key));
    for (const name of readdirSync(join(PAGES, page)).filter((n) => n.endsWith('.html')))
      hold(name, readFileSync(join(PAGES, page, name), 'utf8').replaceAll(/<[^>]*>/g, ' '));
  }
  assert.deepEqual(wrong, []);
});
