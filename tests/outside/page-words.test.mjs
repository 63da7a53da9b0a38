// The words of every page: both languages have the same, and every one that is used is there.
import assert from 'node:assert/strict';
import { readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import test from 'node:test';
import { flat, load } from './harness/pages.mjs';

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

for (const page of ['at', 'board', 'record', 'enroll'])
  test(`the words of the page ${page}`, async () => {
    const dir = flat('common', page);
    for (const name of scripts(dir).filter(isWords)) await load(dir, name);
    const { keysOf } = await load(dir, 'words.js');
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
