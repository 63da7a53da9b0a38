// Live is said of energy alone: of a connection the pages say connected, late, no connection.
import assert from 'node:assert/strict';
import { execFileSync } from 'node:child_process';
import { readdirSync } from 'node:fs';
import test from 'node:test';
import { flat, load } from './harness/pages.mjs';
import { ALARMS_JSON, SENTENCES_JSON } from './harness/world.mjs';

const LIVE = { en: /\blive\b/i, es: /\b(en vivo|energizad[oa]s?)\b/i };
const SAID = {
  en: { live: /^connected$/i, late: /^late\b/i, dead: /^no connection\b/i },
  es: { live: /^conectado$/i, late: /^con retraso\b/i, dead: /^sin conexión\b/i },
};
// What speaks of a connection, and of nothing that energy is in.
const OF_A_CONNECTION = /^(live|link|feed|sign|online|connection)\.|link-down|controller-offline|feed-silent/;

for (const page of ['at', 'board'])
  test(`what the page ${page} says of its connection`, async () => {
    const dir = flat('common', page);
    for (const name of readdirSync(dir).filter((n) => n.endsWith('-words.js'))) await load(dir, name);
    const { keysOf, setLanguage, t, hasWord } = await load(dir, 'words.js');
    for (const language of ['en', 'es']) {
      setLanguage(language);
      for (const [level, says] of Object.entries(SAID[language])) {
        assert.match(t(`live.${level}`), says);
        if (hasWord(`state.${level}`)) assert.match(t(`state.${level}`), says);
      }
      const ofOne = keysOf(language).filter((key) => OF_A_CONNECTION.test(key));
      assert.ok(ofOne.length >= 6, `${ofOne.length} texts`);
      // That a point is to be treated as live is of the point, whatever was lost.
      const asLive = /(treat it as live|trátelo como energizado)/i;
      const wrong = ofOne.filter((key) => LIVE[language].test(t(key).replace(asLive, '')));
      assert.deepEqual(wrong, [], language);
    }
  });

test('no sentence of the daemon calls a connection live', () => {
  const said = [SENTENCES_JSON, ALARMS_JSON].flatMap((tool) => JSON.parse(execFileSync(tool)).sentences);
  const ofOne = said.filter(({ sentence, code }) => /link-down|offline/.test(code ?? sentence));
  assert.ok(ofOne.length >= 2, `${ofOne.length} sentences`);
  for (const { sentence, say } of ofOne) {
    assert.doesNotMatch(say.replace(/treat it as live/i, ''), LIVE.en, sentence);
    // A connection is the subject of link-down, and one of them is named `live`.
    if (sentence === 'alarm.link-down') assert.doesNotMatch(say, /\{subject\}/);
  }
});
