// Words of the pages in English and Spanish. Each page registers its own; a key that one language
// lacks is a defect that a test finds, so there is no falling back from one language to the other.
const LANGUAGES = ['en', 'es'];
const STORED = 'forelock-language';
const tables = { en: new Map(), es: new Map() };

// Adds words: {en: {key: text}, es: {key: text}}. `{name}` in a text is replaced by a value.
export function register(words) {
  for (const language of LANGUAGES)
    for (const [key, text] of Object.entries(words[language])) tables[language].set(key, text);
}

function stored() {
  try {
    return globalThis.localStorage?.getItem(STORED);
  } catch {
    return null; // storage may be forbidden
  }
}

function chosen() {
  const asked = new URLSearchParams(globalThis.location?.search ?? '').get('lang');
  const spoken = globalThis.navigator?.language?.slice(0, 2);
  return [asked, stored(), spoken].find((l) => LANGUAGES.includes(l)) ?? 'en';
}

let current = chosen();

// 'en' or 'es'.
export const language = () => current;

// Keeps a choice for the next visit and speaks it from now on; the page draws itself anew.
export function setLanguage(wanted) {
  current = wanted;
  try {
    globalThis.localStorage?.setItem(STORED, wanted);
  } catch {
    // then it lasts as long as this page
  }
}

export const hasWord = (key) => tables[current].has(key);

const NAME = /\{(\w+)\}/g;

// The names of the values that the text of a key takes.
export const namesIn = (key, wanted = current) =>
  [...(tables[wanted].get(key) ?? '').matchAll(NAME)].map(([, name]) => name);

// The text of a key in the current language. An unknown key is said as it is: it is never silent. A
// value that nobody gave is said as unknown, and is a defect that the browser's log names.
export function t(key, values = {}) {
  const text = tables[current].get(key) ?? key;
  return text.replace(NAME, (_, name) => {
    if (values[name] === null || values[name] === undefined)
      console.error(`no ${name} for the words ${key}`);
    return values[name] ?? '?';
  });
}

// For tests: the keys of one language.
export const keysOf = (wanted) => [...tables[wanted].keys()].sort();

// Says the current language to the browser and fills in every element marked `data-t="key"`.
export function speak(root = document) {
  document.documentElement.lang = current;
  for (const element of root.querySelectorAll('[data-t]'))
    element.textContent = t(element.dataset.t);
}

// A time of day, and the day where it is not today.
export function clockTime(at, timeZone) {
  const date = new Date(at);
  const options = { hour: '2-digit', minute: '2-digit', hourCycle: 'h23', timeZone };
  const day = (d) => d.toLocaleDateString(current, { timeZone });
  const time = date.toLocaleTimeString(current, options);
  if (day(date) === day(new Date())) return time;
  const short = { day: 'numeric', month: 'short', timeZone };
  return `${date.toLocaleDateString(current, short)} ${time}`;
}

// How long: "12 s", "4 min", "3 h 05 min", "2 d 4 h". Unknown is said, never shown as 0.
export function duration(seconds) {
  if (seconds === null || seconds === undefined || Number.isNaN(seconds)) return t('age.never');
  const s = Math.max(0, Math.floor(seconds));
  if (s < 60) return `${s} s`;
  if (s < 3600) return `${Math.floor(s / 60)} min ${String(s % 60).padStart(2, '0')} s`;
  const h = Math.floor(s / 3600);
  if (h < 48) return `${h} h ${String(Math.floor((s % 3600) / 60)).padStart(2, '0')} min`;
  return `${Math.floor(h / 24)} d ${h % 24} h`;
}
