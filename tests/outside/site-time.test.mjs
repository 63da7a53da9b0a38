// The calendar and the clock of a site, as the pages' scripts tell them: midnight is 00, and the
// day is the site's.
import assert from 'node:assert/strict';
import test from 'node:test';
import { flat, load } from './harness/pages.mjs';

const dir = flat('common');
const { siteTime } = await load(dir, 'site-time.js');
const { clockTime, setLanguage } = await load(dir, 'words.js');

const MIDNIGHT = Date.UTC(2026, 10, 26, 7, 5, 9); // in Denver

test('the first hour of a day is 00', () => {
  const { year, month, day, hour, minute, second } = siteTime(MIDNIGHT, 'America/Denver');
  assert.deepEqual([year, month, day], ['2026', '11', '26']);
  assert.deepEqual([hour, minute, second], ['00', '05', '09']);
  assert.equal(siteTime(MIDNIGHT - 600_000, 'America/Denver').day, '25');
  for (const language of ['en', 'es']) {
    setLanguage(language);
    assert.match(clockTime(MIDNIGHT, 'America/Denver'), /(^| )00:05$/, language);
    assert.match(clockTime(MIDNIGHT - 600_000, 'America/Denver'), /(^| )23:55$/, language);
  }
});
