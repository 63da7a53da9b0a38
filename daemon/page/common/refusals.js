// Refusals, and what a gate lacks, as sentences of the page's language. The daemon's own sentence is
// English, so only codes, ids, titles and figures are taken from it.
import './refusal-words.js';
import { hasWord, t } from './words.js';

const title = (list, key, id, name = 'title') =>
  list?.find((entry) => entry[key] === id)?.[name] ?? id;

export const pointTitle = (equipment, id) => title(equipment?.points, 'point', id);
export const personTitle = (equipment, id) => title(equipment?.people, 'person', id);
export const positionTitle = (equipment, id) => title(equipment?.positions, 'position', id);

const found = (text, pattern) => text?.match(pattern)?.[1];

// What an entry is called on the form; its subject is a JSON Pointer.
function entryOf(pointer) {
  const name = (pointer ?? '').split('/').at(-1);
  const key = [`reading.${name}`, `form.${name}`].find(hasWord);
  return key ? t(key) : name;
}

// The values that sentences take, from the parts of a refusal that are the same in every language.
function valuesOf(refusal, equipment, procedure) {
  const { subject = '', need = '', found: seen = '' } = refusal;
  const tagged = found(need, /^a lock and tag of (\S+) that counts$/);
  const owner = found(seen, /^(\S+)(?: \(unknown badge\))?$/);
  return {
    subject,
    entry: entryOf(subject),
    point: pointTitle(equipment, subject),
    person: personTitle(equipment, tagged ?? subject),
    owner: personTitle(equipment, owner ?? '?'),
    check: procedure?.checks?.find((c) => c.check === subject)?.ask ?? subject,
    any: found(need, /^one of: (.*)$/) ?? need,
    family: found(need, /^kit family (\S+)$/) ?? '?',
    kit: seen && seen !== 'no kit named' ? seen : t('refusal.no-kit'),
    attest: hasWord(`attest.${subject}`) ? t(`attest.${subject}`) : subject,
  };
}

// One sentence for a refusal or a thing missing. `procedure` (what the job requires) names checks.
export function refusalSentence(refusal, equipment, procedure) {
  const key = `refusal.${refusal.code}`;
  if (!hasWord(key)) return t('refusal.other', { code: refusal.code });
  return t(key, valuesOf(refusal, equipment, procedure));
}
