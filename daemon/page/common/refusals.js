// Refusals, and what a gate lacks, as sentences of the page's language, filled in from what the daemon
// says they are made of (`args`). Its own sentence is English and is never read by a script.
import './alarm-words.js';
import './refusal-words.js';
import { shown, unitSign } from './numbers.js';
import { inLanguage } from './said.js';
import { clockTime, hasWord, namesIn, t } from './words.js';

const title = (list, key, id) => list?.find((entry) => entry[key] === id)?.title ?? id;

export const pointTitle = (equipment, id) => title(equipment?.points, 'point', id);
export const personTitle = (equipment, id) => title(equipment?.people, 'person', id);
export const positionTitle = (equipment, id) => title(equipment?.positions, 'position', id);

// What an entry is called on the form.
function entryOf(field) {
  const name = field.split('/').at(-1);
  const key = [`reading.${name}`, `form.${name}`].find(hasWord);
  return key ? t(key) : name;
}

const wordOf = (family) => (word) => (hasWord(`${family}.${word}`) ? t(`${family}.${word}`) : word);

// How each argument that is not shown as it is becomes a word of the page.
const SHOWN = {
  person: (id, equipment) => personTitle(equipment, id),
  leader: (id, equipment) => personTitle(equipment, id),
  by: (id, equipment) => personTitle(equipment, id),
  position: (id, equipment) => positionTitle(equipment, id),
  title: inLanguage,
  role: wordOf('role'),
  phase: wordOf('phase'),
  phases: (list) => list.map(wordOf('phase')).join(t('refusal.or')),
  state: wordOf('point'),
  trust: wordOf('trust'),
  any: (list) => list.join(', '),
  until: (at, equipment) => (at.includes('T') ? clockTime(at, equipment?.time_zone) : at), // or a day
  field: entryOf,
  reading: entryOf,
  first: entryOf,
  second: entryOf,
  // A day, or an instant at the site.
  until: (v, equipment) => (v.includes('T') ? clockTime(v, equipment?.time_zone) : v),
  value: shown,
  unit: unitSign,
  min: shown,
  max: shown,
};

// What a sentence says for an argument that may be absent.
const absent = () => ({
  kit: t('refusal.no-kit'),
  unit: '', // of a ratio or a factor
  family: '?',
  energy: '?',
  reason: t('told.no-reason'),
  title: t('told.no-check'),
});

function valuesOf(args, equipment) {
  const shown = ([name, value]) => [name, SHOWN[name]?.(value, equipment) ?? value];
  return { ...absent(), ...Object.fromEntries(Object.entries(args).map(shown)) };
}

// One sentence for a refusal or a thing missing; `equipment` names the people. One that the page has no
// sentence for is said as the daemon says it.
export function refusalSentence({ code, say, args }, equipment) {
  const key = `refusal.${args?.say}`;
  if (hasWord(key)) return t(key, valuesOf(args, equipment)).replaceAll(/ +(?=[ ,.])/g, '');
  return say || t('refusal.other', { code });
}

// What an alarm says; one that the page has no sentence for, as the daemon says it.
export function alarmSentence({ say, args }, equipment) {
  const key = `told.${args?.say}`;
  return hasWord(key) ? t(key, valuesOf(args, equipment)) : say;
}

// Why a lockout was broken or work stopped, by its code, as what is so now (`why`) or as what was so
// then (`was`); null where the page has no words for it.
function causeSentence(tense, code, point) {
  const key = `${tense}.${code}`;
  if (!hasWord(key) || (!point && namesIn(key).includes('point'))) return null;
  return t(key, { point });
}

export const whySentence = (code, point) => causeSentence('why', code, point);
export const wasSentence = (code, point) => causeSentence('was', code, point);
